"""Whole trips and whole teams: the programme's columns chosen by CP-SAT."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from roundplan.solver.skeleton.master import Master
from roundplan.solver.skeleton.pricing import Trip

Weights = dict[tuple[str, int], int]


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Which trips are made, and how many teams go on which visit (by position in ``Demand.visits``)."""

    trips: tuple[Trip, ...]
    teams: tuple[tuple[int, int], ...]

    def sessions(self) -> tuple[tuple[int, int, int, int], ...]:
        """Return kind, venue, first date and stations of every session, as positions."""
        return tuple(
            (trip.kind, stay.venue, stay.date, stay.stations)
            for trip in self.trips for stay in trip.stays if stay.venue >= 0
        )  # fmt: skip


class Selection:
    """The restricted whole-number model over a set of trips."""

    def __init__(self, master: Master, trips: Sequence[Trip]) -> None:
        self.master, self.trips = master, tuple(trips)
        self.model = cp_model.CpModel()
        self._terms: dict[int, list[tuple[cp_model.IntVar, int, int]]] = defaultdict(list)
        kinds = master.terrain.kinds
        self.made = [self._column(len(kinds[t.kind].crews), master._entries(t)) for t in self.trips]
        self._visits()
        self.short = [self._column(*master._columns[column]) for column in master.short]
        for row, terms in self._terms.items():
            right = master.programme.rows[row]
            if sum(max(value, 0) * most for _, value, most in terms) > right:
                self.model.add(sum(value * var for var, value, _ in terms) <= right)

    def _column(self, most: int, entries: dict[int, int]) -> cp_model.IntVar:
        var = self.model.new_int_var(0, most, "")
        for row, value in entries.items():
            self._terms[row].append((var, value, most))
        return var

    def _visits(self) -> None:
        master = self.master
        linked = {row for trip in self.trips for row, value in master._entries(trip).items() if value < 0}
        self.teams: dict[int, cp_model.IntVar] = {}
        for index in range(len(master.demand.visits)):
            if master.link[index] not in linked:
                continue
            for column in dict.fromkeys((master.teams_column[index], master.used_column[index])):
                limit, entries = master._columns[column]
                var = self._column(limit, entries)
                self.teams.setdefault(index, var)
        self.numbers = {key: self._column(*master._columns[column]) for key, column in master.team_column.items()}

    def effort(self) -> cp_model.LinearExprT:
        """Return the dates on the road and the sessions of the trips made."""
        return sum(_effort(trip) * var for trip, var in zip(self.trips, self.made, strict=True))

    def effort_scale(self) -> int:
        """Return what outweighs all effort there could be."""
        crews = sum(len(kind.crews) for kind in self.master.terrain.kinds)
        return 2 * crews * len(self.master.dates) + 1

    def weigh(self, weights: Weights) -> cp_model.LinearExprT:
        """Return a weighted sum of teams by number."""
        return sum(value * self.numbers[key] for key, value in weights.items() if key in self.numbers)

    def solve(
        self,
        objective: cp_model.LinearExprT,
        seconds: float,
        *,
        seed: int = 1,
        workers: int = 1,
        work: float | None = None,
        hint: Skeleton | None = None,
        stopped: Callable[[], bool] = lambda: False,
    ) -> Skeleton | None:
        """Choose for an objective; None if nothing was found in time."""
        self.model.maximize(objective)
        self.model.clear_hints()
        if hint is not None:
            self._hint(hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = seed
        solver.parameters.catch_sigint_signal = False
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.linearization_level = 2
        if work is not None:
            solver.parameters.max_deterministic_time = work
            solver.parameters.interleave_search = workers > 1
        else:
            solver.parameters.max_time_in_seconds = max(seconds, 0.1)
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        trips = tuple(t for t, v in zip(self.trips, self.made, strict=True) for _ in range(solver.value(v)))
        return Skeleton(trips, tuple((i, solver.value(v)) for i, v in self.teams.items() if solver.value(v)))

    def _hint(self, hint: Skeleton) -> None:
        counts: dict[Trip, int] = defaultdict(int)
        for trip in hint.trips:
            counts[trip] += 1
        for trip, var in zip(self.trips, self.made, strict=True):
            self.model.add_hint(var, counts.get(trip, 0))
        teams = dict(hint.teams)
        for index, var in self.teams.items():
            self.model.add_hint(var, teams.get(index, 0))


def _effort(trip: Trip) -> int:
    return trip.last - trip.first + 1 + sum(stay.venue >= 0 for stay in trip.stays)
