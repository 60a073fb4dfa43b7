"""What makes teams complete: minimum roles, usual seats, cases to run, guests within the limit.

Each limit holds for the teams of a facility and date together, by their totals, and for one team by itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from roundplan.domain.facility import Facility
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.parts import Linear


@dataclass(frozen=True, slots=True)
class Lent:
    """Guests in seats of teams.

    Attributes
    ----------
    seats : mapping of Role to Linear
        How many by role.
    homes : mapping of str to Linear
        In pooled teams: how many of the minimum seats by the facility that lends them.
    """

    seats: Mapping[Role, Linear]
    homes: Mapping[str, Linear] = field(default_factory=dict)


def complete(choices: Choices, facility: Facility, filled: Mapping[Role, Linear], teams: Linear) -> None:
    """State team-minimum, team-mirrors-home and the roles that the cases need, for teams together."""
    facts, model = choices.facts, choices.model
    usual = facts.usual_seats(facility)
    for role in MINIMUM_ROLES:
        if facts.on(Rule.TEAM_MINIMUM) and role in filled:
            model.add(filled[role] >= teams)
    empty = sum(seats * teams - filled[role] for role, seats in usual.items())
    if facts.on(Rule.TEAM_MIRRORS_HOME):
        model.add(empty <= facts.settings.teams.empty_seats * teams)
    model.add(sum(filled.values()) >= teams)
    if facts.on(Rule.SIMULATIONS_PER_TEAM):
        for role, seats in _seats_cases_need(choices, usual).items():
            if seats:
                model.add(filled[role] >= seats * teams)
        if not _enough_cases(choices, usual):
            model.add(teams == 0)


def one_complete(
    choices: Choices, name: str, facility: Facility, own: Mapping[Role, Linear], lent: Lent, team: Linear
) -> None:
    """State all that makes one team one; ``team`` is 1 if there is a team, else 0."""
    filled = {role: seats + lent.seats.get(role, 0) for role, seats in own.items()}
    for role, seats in choices.facts.usual_seats(facility).items():
        choices.model.add(filled[role] <= seats * team)
    complete(choices, facility, filled, team)
    if choices.facts.gaps_may_meet:
        cases_of_one(choices, name, filled, team)
    guests_of_one(choices, facility, own, lent, team)


def guests_of_one(choices: Choices, facility: Facility, own: Mapping[Role, Linear], lent: Lent, team: Linear) -> None:
    """Keep the guests of one team within the limit and half of it, or a pooled team its facility's."""
    settings, model = choices.facts.settings.teams, choices.model
    if not choices.facts.on(Rule.GUEST_LIMIT) or not lent.seats:
        return
    if settings.guests_pooled:
        mine = sum(seats for role, seats in own.items() if role in MINIMUM_ROLES)
        for home, seats in lent.homes.items():
            model.add(seats + int(home < facility.code) * team <= mine)
        return
    model.add(sum(lent.seats.values()) <= min(settings.guests, len(facility.usual_team) // 2) * team)
    if settings.guests > 1:
        model.add(sum(lent.seats.values()) <= sum(own.values()))


def guests_together(choices: Choices, facility: Facility, seats: Mapping[Role, Linear], teams: Linear) -> None:
    """Keep the guests of several teams within what each could hold: exact unless seats are counted team by team."""
    settings = choices.facts.settings.teams
    if not choices.facts.on(Rule.GUEST_LIMIT) or not seats:
        return
    if settings.guests_pooled:
        minimum = sum(count for role, count in seats.items() if role in MINIMUM_ROLES)
        choices.model.add(minimum <= _most_pooled(choices, facility) * teams)
        return
    choices.model.add(sum(seats.values()) <= min(settings.guests, len(facility.usual_team) // 2) * teams)


def _most_pooled(choices: Choices, facility: Facility) -> int:
    """Return the most minimum seats of a pooled team that its facility, with most of them, leaves to others."""
    seats = sum(role in MINIMUM_ROLES for role in facility.usual_team)
    others = [f.code for f in choices.facts.round.facilities if f.code != facility.code]
    enough = (n for n in range(1, seats) if n + sum(n - (code < facility.code) for code in others) >= seats)
    return seats - next(enough, seats)


def cases_of_one(choices: Choices, name: str, filled: Mapping[Role, Linear], team: Linear) -> None:
    """Leave one team as many cases that it can run as it simulates, where it may lack people in several roles."""
    can_run = []
    for case in choices.facts.round.cases:
        can = choices.flag(f"can[{name},{case.code}]")
        for role, count in _beyond_minimum(case.roles).items():
            choices.model.add(filled.get(role, 0) >= count * can)
        can_run.append(can)
    choices.model.add(sum(can_run) >= choices.facts.settings.session.simulations_per_team * team)


def _enough_cases(choices: Choices, team: Mapping[Role, int]) -> bool:
    """Whether a team of so many people by role can run as many different cases as it simulates."""
    cases = choices.facts.round.cases
    fit = [case for case in cases if all(team.get(r, 0) >= n for r, n in _beyond_minimum(case.roles).items())]
    return not cases or len(fit) >= choices.facts.settings.session.simulations_per_team


def _beyond_minimum(roles: Iterable[Role]) -> Counter[Role]:
    return Counter(role for role in roles if role not in MINIMUM_ROLES)


def _seats_cases_need(choices: Choices, usual: Mapping[Role, int]) -> dict[Role, int]:
    """Return how many seats of a role no team can leave empty, because too few cases would be left."""
    needed = {}
    for role in _beyond_minimum(usual):
        enough = (n for n in range(usual[role]) if _enough_cases(choices, {**usual, role: n}))
        needed[role] = next(enough, usual[role])
    return needed
