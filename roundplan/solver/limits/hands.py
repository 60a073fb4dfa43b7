"""Seats of a facility's teams of one date away from home, counted by sending or team by team.

What holds for all teams of a date together could leave one team short of what another has too much of.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date
from itertools import pairwise

from roundplan.domain.facility import Facility
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.limits.complete import Lent, complete, guests_together, one_complete
from roundplan.solver.parts import Linear, Sending, Var

Parts = dict[tuple[str, Role, str | None], list[Linear]]
"""Guests by venue, role and, where it matters, home, in parts that come to those of the venue."""


def own_seats(choices: Choices, facility: Facility, first: date, role: Role) -> list[Var]:
    """Return the seats of a facility's own people in a role from a date, away from home."""
    keys = ((p.code, first, role) for p in choices.facts.round.staff_of(facility.code))
    return [choices.seat[key] for key in keys if key in choices.seat]


def lent_to(choices: Choices, sending: Sending, number: int = 0) -> Lent:
    """Return the guests at a venue: of one team at home by its number, else of all teams there."""
    key = (sending.facility, sending.venue, sending.first)
    seats: dict[Role, Linear] = {}
    homes: dict[str, list[Linear]] = defaultdict(list)
    for role in choices.facts.usual_seats(choices.facts.round.facility(sending.facility)):
        if (*key, role) in choices.guest_seats:
            seats[role] = choices.guest_seats[*key, role][number]
        for home, places in choices.guests_from.get((*key, role), {}).items():
            homes[home].append(places[number])
    return Lent(seats, {home: sum(places) for home, places in homes.items()})


def seats_by_sending(choices: Choices, facility: Facility, first: date) -> None:
    """Fill the seats of each sending by itself, where people of one date may part.

    Seats of any totals that keep the limits of so many teams can be dealt evenly within one sending (an even
    colouring of the edges between roles and own, guest or empty, with a colour a team).
    """
    model, wanted = choices.model, facility.teams_wanted
    sendings = choices.cohorts[facility.code, first]
    fixed = MINIMUM_ROLES if choices.facts.on(Rule.TEAM_MINIMUM) else ()
    parts: dict[Role, list[Linear]] = defaultdict(list)
    for sending, lent in zip(sendings, _lent_by_sending(choices, sendings), strict=True):
        own: dict[Role, Linear] = {}
        for role, seats in choices.facts.usual_seats(facility).items():
            guests = lent.get(role, 0)
            if seats == 1 and role in fixed:
                own[role] = sending.teams - guests
                model.add(own[role] >= 0)
            else:
                own[role] = choices.count(seats * wanted, f"own[{sending.people.name},{role}]")
                model.add(own[role] + guests <= seats * sending.teams)
            parts[role].append(own[role])
        complete(choices, facility, {role: seats + lent.get(role, 0) for role, seats in own.items()}, sending.teams)
        model.add(sending.people == sum(own.values()))
        guests_together(choices, facility, lent, sending.teams)
    for role, shares in parts.items():
        model.add(sum(shares) == sum(own_seats(choices, facility, first, role)))


def _lent_by_sending(choices: Choices, sendings: list[Sending]) -> list[dict[Role, Linear]]:
    """Return the guests by role of each sending; modes of one venue share out those of the venue."""
    modes = Counter(s.venue for s in sendings)
    parts: Parts = defaultdict(list)
    found: list[dict[Role, Linear]] = []
    for sending in sendings:
        facility = choices.facts.round.facility(sending.facility)
        lent: dict[Role, Linear] = dict(lent_to(choices, sending).seats)
        if modes[sending.venue] > 1:
            for role in lent:
                most = choices.facts.usual_seats(facility)[role] * facility.teams_wanted
                lent[role] = choices.count(most, f"guests_in[{sending.people.name},{role}]")
                parts[sending.venue, role, None].append(lent[role])
        found.append(lent)
    _all_seated(choices, sendings, parts)
    return found


def seats_by_team(choices: Choices, facility: Facility, first: date) -> None:
    """Fill the seats team by team, where a team may hold more guests, or lack more people, than its like."""
    model = choices.model
    sendings = choices.cohorts[facility.code, first]
    own: dict[Role, list[Linear]] = defaultdict(list)
    guests: Parts = defaultdict(list)
    for sending in sendings:
        teams = [choices.flag(f"hand[{sending.people.name},{i}]") for i in range(facility.teams_wanted)]
        model.add(sum(teams) == sending.teams)
        for earlier, later in pairwise(teams):
            model.add(earlier >= later)
        people: list[Linear] = []
        for team in teams:
            mine = {
                role: choices.count(seats, f"own[{team.name},{role}]")
                for role, seats in choices.facts.usual_seats(facility).items()
            }
            one_complete(choices, team.name, facility, mine, _guests_of(choices, sending, team.name, guests), team)
            people += mine.values()
            for role, seats in mine.items():
                own[role].append(seats)
        model.add(sending.people == sum(people))
    for role, shares in own.items():
        model.add(sum(shares) == sum(own_seats(choices, facility, first, role)))
    _all_seated(choices, sendings, guests)


def _guests_of(choices: Choices, sending: Sending, team: str, parts: Parts) -> Lent:
    """Make the guests of one team, by home where a pooled team must stay its facility's."""
    seats: dict[Role, list[Linear]] = defaultdict(list)
    homes: dict[str, list[Linear]] = defaultdict(list)
    for role, most in choices.facts.usual_seats(choices.facts.round.facility(sending.facility)).items():
        key = (sending.facility, sending.venue, sending.first, role)
        if key not in choices.guest_seats:
            continue
        for home in choices.guests_from.get(key, {None: []}):
            count = choices.count(most, f"guests[{team},{role},{home or ''}]")
            parts[sending.venue, role, home].append(count)
            seats[role].append(count)
            if home is not None:
                homes[home].append(count)
    return Lent({r: sum(counts) for r, counts in seats.items()}, {h: sum(counts) for h, counts in homes.items()})


def _all_seated(choices: Choices, sendings: list[Sending], parts: Parts) -> None:
    """Tie guests in parts to those of the venue."""
    for (venue, role, home), shares in parts.items():
        key = (sendings[0].facility, venue, sendings[0].first, role)
        there = choices.guest_seats[key] if home is None else choices.guests_from[key][home]
        choices.model.add(sum(shares) == there[0])
