"""Whole trips and whole teams: the programme's columns chosen by CP-SAT."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from roundplan.solver.skeleton.master import Master
from roundplan.solver.skeleton.pricing import Trip
from roundplan.solver.solving import new_solver, run

Weights = dict[tuple[str, int], int]


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Which trips are made, and how many teams go on which visit (by position in ``Demand.visits``)."""

    trips: tuple[Trip, ...]
    teams: tuple[tuple[int, int], ...]


class Selection:
    """The restricted whole-number model over a set of trips."""

    def __init__(self, master: Master, trips: Sequence[Trip]) -> None:
        self.master, self.trips = master, tuple(trips)
        self.model = cp_model.CpModel()
        self._terms: dict[int, list[tuple[cp_model.IntVar, int, int]]] = defaultdict(list)
        kinds = master.terrain.kinds
        self.made = [self._column(len(kinds[t.kind].crews), master.entries(t)) for t in self.trips]
        self._visits()
        self.short = [self._own(number) for number in master.short]
        held = set(master.held.values())  # what bounds are given; the objective says what is aimed for
        for row, terms in self._terms.items():
            if row in held:
                continue
            right = master.programme.rows[row]
            if sum(max(value, 0) * most for _, value, most in terms) > right:
                self.model.add(sum(value * var for var, value, _ in terms) <= right)

    def _column(self, most: int, entries: dict[int, int]) -> cp_model.IntVar:
        var = self.model.new_int_var(0, most, "")
        for row, value in entries.items():
            self._terms[row].append((var, value, most))
        return var

    def _own(self, number: int) -> cp_model.IntVar:
        columns = self.master.columns
        return self._column(columns.limits[number], columns.entries[number])

    def _visits(self) -> None:
        master, openings = self.master, self.master.openings
        linked = {row for trip in self.trips for row, value in master.entries(trip).items() if value < 0}
        self.teams: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        self._lent: list[tuple[str, cp_model.IntVar]] = []
        for index, row in sorted(openings.link.items()):
            if row not in linked:
                continue
            if index in openings.own_column:
                self.teams[index].append(self._own(openings.own_column[index]))
            if index in openings.lent_column:
                lent = self._own(openings.lent_column[index])
                self.teams[index].append(lent)
                self._lent.append((master.demand.visits[index].facility, lent))
            if index in openings.used_column:
                self._own(openings.used_column[index])
        self.numbers = {key: self._own(number) for key, number in master.team_column.items()}

    def effort(self) -> cp_model.LinearExprT:
        """Return the dates on the road and the sessions of the trips made."""
        return sum(_effort(trip) * var for trip, var in zip(self.trips, self.made, strict=True))

    def effort_scale(self) -> int:
        """Return what outweighs all effort there could be."""
        crews = sum(len(kind.crews) for kind in self.master.terrain.kinds)
        return 2 * crews * len(self.master.dates) + 1

    def lent(self, costs: Mapping[str, int]) -> cp_model.LinearExprT:
        """Return what the teams that need guests cost, a figure for each facility."""
        return sum(costs.get(code, 0) * teams for code, teams in self._lent)

    def weigh(self, weights: Weights) -> cp_model.LinearExprT:
        """Return a weighted sum of teams by number."""
        return sum(value * self.numbers[key] for key, value in weights.items() if key in self.numbers)

    def solve(
        self,
        objective: cp_model.LinearExprT,
        seconds: float,
        *,
        seed: int,
        work: float | None,
        stopped: Callable[[], bool],
    ) -> Skeleton | None:
        """Choose for an objective on one core; None if nothing was found in time.

        Parameters
        ----------
        seconds, work : float
            Time, or deterministic work where that is given.
        stopped : callable
            Asked now and then whether to end with the best so far.
        """
        self.model.maximize(objective)
        solver = new_solver(seed, 1)
        if work is not None:
            solver.parameters.max_deterministic_time = work
        else:
            solver.parameters.max_time_in_seconds = max(seconds, 0.1)
        if run(solver, self.model, stopped) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        trips = tuple(t for t, v in zip(self.trips, self.made, strict=True) for _ in range(solver.value(v)))
        teams = ((index, sum(solver.value(var) for var in own)) for index, own in self.teams.items())
        return Skeleton(trips, tuple((index, number) for index, number in teams if number))


def _effort(trip: Trip) -> int:
    return trip.last - trip.first + 1 + sum(stay.venue >= 0 for stay in trip.stays)
