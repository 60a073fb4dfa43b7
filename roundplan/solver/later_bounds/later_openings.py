"""Visits of the skeleton's programme as a later tier sees them: with empty seats, with guests, each at its price."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from roundplan.solver.later_bounds.team_prices import EMPTY, GUEST, TeamPrice, seats_spared
from roundplan.solver.skeleton.day_clock import Ints
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.exact_columns import UNIT, ExactColumns
from roundplan.solver.skeleton.openings import FacilityRows, Openings, VisitArrays
from roundplan.solver.skeleton.terrain import Terrain

NEVER = 10**12
"""Price of a kind of team that a visit does not have."""


@dataclass(frozen=True, slots=True)
class LaterRows:
    """Rows that visits bear on beside those of coverage.

    Attributes
    ----------
    points : mapping of facility to int
        The row of the penalty points of its teams' seats.
    burden : int or None
        The row of all burden, where it is held.
    """

    points: Mapping[str, int]
    burden: int | None


@dataclass(frozen=True, slots=True)
class Prices:
    """What visits come to.

    Attributes
    ----------
    minutes : sequence of TeamPrice
        Burden by visit, for the row that holds it.
    figures : sequence of TeamPrice
        What is minimised by visit.
    """

    minutes: Sequence[TeamPrice]
    figures: Sequence[TeamPrice]


Kind = tuple[int, int]
"""Seats of a team that are empty, and that guests take; what lies between two kinds is a mixture of them."""


class LaterOpenings(Openings):
    """Lays down each visit with a column for each kind of team: full, with empty seats, with guests, and with both."""

    def __init__(
        self, plain: Openings, terrain: Terrain, demand: Demand, columns: ExactColumns, rows: FacilityRows,
        later: LaterRows, prices: Prices,
    ) -> None:  # fmt: skip
        super().__init__(terrain, demand, plain.chairs, columns, rows)
        self.later, self.team_prices = later, prices

    def kinds(self, index: int) -> tuple[list[Kind], list[Kind]]:
        """Return the kinds of team of a visit that can go without guests, and of those that need some.

        A team that could go without them may have guests all the same.
        """
        empty, guests = seats_spared(self.facts, self.seats(self.demand.visits[index].facility))
        own, lent = self._limits(index)
        free = [(0, 0), (empty, 0), (0, guests), (empty, guests)] if own else []
        needy = [(0, 1), (empty, 1), (0, guests), (empty, guests)] if lent else []
        return list(dict.fromkeys(free)), list(dict.fromkeys(needy))

    def figure(self, prices: Sequence[TeamPrice], index: int, kind: Kind) -> int:
        """Return what a team of a visit comes to, what comes once counted where one column says all of the visit."""
        figure = prices[index].of(self.seats(self.demand.visits[index].facility), *kind)
        return figure + prices[index].once * self._single(index)

    def _add_visits(self, visits: Sequence[int]) -> None:
        programme, prices = self.columns.programme, self.team_prices
        self.link |= dict(zip(visits, programme.add_rows([0] * len(visits)), strict=True))
        large = [index for index in visits if not self._single(index)]
        size = dict(zip(large, programme.add_rows([0] * len(large)), strict=True))
        columns: list[tuple[int, int, dict[int, int]]] = []
        for index in visits:
            visit, (teams, use) = self.demand.visits[index], self._entries(index)
            teams |= {size[index]: 1} if index in size else use
            alone = {row: 1 for code, row in self.rows.alone.items() if code == visit.facility}
            for limit, kinds, more in zip(self._limits(index), self.kinds(index), (alone, {}), strict=True):
                for kind in kinds:
                    entries = teams | more | self._spared(index, kind)
                    columns.append((-self.figure(prices.figures, index, kind), limit, entries))
            if index in size:
                use |= {size[index]: -visit.most} | self._held(prices.minutes[index].once)
                columns.append((-prices.figures[index].once, 1, use))
        self.columns.add(columns)

    def _spared(self, index: int, kind: Kind) -> dict[int, int]:
        """Return what a team bears on beside coverage."""
        points = {self.later.points[self.demand.visits[index].facility]: EMPTY * kind[0] + GUEST * kind[1]}
        return points | self._held(self.figure(self.team_prices.minutes, index, kind))

    def _held(self, minutes: int) -> dict[int, int]:
        return {} if self.later.burden is None else {self.later.burden: minutes}

    @cached_property
    def _far(self) -> VisitArrays:
        return _PricedVisits(self)


class _PricedVisits(VisitArrays):
    """All visits as arrays, with what is left to them once they have paid what they come to."""

    def __init__(self, openings: LaterOpenings) -> None:
        super().__init__(openings)
        visits, prices = openings.demand.visits, openings.team_prices
        self.later = openings.later
        self.rows = np.array([openings.later.points[v.facility] for v in visits], dtype=np.int64)
        kinds = [[kind for part in openings.kinds(index) for kind in part] for index in range(len(visits))]
        shape = max(map(len, kinds), default=1), len(visits)
        self.points, self.minutes = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
        self.figures = np.full(shape, NEVER, dtype=np.int64)
        for index, mine in enumerate(kinds):
            for k, kind in enumerate(mine):
                self.points[k, index] = EMPTY * kind[0] + GUEST * kind[1]
                self.figures[k, index] = openings.figure(prices.figures, index, kind)
                self.minutes[k, index] = openings.figure(prices.minutes, index, kind)
        several = [not openings._single(index) for index in range(len(visits))]
        self.once_figures = np.array(
            [p.once * more for p, more in zip(prices.figures, several, strict=True)], dtype=np.int64
        )
        self.once_minutes = np.array(
            [p.once * more for p, more in zip(prices.minutes, several, strict=True)], dtype=np.int64
        )

    def gains(self, duals: Ints) -> tuple[Ints, Ints]:
        """Return what each team of a visit gains before it pays for room, and what the first gains besides."""
        gain, once = super().gains(duals)
        burden = 0 if self.later.burden is None else int(duals[self.later.burden])
        paid = UNIT * self.figures + duals[self.rows] * self.points + burden * self.minutes
        return gain - paid.min(axis=0), once - UNIT * self.once_figures - burden * self.once_minutes
