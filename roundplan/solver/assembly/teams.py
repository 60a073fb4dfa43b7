"""Deals the seats of each group out to its teams, and gives teams their codes and numbers."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ortools.sat.python import cp_model

from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.exact import settle
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Facts
from roundplan.solver.outline import Group, Outline, OutlineSeat, SessionOutline

SHORT = 1000
"""Penalty for a thing a rule asks for; only paid where the rule is switched off."""


class TeamsNotDealt(RuntimeError):
    """The seats of a group cannot be dealt out to its teams."""

    def __init__(self, facility: str, first: date) -> None:
        super().__init__(f"the seats of {facility} from {first.isoformat()} do not make its teams")


@dataclass(frozen=True, slots=True)
class Draft:
    """A team before its session is written out."""

    facility: str
    venue: str
    start: date
    mode: Mode
    on_site: bool
    seats: tuple[OutlineSeat, ...]
    code: str = ""
    number: int = 0

    @property
    def dates(self) -> tuple[date, ...]:
        """Dates attended."""
        return self.mode.dates

    @property
    def people(self) -> frozenset[str]:
        """Codes of those seated."""
        return frozenset(seat.person for seat in self.seats)


def draft_teams(outline: Outline, facts: Facts) -> tuple[Draft, ...]:
    """Return all teams with codes in the order of date, venue and facility."""
    drafts = [d for session in outline.sessions for group in session.groups for d in _drafts(session, group, facts)]
    drafts.sort(key=lambda d: (d.dates[0], d.start, d.venue, d.facility, sorted(d.people)))
    width = max(2, len(str(len(drafts))))
    numbers: Counter[str] = Counter()
    coded = []
    for index, draft in enumerate(drafts, start=1):
        numbers[draft.facility] += 1
        coded.append(replace(draft, code=f"T{index:0{width}d}", number=numbers[draft.facility]))
    return tuple(coded)


def _drafts(session: SessionOutline, group: Group, facts: Facts) -> Iterator[Draft]:
    order = {role: index for index, role in enumerate(Role)}
    hands = group.seats if group.on_site or group.teams == 1 else deal(group, facts)
    for seats in hands:
        ordered = tuple(sorted(seats, key=lambda s: (order[s.role], s.guest_mode is not None, s.person)))
        yield Draft(group.facility, session.venue, session.start, group.mode, group.on_site, ordered)


def deal(group: Group, facts: Facts) -> tuple[tuple[OutlineSeat, ...], ...]:
    """Deal the seats of several teams so that each is a team by the rules in force.

    Raises
    ------
    TeamsNotDealt
        If that is not possible.
    """
    seats = sorted((s for hand in group.seats for s in hand), key=lambda s: (s.role, s.person))
    model = cp_model.CpModel()
    held = [[model.new_bool_var(f"held[{s.person},{t}]") for t in range(group.teams)] for s in seats]
    for row in held:
        model.add_exactly_one(row)
    short: list[cp_model.IntVar] = []
    for team in range(group.teams):
        column = [(seat, row[team]) for seat, row in zip(seats, held, strict=True)]
        short += _one_team(model, column, group, facts)
    spread = [row[team] * team for index, row in enumerate(held) for team in range(group.teams) if index < group.teams]
    model.minimize(SHORT * sum(short) + sum(spread))
    solver = settle(model)
    if solver is None:
        raise TeamsNotDealt(group.facility, group.first)
    return tuple(
        tuple(seat for seat, row in zip(seats, held, strict=True) if solver.boolean_value(row[team]))
        for team in range(group.teams)
    )


def _one_team(
    model: cp_model.CpModel, column: Sequence[tuple[OutlineSeat, cp_model.IntVar]], group: Group, facts: Facts
) -> list[cp_model.IntVar]:
    """State what makes one team; return the shortfalls that a switched-off rule leaves."""
    by_role: dict[Role, list[cp_model.IntVar]] = defaultdict(list)
    for seat, var in column:
        by_role[seat.role].append(var)
    usual = facts.usual_seats(facts.round.facility(group.facility))
    short = []
    for role in MINIMUM_ROLES:
        lacks = model.new_bool_var("lacks")
        model.add(sum(by_role[role]) + lacks >= 1)
        if facts.on(Rule.TEAM_MINIMUM):
            model.add(lacks == 0)
        short.append(lacks)
    for role, held in by_role.items():
        model.add(sum(held) <= usual.get(role, 0))
    empty = model.new_int_var(0, sum(usual.values()), "empty")
    model.add(empty >= sum(usual.values()) - sum(var for _, var in column) - facts.settings.teams.empty_seats)
    if facts.on(Rule.TEAM_MIRRORS_HOME):
        model.add(empty == 0)
    short.append(empty)
    _guests(model, column, facts)
    if facts.on(Rule.SIMULATIONS_PER_TEAM):
        _cases(model, by_role, facts)
    return short


def _guests(model: cp_model.CpModel, column: Sequence[tuple[OutlineSeat, cp_model.IntVar]], facts: Facts) -> None:
    guests = [(seat, var) for seat, var in column if seat.guest_mode is not None]
    if not guests or not facts.on(Rule.GUEST_LIMIT):
        return
    teams = facts.settings.teams
    if teams.guests_pooled:
        model.add(sum(var for seat, var in guests if seat.role in MINIMUM_ROLES) <= 1)
        return
    model.add(sum(var for _, var in guests) <= teams.guests)
    model.add(2 * sum(var for _, var in guests) <= sum(var for _, var in column))


def _cases(model: cp_model.CpModel, by_role: dict[Role, list[cp_model.IntVar]], facts: Facts) -> None:
    """Leave each team as many cases that it can run as it simulates."""
    if not facts.round.cases:
        return
    runnable = []
    for case in facts.round.cases:
        needed = Counter(role for role in case.roles if role not in MINIMUM_ROLES)
        can = model.new_bool_var(f"can[{case.code}]")
        for role, count in needed.items():
            model.add(sum(by_role.get(role, [])) >= count * can)
        runnable.append(can)
    model.add(sum(runnable) >= min(facts.settings.session.simulations_per_team, len(runnable)))
