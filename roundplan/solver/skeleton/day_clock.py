"""How many teams a station takes in a day that starts late, ends early or is short."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from roundplan.domain.rules import Rule
from roundplan.solver.facts import Facts

Ints: TypeAlias = npt.NDArray[np.int64]
NEVER = 10**7
"""Seconds that no day has: stands where there is no way."""


class DayClock:
    """Teams that a station takes in a day which starts late, ends early or is short."""

    def __init__(self, facts: Facts) -> None:
        self.starts = np.array(facts.starts or [0])
        most = facts.most_slots
        self._fit = [max(_teams(facts, k), 0) for k in range(most + 1)]
        ends = np.full((len(self.starts) + 1, most + 1), NEVER, dtype=np.int64)
        self._shortest = np.full(most + 1, NEVER, dtype=np.int64)
        index = {start: i for i, start in enumerate(facts.starts)}
        for (start, slots), end in facts.day_table.items():
            ends[index[start], slots] = min(ends[index[start], slots], end)
            self._shortest[slots] = min(self._shortest[slots], end - start)
        for i in range(len(self.starts) - 1, -1, -1):
            ends[i] = np.minimum(ends[i], ends[i + 1])
        self._ends = ends

    def teams(self, ready: Ints, until: Ints, spare: Ints) -> Ints:
        """Return teams by (ready, until), −1 = no slot fits; ``spare`` is the longest teaching day, same shape."""
        at = np.searchsorted(self.starts, ready)
        found = np.full(spare.shape, -1, dtype=np.int64)
        for slots, fit in enumerate(self._fit):
            fits = (self._ends[at, slots][:, None] <= until[None, :]) & (self._shortest[slots] <= spare)
            found = np.where(fits, np.maximum(found, fit), found)
        return found


def _teams(facts: Facts, slots: int) -> int:
    needed = (Rule.SLOT_ORDER, Rule.SIMULATIONS_PER_TEAM)
    return facts.teams_fit(slots) if all(facts.on(rule) for rule in needed) else 4
