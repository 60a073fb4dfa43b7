"""Guests: lent and seated alike, and how many of them a team may hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date

from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role
from roundplan.solver.choices import Choices
from roundplan.solver.limits.complete import guests_together
from roundplan.solver.parts import Linear, Scope, Var


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
        if choices.facts.pools(role):
            _lent_by_home(choices, (venue, first, role), lenders)
            continue
        hosts = {key[0]: sum(seats) for key, seats in choices.guest_seats.items() if key[1:] == (venue, first, role)}
        model.add(sum(hosts.values()) == sum(lenders.values()))
        for code, count in lenders.items():
            if code in hosts:
                model.add(sum(seats for host, seats in hosts.items() if host != code) >= count)
    _within_limit(choices)


def _lent_by_home(choices: Choices, key: tuple[str, date, Role], lenders: Mapping[str, Linear]) -> None:
    """Tell the guests in pooled teams by the facility that lends them."""
    sent: dict[str, list[Var]] = {code: [] for code in lenders}
    for (host, *at), seats in choices.guest_seats.items():
        if tuple(at) != key:
            continue
        from_home = choices.guests_from[host, *key]
        for number, seat in enumerate(seats):
            choices.model.add(seat == sum(places[number] for places in from_home.values()))
        for code, places in from_home.items():
            sent[code] += places
    for code, places in sent.items():
        choices.model.add(sum(places) == lenders[code])


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
    """Bound the guests of all teams from a date at a venue; team by team the limit is stated with the seats."""
    for sending in {(s.facility, s.venue, s.first): s for s in choices.sendings}.values():
        facility = choices.facts.round.facility(sending.facility)
        keys = {role: (facility.code, sending.venue, sending.first, role) for role in facility.usual_team}
        seats = {role: sum(choices.guest_seats[key]) for role, key in keys.items() if key in choices.guest_seats}
        there = choices.visitors[sending.venue, sending.first]
        guests_together(choices, facility, seats, sum(s.teams for s in there if s.facility == facility.code))
