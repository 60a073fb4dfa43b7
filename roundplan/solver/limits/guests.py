"""Guests: lent and seated alike, and how many of them a team may hold."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from datetime import date

from roundplan.domain.facility import Facility
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.parts import Linear, Scope, Sending, Var


def guests_fit(choices: Choices) -> None:
    """Match guests lent with guest seats, venue by venue and role by role, within the limit of a team."""
    model, facts = choices.model, choices.facts
    if choices.scope is not Scope.WHOLE:
        if choices.scope is Scope.OUTER:
            _lent_by_date(choices)
        _within_limit(choices)
        return
    lent: dict[tuple[str, date, Role], list[Var]] = defaultdict(list)
    by_session: dict[tuple[str, date, Role], dict[str, Linear]] = defaultdict(dict)
    home: dict[tuple[str, date, Role], Var] = {}
    for (code, venue, first, role), count in choices.lent.items():
        if code == venue and facts.on_site_cover(facts.round.facility(code)) is not OnSiteCover.NO:
            home[code, first, role] = count
        else:
            lent[code, first, role].append(count)
        by_session[venue, first, role][code] = count
    for (code, first, role), counts in lent.items():
        model.add(sum(counts) == sum(_lendable(choices, code, first, role)))
    for (code, first, role), count in home.items():
        people = [choices.home_guest.get((p.code, first, role)) for p in facts.round.staff_of(code)]
        model.add(count == sum(var for var in people if var is not None))
    for (venue, first, role), lenders in by_session.items():
        hosts = {key[0]: sum(seats) for key, seats in choices.guest_seats.items() if key[1:] == (venue, first, role)}
        model.add(sum(hosts.values()) == sum(lenders.values()))
        for code, count in lenders.items():
            if code in hosts:
                model.add(sum(seats for host, seats in hosts.items() if host != code) >= count)
    _within_limit(choices)


def _lendable(choices: Choices, facility: str, first: date, role: Role) -> list[Var]:
    keys = ((p.code, first, role) for p in choices.facts.round.staff_of(facility))
    return [choices.guest[key] for key in keys if key in choices.guest]


def _lent_by_date(choices: Choices) -> None:
    """In the relaxation guests of the minimum roles come from anywhere but home."""
    seats: dict[tuple[date, Role], dict[str, list[Var]]] = defaultdict(lambda: defaultdict(list))
    for (host, _, first, role), places in choices.guest_seats.items():
        if role in MINIMUM_ROLES:
            seats[first, role][host] += places
    lent: dict[tuple[date, Role], list[tuple[str, Var]]] = defaultdict(list)
    for table in (choices.guest, choices.home_guest):
        for (code, first, role), var in table.items():
            lent[first, role].append((choices.facts.round.person(code).facility, var))
    for key, hosts in seats.items():
        choices.model.add(sum(v for places in hosts.values() for v in places) <= sum(v for _, v in lent[key]))
        for host, places in hosts.items():
            choices.model.add(sum(places) <= sum(v for home, v in lent[key] if home != host))


def _within_limit(choices: Choices) -> None:
    for sending in {(s.facility, s.venue, s.first): s for s in choices.sendings}.values():
        facility = choices.facts.round.facility(sending.facility)
        keys = {role: (facility.code, sending.venue, sending.first, role) for role in facility.usual_team}
        seats = {role: choices.guest_seats[key] for role, key in keys.items() if key in choices.guest_seats}
        if sending.on_site:
            for i, team in enumerate(choices.site_team[sending.facility, sending.first]):
                guests_within(choices, facility, {role: places[i] for role, places in seats.items()}, team)
        else:
            teams = sum(s.teams for s in choices.cohorts[sending.facility, sending.first] if s.venue == sending.venue)
            guests_within(choices, facility, {role: sum(places) for role, places in seats.items()}, teams)


def guests_within(choices: Choices, facility: Facility, seats: Mapping[Role, Linear], teams: Linear) -> None:
    """Keep guests within the limit and half of the team; a pooled team keeps two minimum seats to its own people."""
    settings = choices.facts.settings.teams
    if not choices.facts.on(Rule.GUEST_LIMIT) or not seats:
        return
    if settings.guests_pooled:
        choices.model.add(sum(places for role, places in seats.items() if role in MINIMUM_ROLES) <= teams)
        return
    most = min(settings.guests, (len(facility.usual_team) - settings.empty_seats) // 2)
    most = max(most, min(settings.guests, 1))
    choices.model.add(sum(seats.values()) <= most * teams)


def lent_by_sending(choices: Choices, sendings: list[Sending]) -> list[dict[Role, Linear]]:
    """Return the guests by role of each sending; modes of one venue share out those of the venue."""
    modes = Counter(s.venue for s in sendings)
    shared: dict[tuple[str, date, Role], list[Var]] = defaultdict(list)
    found: list[dict[Role, Linear]] = []
    for sending in sendings:
        lent: dict[Role, Linear] = {}
        facility = choices.facts.round.facility(sending.facility)
        for role, places in choices.facts.usual_seats(facility).items():
            seats = choices.guest_seats.get((sending.facility, sending.venue, sending.first, role))
            if seats is None:
                continue
            lent[role] = seats[0]
            if modes[sending.venue] > 1:
                most = places * facility.teams_wanted
                lent[role] = choices.count(most, f"guests_in[{sending.people.name},{role}]")
                shared[sending.venue, sending.first, role].append(lent[role])
        found.append(lent)
    for (venue, first, role), parts in shared.items():
        choices.model.add(sum(parts) == choices.guest_seats[sendings[0].facility, venue, first, role][0])
    return found
