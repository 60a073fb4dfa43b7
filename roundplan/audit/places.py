"""Part of rule slot-order: a person is in one place at a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, day_words
from roundplan.audit.timing import Stretch, moment
from roundplan.domain.rules import Rule


def one_place(book: Book) -> Iterator[Breach]:
    """Nobody is out for two sessions, simulates twice, or trains and teaches at one time."""
    held: dict[str, list[tuple[str, str, Stretch]]] = defaultdict(list)
    for attendee in book.attendees:
        days = book.days_of(attendee.session, attendee.team)
        at_session = (Stretch(moment(d.date, d.start), moment(d.date, d.end)) for d in days)
        for stretch in (*book.out_of_reach(attendee), *at_session):
            held[attendee.person.code].append((attendee.team.code, attendee.session.code, stretch))
    for code, stretches in held.items():
        clashes = {
            tuple(sorted((a[0], b[0])))
            for a, b in combinations(stretches, 2)
            if a[0] != b[0] and a[1] != b[1] and a[2].meets(b[2])
        }
        for first, second in sorted(clashes):
            words = f"{book.who(code)} would be out for {first} and for {second} at one time"
            yield Breach(Rule.SLOT_ORDER, words, (code,), None, book.teams[first].dates[0])
    yield from _seated_twice(book)
    yield from _teaching_and_seated(book)


def _seated_twice(book: Book) -> Iterator[Breach]:
    for a, b in combinations(book.plan.teams, 2):
        both = {seat.person for seat in a.seats} & {seat.person for seat in b.seats}
        if both and any(x.meets(y) for x in book.seated(a) for y in book.seated(b)):
            words = f"{book.names(sorted(both))} would simulate in {a.code} and {b.code} at one time"
            yield Breach(Rule.SLOT_ORDER, words, tuple(sorted(both)), None, a.dates[0])


def _teaching_and_seated(book: Book) -> Iterator[Breach]:
    teaching = {
        (book.round.trainer(code).person, row.day.date) for code, rows in book.aboard.items() for row, _ in rows
    }
    for attendee in book.attendees:
        for day in book.touched_dates(attendee):
            if (attendee.person.code, day) in teaching:
                code = attendee.person.code
                words = f"{book.who(code)} would train in {attendee.team.code} and teach on {day_words(day)}"
                yield Breach(Rule.SLOT_ORDER, words, (code,), None, day)
