"""Variables of teams: how many each facility sends to which session, and who may sit in them."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.role import OnSiteCover, Role
from roundplan.solver.parts import Sending

if TYPE_CHECKING:
    from roundplan.solver.choices import Choices


def make_sendings(choices: Choices) -> None:
    """Make the teams that facilities may send, by session and way to attend."""
    facts = choices.facts
    for facility_code, venue, first in choices.visits():
        modes = facts.visiting.modes(facility_code, venue, first)
        if not any((venue, s) in choices.session for s in facts.starts_of(venue, first)):
            continue
        facility = facts.round.facility(facility_code)
        for number, mode in enumerate(modes):
            name = f"[{facility_code},{venue},{first},{number}]"
            most = facility.teams_wanted
            if most == 0:
                continue
            teams = choices.count(most, f"teams{name}") if most > 1 else choices.flag(f"teams{name}")
            used = choices.flag(f"sends{name}") if most > 1 else teams
            if most > 1:
                choices.model.add(teams >= used)
                choices.model.add(teams <= most * used)
            people = choices.count(most * len(facility.usual_team), f"people{name}")
            on_site = mode.own_site and facts.on_site_cover(facility) is not OnSiteCover.NO
            choices.sendings.append(Sending(facility_code, venue, first, mode, teams, used, people, on_site))
    for sending in choices.sendings:
        if not sending.on_site:
            choices.cohorts[sending.facility, sending.first].append(sending)
        choices.visitors[sending.venue, sending.first].append(sending)


def make_seats(choices: Choices) -> None:
    """Make the seats that a facility's own people may take."""
    for facility_code, first in choices.cohorts:
        for person, role in _able(choices, choices.facts.round.facility(facility_code), first):
            choices.seat[person.code, first, role] = choices.flag(f"seat[{person.code},{first},{role}]")
    for sending in choices.sendings:
        if sending.on_site:
            _site_seats(choices, sending)


def _site_seats(choices: Choices, sending: Sending) -> None:
    """Make seats team by team for a session at home, where who sits in which team decides the cover."""
    facility = choices.facts.round.facility(sending.facility)
    key = (sending.facility, sending.first)
    teams = [choices.flag(f"home_team[{key[0]},{key[1]},{i}]") for i in range(facility.teams_wanted)]
    choices.site_team[key] = teams
    choices.model.add(sum(teams) == sending.teams)
    for earlier, later in pairwise(teams):
        choices.model.add(earlier >= later)
    for person, role in _able(choices, facility, sending.first):
        for i in range(len(teams)):
            name = f"home_seat[{person.code},{sending.first},{role},{i}]"
            choices.site_seat[person.code, sending.first, role, i] = choices.flag(name)


def _able(choices: Choices, facility: Facility, first: date) -> list[tuple[Person, Role]]:
    facts = choices.facts
    usual = facts.usual_seats(facility)
    return [
        (person, role)
        for person in facts.round.staff_of(facility.code)
        if choices.free(person, first)
        for role in facts.roles_of(person)
        if role in usual
    ]
