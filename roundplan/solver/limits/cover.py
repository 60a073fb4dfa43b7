"""Cover: that every keep-team can be filled by those who stay, at home, on site and where emergencies go."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from itertools import combinations

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY, ShiftKey
from roundplan.solver.limits.sessions import stations_most
from roundplan.solver.parts import Linear, Var

DAY, NIGHT = Shift.DAY, Shift.NIGHT


def cover_kept(choices: Choices) -> None:
    """In every touched shift those who stay can fill the keep-team at once."""
    if not choices.facts.on(Rule.COVER_KEPT):
        return
    for (code, shift), touched in choices.touched.items():
        team = choices.facts.keep_team(code, shift)
        people = choices.facts.present(code, shift)
        _stay(choices, team, people, shift, touched, {})


def _stay(
    choices: Choices,
    team: tuple[Role, ...],
    people: tuple[Person, ...],
    shift: ShiftKey,
    touched: Var,
    seated: dict[str, Linear],
) -> None:
    """State Hall's condition: for each set of roles enough people stay who can fill one of them.

    The condition is free of the touched flag where it holds with everybody home: a tight linear relaxation.
    """
    roles = sorted(set(team))
    for size in range(1, len(roles) + 1):
        for group in combinations(roles, size):
            demand = sum(role in group for role in team)
            able = [p for p in people if set(p.cover_roles) & set(group)]
            if len(able) < demand:
                choices.model.add(touched == 0)
                return
            gone = [choices.away[p.code, shift] for p in able if (p.code, shift) in choices.away]
            gone_seated = [seated[p.code] for p in able if p.code in seated]
            if gone or gone_seated:
                choices.model.add(sum(gone) + sum(gone_seated) <= len(able) - demand)


def cover_on_site(choices: Choices) -> None:
    """While one own team is seated at home, the others there and those on duty can fill the keep-team."""
    facts = choices.facts
    if not facts.on(Rule.COVER_ON_SITE):
        return
    for sending in choices.sendings:
        facility = facts.round.facility(sending.facility)
        if not sending.on_site or facts.on_site_cover(facility) is not OnSiteCover.OBSERVERS:
            continue
        for i, team in enumerate(choices.site_team[sending.facility, sending.first]):
            seated = seated_with(choices, facility, sending.first, i)
            for day in sending.mode.dates:
                shift = (day, DAY)
                _stay(choices, facts.keep_team(facility.code, shift), facts.present(facility.code, shift), shift, team,
                      seated)  # fmt: skip
        _take_turns(choices, sending.facility, sending.venue, sending.first)


def guests_at_home(choices: Choices) -> None:
    """While own people sit as guests in a team that trains at their facility, the others can fill the keep-team."""
    facts = choices.facts
    if not facts.on(Rule.COVER_ON_SITE):
        return
    for facility in facts.round.facilities:
        if facts.on_site_cover(facility) is not OnSiteCover.OBSERVERS:
            continue
        for first in sorted({f for code, f, _ in choices.home_guest if _of(choices, code, facility)}):
            lent = home_guests(choices, facility, first)
            goes = choices.goes.get((facility.code, first))
            if goes is None:
                continue
            for k in range(facts.settings.session.days_per_team):
                shift = (first + k * ONE_DAY, DAY)
                people = facts.present(facility.code, shift)
                _stay(choices, facts.keep_team(facility.code, shift), people, shift, goes, lent)


def _of(choices: Choices, person: str, facility: Facility) -> bool:
    return choices.facts.round.person(person).facility == facility.code


def home_guests(choices: Choices, facility: Facility, first: date) -> dict[str, Linear]:
    """Return who of a facility is seated at home as a guest from a date."""
    lent: dict[str, list[Var]] = defaultdict(list)
    for (code, x, _), var in choices.home_guest.items():
        if x == first and _of(choices, code, facility):
            lent[code].append(var)
    return {code: sum(seats) for code, seats in lent.items()}


def seated_with(choices: Choices, facility: Facility, first: date, i: int) -> dict[str, Linear]:
    """Return who of a facility may be seated while one of its teams simulates at home, the team itself included."""
    seated: dict[str, Linear] = {}
    if stations_most(choices, facility.code) > 1:
        seated = home_guests(choices, facility, first)
    for person in choices.facts.round.staff_of(facility.code):
        seats = [v for role in Role if (v := choices.site_seat.get((person.code, first, role, i))) is not None]
        if seats:
            seated[person.code] = sum(seats) + seated.get(person.code, 0)
    return seated


def _take_turns(choices: Choices, facility: str, venue: str, first: date) -> None:
    """Own teams at home are never seated at the same time, so their slots must follow one another."""
    facts, session = choices.facts, choices.facts.settings.session
    teams = choices.site_team[facility, first]
    if len(teams) < 2:
        return
    for k in range(session.days_per_team):
        day = first + k * ONE_DAY
        sims = facts.sims_on(first, day)
        for crew in choices.crews:
            for hold in choices.teach(crew.code, venue, day):
                need = sum(teams) * sims + session.demonstrations + session.reserve_slots
                slots = choices.clock(crew.code, venue, day).slots
                choices.model.add(need <= slots).only_enforce_if(hold, teams[1])


def cover_referral(choices: Choices) -> None:
    """The site that takes the emergencies keeps its team and one more anaesthetist and provider."""
    facts = choices.facts
    if not facts.on(Rule.COVER_REFERRAL):
        return
    more = (Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
    for (code, shift), touched in (choices.touched | choices.touched_outside).items():
        site = facts.round.facility(code).refers_to
        if site is None:
            continue
        team = facts.round.keep_team(facts.round.facility(site), shift[1]) + more
        people = facts.present(site, shift)
        roles = sorted(set(team))
        for size in range(1, len(roles) + 1):
            for group in combinations(roles, size):
                demand = sum(role in group for role in team)
                able = [p for p in people if set(p.cover_roles) & set(group)]
                gone = [choices.away[p.code, shift] for p in able if (p.code, shift) in choices.away]
                slack = len(able) - demand
                if slack < 0:
                    choices.model.add(touched == 0)
                elif len(gone) > slack:
                    choices.model.add(sum(gone) <= slack).only_enforce_if(touched)


def thin_services(choices: Choices) -> None:
    """Count the touched shifts in which a minimum role is left with fewer than two people."""
    for (code, shift), touched in choices.touched.items():
        people = choices.facts.present(code, shift)
        thin = choices.flag(f"thin[{code},{shift[0]},{shift[1]}]")
        choices.thin[code, shift] = thin
        for role in MINIMUM_ROLES:
            able = [p for p in people if role in p.cover_roles]
            gone = [choices.away[p.code, shift] for p in able if (p.code, shift) in choices.away]
            if len(able) - len(gone) < 2:
                choices.model.add(len(able) - sum(gone) + 2 * thin >= 2 * touched)
        choices.model.add_implication(thin, touched)
