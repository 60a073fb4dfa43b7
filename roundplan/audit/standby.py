"""Whether each named standby could take the seat: free, authorised, and cover holds with both away."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.audit.book import Attendee, Book
from roundplan.audit.breach import Breach, day_words, roles_words, shift_words
from roundplan.audit.matching import unfilled
from roundplan.audit.timing import ShiftKey
from roundplan.domain.person import Person
from roundplan.domain.presence import seat_obstacle
from roundplan.domain.role import Include, OnSiteCover
from roundplan.domain.rules import Rule


def standby_free(book: Book) -> Iterator[Breach]:
    """Each standby is authorised, of the holder's facility, allowed, and not taken otherwise on any touched date."""
    for attendee in book.attendees:
        code = attendee.seat.standby
        if code is None:
            continue
        person = book.round.person(code)
        for words in _obstacles(book, attendee, person):
            full = f"{book.who(code)}, standby for {book.who(attendee.person.code)} in {attendee.team.code}, {words}"
            day = attendee.team.dates[0]
            yield Breach(Rule.STAFF_AVAILABLE, full, (code, attendee.person.code), attendee.person.facility, day)


def _obstacles(book: Book, attendee: Attendee, person: Person) -> Iterator[str]:
    role = attendee.seat.role
    if role not in person.roles:
        yield f"is not authorised as {role.value}"
    if person.include is Include.NO:
        yield "is marked 'no'"
    same = [a for a in book.attendees if a.person.code == person.code]
    if any(a.session.code == attendee.session.code for a in same):
        yield f"is seated in {attendee.session.code} already"
    busy = {day for a in same for day in book.touched_dates(a)} | _teaching(book, person.code)
    for day in book.touched_dates(attendee):
        if day in busy:
            yield f"is taken by the round on {day_words(day)}"
        obstacle = seat_obstacle(book.round, person, day)
        if obstacle is not None and (day in attendee.team.dates or obstacle in _KEEPS_HOME):
            yield f"cannot come on {day_words(day)}: {obstacle}"


_KEEPS_HOME = frozenset(
    {"on leave", "on night duty that date", "on night duty the night before", "lent to another facility"}
)


def _teaching(book: Book, person: str) -> set[date]:
    codes = [trainer.code for trainer in book.round.trainers if trainer.person == person]
    return {row.day.date for code in codes for row, _ in book.aboard.get(code, ())}


def standby_cover(book: Book) -> Iterator[Breach]:
    """Cover holds at the holder's facility in each touched shift with holder and standby both away."""
    for attendee in book.attendees:
        code = attendee.seat.standby
        if code is None:
            continue
        for key in sorted(touched_shifts(book, attendee)):
            facility = attendee.person.facility
            keep = book.round.keep_team(book.round.facility(facility), key[1])
            gone = (code, attendee.person.code)
            open_roles = unfilled(keep, book.at_hand(facility, key), gone)
            if open_roles:
                words = (
                    f"with {book.who(attendee.person.code)} and the standby {book.who(code)} both away,"
                    f" {book.who(facility)} has nobody left as {roles_words(open_roles)} {shift_words(*key)}"
                )
                yield Breach(Rule.COVER_KEPT, words, gone, facility, key[0])


def touched_shifts(book: Book, attendee: Attendee) -> set[ShiftKey]:
    """Return the shifts of the own facility in which a seat keeps its holder from counting as cover."""
    stretches = book.as_away(attendee)
    if attendee.counts is not OnSiteCover.NO:
        stretches = book.seated(attendee.team)
    return {key for stretch in stretches for key in stretch.shifts(book.settings.cover)}
