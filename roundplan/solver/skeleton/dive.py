"""Whole trips out of the linear programme: the one that it makes most is fixed, trips that go with it are generated."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from roundplan.solver.skeleton.master import Master
from roundplan.solver.skeleton.pricing import Trip
from roundplan.solver.skeleton.programme import Solved

MOST, SOME = 0.9, 0.01
"""A trip that comes to so much is made; one that comes to less than the other is not thought of."""
FIRST_ROUNDS, ROUNDS = 8, 4
"""Most rounds of trips generated before the first is fixed, and after a loss by fixing some."""
GAIN = 0.004
"""Share by which a round of trips must raise the programme's value for another one to follow; after a greater loss by
fixing trips, others that go with them are generated."""


class Dive:
    """One way from the programme, as it is aimed, to whole trips.

    Long trips are left out: they are hard to staff, since trainers' nights are counted roughly.

    Parameters
    ----------
    longest : int
        Most dates of a trip.
    """

    def __init__(self, master: Master, longest: int) -> None:
        self.master, self.longest = master, longest
        days = len(master.dates)
        self.spans = [(begin, min(begin + longest, days)) for begin in range(0, days, max(longest // 2, 1))]
        self._fixed: dict[int, int] = {}
        self._last: list[int] = []

    def run(self, stopped: Callable[[], bool]) -> list[Trip]:
        """Return the trips made; the programme is left as it was.

        Parameters
        ----------
        stopped : callable
            Asked now and then whether to generate no more trips.
        """
        master = self.master
        held = {name: master.let_go(name) for name in master.held}
        long = [n for n, trip in enumerate(master.trips) if trip.last - trip.first >= self.longest]
        for number in long:
            master.allow(number, 0)
        solved = self._generate(master.programme.solve(limits_changed=True), FIRST_ROUNDS, stopped)
        while solved is not None and self._fix(solved):
            before = solved.value
            solved = master.programme.solve(limits_changed=True) or self._undo()
            if solved is not None and solved.value < before - GAIN * abs(before):
                solved = self._generate(solved, ROUNDS, stopped)
        for number in (*long, *self._fixed):
            master.allow(number)
        for name, least in held.items():
            master.programme.set_right(master.held[name], -least)
        return [master.trips[n] for n, times in sorted(self._fixed.items()) if times]

    def _generate(self, solved: Solved | None, rounds: int, stopped: Callable[[], bool]) -> Solved | None:
        """Generate short trips for some rounds while they are worth it."""
        master, kinds = self.master, range(len(self.master.terrain.kinds))
        while solved is not None and rounds and not stopped():
            _, prices = master.prices(solved)
            found = [t for kind in kinds for span in self.spans for _, t in master.pricing.trips(kind, prices, span)]
            if not master.add_trips(found):
                break
            before, rounds = solved.value, rounds - 1
            solved = master.programme.solve()
            if solved is not None and solved.value < before + GAIN * max(abs(before), 1.0):
                break
        return solved

    def _fix(self, solved: Solved) -> bool:
        """Fix all trips that are made for the most part, or else the one made most; False once there is none."""
        made = self.master.made(solved)
        whole = np.floor(made + 1 - MOST).astype(int)
        fixed = np.array([self._fixed.get(n, 0) for n in range(len(made))])
        more = {int(n): int(whole[n]) for n in np.flatnonzero(whole > fixed)}
        if not more:
            rest = made - fixed
            best = int(rest.argmax()) if len(rest) else -1
            if best < 0 or rest[best] <= SOME:
                return False
            more = {best: int(fixed[best]) + 1}
        self._last = list(more)
        for number, least in more.items():
            self._fixed[number] = least
            self.master.allow(number, None, least)
        return True

    def _undo(self) -> Solved | None:
        """Give up the trips that were fixed last: they do not go with the others."""
        for number in self._last:
            self._fixed[number] -= 1
            self.master.allow(number, self._fixed[number], self._fixed[number])
        return self.master.programme.solve(limits_changed=True)
