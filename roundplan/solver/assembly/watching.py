"""Which case each simulation is, and who watches it with a task: one small exact search a session."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from roundplan.domain.role import MINIMUM_ROLES
from roundplan.solver.assembly.exact import settle
from roundplan.solver.assembly.rota import Rota, Turn
from roundplan.solver.assembly.teams import Draft
from roundplan.solver.facts import Facts

REPEATED, UNSEEN, UNWATCHED = 100_000, 2_000, 50
"""Penalties: a case that the team ran before (only where there are too few), a team that no other team watches, a
simulation that no other team watches; then as many watch as can."""


@dataclass(frozen=True, slots=True)
class Watch:
    """Case and watching teams of each simulation."""

    case: dict[Turn, str | None]
    teams: dict[Turn, tuple[str, ...]]


def choose_cases(rota: Rota, teams: Sequence[Draft], facts: Facts) -> Watch:
    """Choose cases so that teams run different ones, none that they watched that day, and teams watch each other."""
    search = _Search(rota, teams, facts)
    solver = settle(search.model)
    if solver is None:
        raise RuntimeError("no choice of cases was found in time")
    case: dict[Turn, str | None] = dict.fromkeys(rota.turns)
    watching: dict[Turn, list[str]] = defaultdict(list)
    for (turn, code), var in search.case.items():
        if solver.boolean_value(var):
            case[turn] = code
    for (code, turn), var in search.watch.items():
        if solver.boolean_value(var):
            watching[turn].append(code)
    return Watch(case, {turn: tuple(sorted(watching[turn])) for turn in rota.turns})


def runnable(team: Draft, facts: Facts) -> tuple[str, ...]:
    """Return the cases whose roles beyond the minimum the team fills; all of them if they are too few."""
    filled = Counter(seat.role for seat in team.seats)
    fit = [
        case.code
        for case in facts.round.cases
        if not Counter(role for role in case.roles if role not in MINIMUM_ROLES) - filled
    ]
    enough = len(fit) >= facts.settings.session.simulations_per_team
    return tuple(fit) if enough or fit else tuple(case.code for case in facts.round.cases)


class _Search:
    """The model of one session."""

    def __init__(self, rota: Rota, teams: Sequence[Draft], facts: Facts) -> None:
        self.model = cp_model.CpModel()
        self.rota, self.teams = rota, {team.code: team for team in teams}
        self.penalties: list[cp_model.LinearExprT] = []
        self.case: dict[tuple[Turn, str], cp_model.IntVar] = {}
        self.watch: dict[tuple[str, Turn], cp_model.IntVar] = {}
        for team in teams:
            self._cases(team, runnable(team, facts))
        self._watchers()
        self._not_watched_before()
        self.model.minimize(sum(self.penalties))

    def _turns(self, team: str) -> list[Turn]:
        return [turn for turn in self.rota.turns if turn.team == team]

    def _cases(self, team: Draft, codes: Sequence[str]) -> None:
        turns = self._turns(team.code)
        for turn in turns:
            for rank, code in enumerate(codes):
                var = self.model.new_bool_var(f"case[{turn.team},{turn.date},{turn.number},{code}]")
                self.case[turn, code] = var
                self.penalties.append(rank * var)
            if codes:
                self.model.add_exactly_one(self.case[turn, code] for code in codes)
        for code in codes:
            repeated = self.model.new_int_var(0, len(turns), f"repeated[{team.code},{code}]")
            self.model.add(sum(self.case[turn, code] for turn in turns) <= 1 + repeated)
            self.penalties.append(REPEATED * repeated)

    def _watchers(self) -> None:
        chances: dict[str, list[cp_model.IntVar]] = defaultdict(list)
        for turn in self.rota.turns:
            running = self.rota.at(turn.date, turn.number)
            free = [t for t in self.teams.values() if t.code not in running and turn.date in t.dates]
            own = self.teams[turn.team].people
            here = []
            for team in free:
                if team.people & own:
                    continue
                var = self.model.new_bool_var(f"watch[{team.code},{turn.team},{turn.date},{turn.number}]")
                self.watch[team.code, turn] = var
                here.append(var)
                self.penalties.append(1 - var)
            if here:
                unwatched = self.model.new_bool_var(f"unwatched[{turn.team},{turn.date},{turn.number}]")
                self.model.add(sum(here) + unwatched >= 1)
                self.penalties.append(UNWATCHED * unwatched)
            chances[turn.team] += here
        for team_code, found in chances.items():
            if found:
                unseen = self.model.new_bool_var(f"unseen[{team_code}]")
                self.model.add(sum(found) + unseen >= 1)
                self.penalties.append(UNSEEN * unseen)
        self._one_station_at_a_time()

    def _one_station_at_a_time(self) -> None:
        by_slot: dict[tuple[str, object, int], list[cp_model.IntVar]] = defaultdict(list)
        for (team, turn), var in self.watch.items():
            by_slot[team, turn.date, turn.number].append(var)
        for found in by_slot.values():
            self.model.add_at_most_one(found)

    def _not_watched_before(self) -> None:
        for (team, seen), watch in self.watch.items():
            people = self.teams[team].people
            for turn in self.rota.turns:
                later = turn.date == seen.date and turn.number > seen.number
                if not later or not people & self.teams[turn.team].people:
                    continue
                for (other, code), case in self.case.items():
                    if other == seen and (turn, code) in self.case:
                        self.model.add(watch + case + self.case[turn, code] <= 2)
