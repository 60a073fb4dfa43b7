"""The shape of a round: columns until nothing better can be priced, bounds of the coverage tiers, whole trips."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from roundplan.domain.rules import Aim
from roundplan.solver.facts import Facts
from roundplan.solver.skeleton.demand import Asked, Demand
from roundplan.solver.skeleton.dive import Dive
from roundplan.solver.skeleton.master import Master
from roundplan.solver.skeleton.selection import Selection, Skeleton, Weights
from roundplan.solver.skeleton.terrain import Terrain

LONGEST, LONGER = 8, 14
"""Dates of the longest trip that is chosen where crews are plenty, and where they are scarce."""
PLENTY = 2
"""Stations' dates for each team wanted from which crews are plenty: a date takes two or three teams or is a drive."""
FIRST = 12
"""How much more a first team counts than a further one when trips are looked for that people are found for."""


@dataclass(frozen=True, slots=True)
class Closing:
    """How far columns were generated: the bound, and whether nothing better was left to price."""

    bound: int
    closed: bool


class Shape:
    """Skeletons of one round.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    stopped : callable
        Asked between steps whether to stop; the bounds hold all the same.
    each : callable, optional
        Looks at facilities side by side; see :class:`Demand`.
    """

    def __init__(
        self, facts: Facts, stopped: Callable[[], bool], each: Callable[[list[str]], Asked] | None = None
    ) -> None:
        self.facts = facts
        self.stopped = stopped
        self.terrain = Terrain(facts)
        self.demand = Demand(facts, stopped, each)
        self.master = Master(self.terrain, self.demand)
        self._planning: Master | None = None
        self.weights = {Aim.FIRST_TEAMS: self._weights(first=True), Aim.FURTHER_TEAMS: self._weights(first=False)}

    def _weights(self, *, first: bool) -> Weights:
        round_, total = self.facts.round, self.demand.total
        return {
            (f.code, k): round_.weight(f) if first else round_.team_points(f, k)
            for f in self.demand.facilities
            for k in range(1, total[f.code] + 1)
            if (k == 1) is first
        }

    def hold(self, aim: Aim, least: int) -> None:
        """Keep a coverage tier at least so high from now on."""
        self.master.hold(aim.value, self.weights[aim], least)

    def limit(self, code: str, most: int) -> None:
        """Let a facility send no more teams than it can, as was proven."""
        self.master.limit(code, most)
        if self._planning is not None:
            self._planning.limit(code, most)
        self.demand.total[code] = most
        for weights in self.weights.values():
            for key in [key for key in weights if key[0] == code and key[1] > most]:
                del weights[key]

    def close(
        self, aim: Aim, reached: int | None = None, stopped: Callable[[], bool] | None = None, gap: float = 0.0
    ) -> Closing:
        """Generate trips for a tier until none is worth its price, the bound meets what is reached, or the time is up.

        Parameters
        ----------
        reached : int, optional
            A value that a plan already has; a bound as low as that ends the work.
        gap : float
            So near to the programme's value, as a share, the bound is good enough.
        """
        master, stop = self.master, stopped or self.stopped
        weights = self.weights[aim]
        master.aim(weights)
        bound = sum(weights.values())
        while reached is None or bound > reached:
            solved = master.programme.solve()
            if solved is None:
                break
            duals, prices = master.prices(solved)
            bound = max(min(bound, master.bound(duals, prices)), 0)
            if bound <= solved.value + 1e-6 + gap * bound or stop():
                return Closing(bound, bound <= solved.value + 1e-6)
            kinds = range(len(self.terrain.kinds))
            fresh = [trip for kind in kinds for _, trip in master.pricing.trips(kind, prices)]
            if not master.add_trips(fresh):
                return Closing(bound, True)
        return Closing(bound, False)

    @property
    def _longest(self) -> int:
        """Dates of the longest trip that is chosen: short ones where crews have time for far more than is wanted."""
        facts, wanted = self.facts, sum(self.demand.total.values())
        room = sum(
            max(kind.stations.values(), default=0) * sum(facts.crew_works(crew, day) for day in facts.dates)
            for kind in self.terrain.kinds for crew in kind.crews
        )  # fmt: skip
        return LONGEST if room >= PLENTY * wanted else LONGER

    def _costs(self, halves: int) -> dict[str, int]:
        return {f.code: halves * self.facts.round.team_points(f, 2) // 2 for f in self.demand.facilities}

    def choose(
        self, seconds: float, seed: int, work: float | None, stopped: Callable[[], bool], halves: int,
        enough: Callable[[], bool],
    ) -> Skeleton | None:  # fmt: skip
        """Choose whole trips and teams: floors of districts, first teams, further ones; then few dates and sessions.

        Parameters
        ----------
        halves : int
            How many halves of its points a team that needs guests counts less: they may not be found.
        enough : callable
            Asked now and then whether to generate no more trips.
        """
        first, further, costs = self.weights[Aim.FIRST_TEAMS], self.weights[Aim.FURTHER_TEAMS], self._costs(halves)
        if self._planning is None:  # apart from that of bounds: together they would be slow, and crews share no session
            self._planning = Master(self.terrain, self.demand, shared=False)
        self._planning.aim({key: FIRST * weight for key, weight in first.items()} | further, costs)
        dive = Dive(self._planning, self._longest)
        selection = Selection(self._planning, dive.run(lambda: stopped() or enough()))
        scale = sum(further.values()) + 1
        coverage = scale * selection.weigh(first) + selection.weigh(further)
        coverage = coverage - scale * (sum(first.values()) + 1) * sum(selection.short)
        coverage = coverage - selection.lent(costs)
        objective = selection.effort_scale() * coverage - selection.effort()
        return selection.solve(objective, seconds, seed=seed, work=work, stopped=stopped)
