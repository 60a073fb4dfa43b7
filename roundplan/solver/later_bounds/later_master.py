"""The skeleton's programme turned to a later tier: the least of it that coverage at least as good as held can come to.

Beside the columns of the coverage programme a visit has teams with empty seats and with guests, and each facility its
penalty points. What is minimised is maximised as its negative, so that the Lagrangian bound of the skeleton serves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from roundplan.domain.rules import Aim
from roundplan.solver.later_bounds.crew_prices import CostPricing, CrewPrices
from roundplan.solver.later_bounds.later_openings import LaterOpenings, LaterRows
from roundplan.solver.later_bounds.later_openings import Prices as TeamPrices
from roundplan.solver.later_bounds.least_total import Held, Least, steps
from roundplan.solver.later_bounds.team_prices import TeamPrice
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.exact_columns import UNIT
from roundplan.solver.skeleton.master import Master
from roundplan.solver.skeleton.openings import FacilityRows
from roundplan.solver.skeleton.pricing import Prices, Trip
from roundplan.solver.skeleton.programme import Solved
from roundplan.solver.skeleton.terrain import Terrain

NOTHING = TeamPrice(0, 0)
"""What a visit comes to where penalty points are minimised."""
DEAR = 30
"""How many times its share in the plan a point of coverage costs that is short: any figure makes a true bound."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """What earlier tiers keep: coverage at least, penalty points and minutes at most (None = not yet held)."""

    coverage: Held
    realism: int
    burden: int | None = None


@dataclass(frozen=True, slots=True)
class Goal:
    """What is minimised.

    Attributes
    ----------
    most : int
        What a plan comes to, in the unit of the figures.
    visits : sequence of TeamPrice or None
        What visits come to; None = penalty points are minimised.
    crews : CrewPrices or None
        What crews come to, where they count.
    """

    most: int
    visits: Sequence[TeamPrice] | None = None
    crews: CrewPrices | None = None


class LaterMaster(Master):
    """The programme of one round for a later tier.

    Parameters
    ----------
    least : mapping of facility to sequence
        Least penalty points by number of teams.
    earlier : Earlier
        What is held.
    minutes : sequence of TeamPrice
        Burden by visit.
    """

    def __init__(
        self,
        terrain: Terrain,
        demand: Demand,
        least: Mapping[str, Least],
        earlier: Earlier,
        minutes: Sequence[TeamPrice],
        goal: Goal,
    ) -> None:
        super().__init__(terrain, demand)
        self.goal = goal
        rows = LaterRows(self._penalties(least, earlier.realism), self._burden(earlier.burden))
        prices = TeamPrices(minutes, goal.visits or [NOTHING] * len(demand.visits))
        plain = FacilityRows(self.sent, self.alone, self.goes, self.release, self.kept)
        self.openings = LaterOpenings(self.openings, terrain, demand, self.columns, plain, rows, prices)
        self._hold(earlier.coverage)
        points = earlier.coverage.first + earlier.coverage.further
        self._dear = DEAR * goal.most // max(points, 1) + 1
        if goal.crews is not None:
            self.pricing = CostPricing(self.pricing, goal.crews, UNIT)
        self._weigh()

    def _penalties(self, least: Mapping[str, Least], most: int) -> dict[str, int]:
        """Add the penalty points of each facility: at least those of its teams' seats, and of their number.

        Returns the rows of the seats, to which visits come later.
        """
        seats = {f.code: self._row(0) for f in self.demand.facilities}
        whole = self._row(most)
        numbers = self.columns.add([(0, most, {row: -1, whole: 1}) for row in seats.values()])
        self.points = dict(zip(seats, numbers, strict=True))
        for code, column in self.points.items():
            added = steps(least.get(code, (0,)))
            teams = {
                self.team_column[code, k]: v for k, v in enumerate(added, start=1) if (code, k) in self.team_column
            }
            self.columns.add_row(0, {n: v for n, v in teams.items() if v} | {column: -1})
        return seats

    def _burden(self, most: int | None) -> int | None:
        return None if most is None else self._row(most)

    def _hold(self, held: Held) -> None:
        round_, numbers = self.facts.round, self.team_column
        firsts = {(code, k): round_.weight(round_.facility(code)) for code, k in numbers if k == 1}
        further = {(code, k): round_.team_points(round_.facility(code), k) for code, k in numbers if k > 1}
        self.hold(Aim.FIRST_TEAMS.value, firsts, held.first)
        self.hold(Aim.FURTHER_TEAMS.value, further, held.further)

    def _weigh(self) -> None:
        """Set what columns come to, before visits have any; what is short of coverage is dear, so that it is kept."""
        weights = dict.fromkeys(self.points.values(), -1) if self.goal.visits is None else {}
        self.columns.weigh(weights | dict.fromkeys((*self.short, self.held_short), -self._dear))

    def add_trips(self, trips: Iterable[Trip]) -> int:
        """Add trips that are not there yet, each with what it costs; returns how many."""
        fresh = [trip for trip in dict.fromkeys(trips) if trip not in self._known]
        self._known.update(fresh)
        self.trips += fresh
        self.openings.open([(s.venue, s.date) for trip in fresh for s in trip.stays if s.venue >= 0])
        crews = self.goal.crews
        columns = [
            (
                0 if crews is None else -sum(crews.stay(trip.kind, stay) for stay in trip.stays),
                len(self.terrain.kinds[trip.kind].crews),
                self.entries(trip),
            )
            for trip in fresh
        ]
        place = self.programme.add_columns(columns)
        self._places += range(place, place + len(fresh))
        return len(fresh)

    def prices(self, solved: Solved) -> tuple[np.ndarray, Prices]:
        """Return the duals in whole units, and what they and the costs of sessions mean for trips."""
        duals, prices = super().prices(solved)
        if self.goal.crews is not None:
            prices.held[...] += UNIT * self.goal.crews.stations[None, :]
            prices.visit[...] -= UNIT * self.goal.crews.session[:, None]
        return duals, prices


def least(master: LaterMaster, stop: Callable[[], bool], rounds: int) -> int:
    """Return the best bound of the tier: trips are priced until none is worth its price, or it is time to stop."""
    best = 0
    for _ in range(rounds):
        solved = master.programme.solve()
        if solved is None:
            break
        duals, prices = master.prices(solved)
        best = max(best, -master.bound(duals, prices))
        if best >= ceil(-solved.value - 1e-6) or stop():
            break
        kinds = range(len(master.terrain.kinds))
        if not master.add_trips([trip for kind in kinds for _, trip in master.pricing.trips(kind, prices)]):
            break
    return best
