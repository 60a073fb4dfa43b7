"""Guests: which facilities may lend whom, to which teams."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role
from roundplan.solver.parts import Guesting, Scope

if TYPE_CHECKING:
    from roundplan.solver.choices import Choices


def make_guests(choices: Choices) -> None:
    """Make the seats that guests may take, and who may lend them."""
    facts = choices.facts
    if choices.guest_limit() == 0:
        return
    if choices.scope is not Scope.WHOLE:
        if choices.scope is Scope.OUTER:
            _outer_guests(choices)
        _host_seats(choices)
        return
    for (venue, first), sendings in choices.visitors.items():
        hosts = {s.facility for s in sendings}
        roles = {role for code in hosts for role in facts.round.facility(code).usual_team}
        for facility in facts.round.facilities:
            if choices.frame is not None and (facility.code, venue, first) not in choices.frame.guests:
                continue
            if hosts - {facility.code}:
                _lend(choices, facility, venue, first, roles)
    _host_seats(choices)


def _lend(choices: Choices, facility: Facility, venue: str, first: date, roles: Iterable[Role]) -> None:
    facts = choices.facts
    modes = facts.attendance.modes(facility, facts.round.site(venue), first)
    if not modes:
        return
    at_home = modes[0].own_site and facts.on_site_cover(facility) is not OnSiteCover.NO
    table, name = (choices.home_guest, "home_guest") if at_home else (choices.guest, "guest")
    able = [p for p in facts.round.staff_of(facility.code) if choices.free(p, first)]
    most = _most_guests(choices, venue)
    lent = []
    for role in sorted(roles):
        people = [p for p in able if role in facts.roles_of(p)]
        if not people:
            continue
        for person in people:
            key = (person.code, first, role)
            if key not in table:
                table[key] = choices.flag(f"{name}[{person.code},{first},{role}]")
        var = choices.count(min(len(people), most), f"lent[{facility.code},{venue},{first},{role}]")
        choices.lent[facility.code, venue, first, role] = var
        lent.append(var)
    if not lent:
        return
    guestings = []
    for number, mode in enumerate(modes):
        name = f"[{facility.code},{venue},{first},{number}]"
        count = choices.count(min(len(able), most), f"guests{name}")
        used = choices.flag(f"lends{name}")
        choices.model.add(count >= used)
        choices.model.add(count <= most * used)
        guestings.append(Guesting(facility.code, venue, first, mode, count, used))
    choices.model.add(sum(g.count for g in guestings) == sum(lent))
    choices.guestings += guestings


def _outer_guests(choices: Choices) -> None:
    """Make guests of the minimum roles by date alone; which venue they go to is left open in the relaxation."""
    facts = choices.facts
    for first in sorted({first for _, first in choices.visitors}):
        for person in facts.round.people:
            for role in MINIMUM_ROLES:
                if role in facts.roles_of(person) and facts.can_sit(person, first):
                    name = f"guest[{person.code},{first},{role}]"
                    table = choices.home_guest if _may_be_at_home(choices, person, first) else choices.guest
                    table[person.code, first, role] = choices.flag(name)


def _may_be_at_home(choices: Choices, person: Person, first: date) -> bool:
    facility = choices.facts.round.facility(person.facility)
    hosts = (facility.code, first) in choices.visitors
    return hosts and choices.facts.on_site_cover(facility) is not OnSiteCover.NO


def _most_guests(choices: Choices, venue: str) -> int:
    """Return the most guests that the teams of one date at a venue could hold."""
    facts = choices.facts
    stations = sum(min(c.box_models, facts.round.site(venue).stations) for c in choices.crews) + len(choices.crews)
    return stations * max(facts.most_slots, 4) * choices.guest_limit()


def _host_seats(choices: Choices) -> None:
    offered = {key[1:] for key in choices.lent}
    for sending in choices.sendings:
        facility = choices.facts.round.facility(sending.facility)
        for role, seats in choices.facts.usual_seats(facility).items():
            key = (sending.facility, sending.venue, sending.first, role)
            if key in choices.guest_seats:
                continue
            if choices.scope is Scope.WHOLE and (sending.venue, sending.first, role) not in offered:
                continue
            teams = facility.teams_wanted if sending.on_site else 1
            most = seats if sending.on_site else seats * facility.teams_wanted
            name = f"guest_seats[{','.join(str(part) for part in key)}"
            choices.guest_seats[key] = [choices.count(most, f"{name},{i}]") for i in range(teams)]
            if choices.scope is Scope.WHOLE and choices.facts.pools(role):
                choices.guests_from[key] = {
                    home: [choices.count(most, f"{name},{i},{home}]") for i in range(teams)]
                    for home in _lenders(choices, *key)
                }


def _lenders(choices: Choices, host: str, venue: str, first: date, role: Role) -> list[str]:
    return [code for code, *at in choices.lent if at == [venue, first, role] and code != host]
