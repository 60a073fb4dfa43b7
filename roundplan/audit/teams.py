"""Rules on who makes up a team: team-minimum, seat-authorised, team-mirrors-home, guest-limit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import groupby

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, roles_words
from roundplan.domain.counts import counted
from roundplan.domain.plan import Team
from roundplan.domain.role import MINIMUM_ROLES
from roundplan.domain.rules import Rule


def _label(book: Book, team: Team) -> str:
    return f"{team.code} of {book.who(team.facility)}"


def team_minimum(book: Book) -> Iterator[Breach]:
    """Each team has the three minimum roles in three different people."""
    for team in book.plan.teams:
        filled = Counter(seat.role for seat in team.seats)
        missing = [role for role in MINIMUM_ROLES if not filled[role]]
        place, day = team.facility, team.dates[0]
        if missing:
            words = f"{_label(book, team)} has nobody as {roles_words(missing)}"
            yield Breach(Rule.TEAM_MINIMUM, words, (), place, day)
            continue
        holders = {seat.person for seat in team.seats if seat.role in MINIMUM_ROLES}
        if len(holders) < len(MINIMUM_ROLES):
            number = counted(len(holders), "person")
            words = f"{_label(book, team)} has {number} in its three minimum roles: {book.names(holders)}"
            yield Breach(Rule.TEAM_MINIMUM, words, tuple(sorted(holders)), place, day)


def seat_authorised(book: Book) -> Iterator[Breach]:
    """A person sits in a role listed for them, in one seat of a team."""
    for team in book.plan.teams:
        for seat in team.seats:
            roles = book.round.person(seat.person).roles
            if seat.role not in roles:
                words = (
                    f"{book.who(seat.person)} sits as {seat.role.value} in {_label(book, team)}"
                    f" but is authorised as {roles_words(roles) or 'nothing'} only"
                )
                yield Breach(Rule.SEAT_AUTHORISED, words, (seat.person,), team.facility, team.dates[0])
        for code, times in Counter(seat.person for seat in team.seats).items():
            if times > 1:
                words = f"{book.who(code)} holds {counted(times, 'seat')} of {_label(book, team)}"
                yield Breach(Rule.SEAT_AUTHORISED, words, (code,), team.facility, team.dates[0])


def team_mirrors_home(book: Book) -> Iterator[Breach]:
    """No role beyond the usual team, at most the set number of further usual roles empty, teams as wanted."""
    most = book.settings.teams.empty_seats
    for team in book.plan.teams:
        usual = Counter(book.round.facility(team.facility).usual_team)
        filled = Counter(seat.role for seat in team.seats)
        beyond = filled - usual
        if beyond:
            words = f"{_label(book, team)} has {roles_words(beyond.elements())} beyond the usual team there"
            yield Breach(Rule.TEAM_MIRRORS_HOME, words, (), team.facility, team.dates[0])
        empty = [role for role in (usual - filled).elements() if role not in MINIMUM_ROLES or filled[role]]
        if len(empty) > most:
            seats = f"{counted(len(empty), 'usual seat')} empty: {roles_words(empty)}"
            words = f"{_label(book, team)} leaves {seats}; {most} may be"
            yield Breach(Rule.TEAM_MIRRORS_HOME, words, (), team.facility, team.dates[0])
    yield from _numbers(book)


def _numbers(book: Book) -> Iterator[Breach]:
    teams = sorted(book.plan.teams, key=lambda team: (team.facility, team.number))
    for code, group in groupby(teams, key=lambda team: team.facility):
        numbers = [team.number for team in group]
        wanted = book.round.facility(code).teams_wanted
        if len(numbers) > wanted:
            words = f"{book.who(code)} sends {counted(len(numbers), 'team')} and wants {wanted} at most"
            yield Breach(Rule.TEAM_MIRRORS_HOME, words, (), code)
        if numbers != list(range(1, len(numbers) + 1)):
            words = f"the teams of {book.who(code)} are numbered {numbers}, not 1 to {len(numbers)}"
            yield Breach(Rule.TEAM_MIRRORS_HOME, words, (), code)


def guest_limit(book: Book) -> Iterator[Breach]:
    """Guests stay within the limit and half the team, and are marked as guests."""
    settings = book.settings.teams
    for team in book.plan.teams:
        place, day = team.facility, team.dates[0]
        for seat in team.seats:
            home = book.round.person(seat.person).facility
            if seat.guest != (home != team.facility):
                is_or_not = "marked as a guest" if seat.guest else "not marked as a guest"
                words = f"{book.who(seat.person)} of {book.who(home)} is {is_or_not} in {_label(book, team)}"
                yield Breach(Rule.GUEST_LIMIT, words, (seat.person,), place, day)
        guests = [s.person for s in team.seats if book.round.person(s.person).facility != team.facility]
        if settings.guests_pooled:
            yield from _pooled(book, team)
        elif len(guests) > settings.guests:
            held = f"{counted(len(guests), 'guest')}, {book.names(guests)}"
            words = f"{_label(book, team)} has {held}; the limit is {settings.guests}"
            yield Breach(Rule.GUEST_LIMIT, words, tuple(guests), place, day)
        elif 2 * len(guests) > len(team.seats):
            held = f"{counted(len(guests), 'guest')} in {counted(len(team.seats), 'seat')}"
            words = f"{_label(book, team)} has {held}, more than half"
            yield Breach(Rule.GUEST_LIMIT, words, tuple(guests), place, day)


def _pooled(book: Book, team: Team) -> Iterator[Breach]:
    seats = Counter(book.round.person(s.person).facility for s in team.seats if s.role in MINIMUM_ROLES)
    if not seats:
        return
    credited = min(seats, key=lambda code: (-seats[code], code))
    if credited != team.facility:
        words = (
            f"{_label(book, team)} belongs to {book.who(credited)}, which fills {seats[credited]} of its minimum seats"
        )
        yield Breach(Rule.GUEST_LIMIT, words, (), team.facility, team.dates[0])
