"""Rule day-fits: the parts of a session's day, one after the other within the teaching window."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words, day_words
from roundplan.audit.timing import ONE_DAY, Stretch
from roundplan.domain.clock import HOUR, MINUTE
from roundplan.domain.counts import counted
from roundplan.domain.plan import Session, SessionDay, SlotKind
from roundplan.domain.rules import Rule

NOON = 12 * HOUR
LUNCH_FROM, LUNCH_TO = 11 * HOUR, 14 * HOUR


def day_fits(book: Book) -> Iterator[Breach]:
    """Each date of each session holds opening, slots, lunch, pauses, closing and reserve within the window."""
    for session in book.plan.sessions:
        yield from _dates(book, session)
        for day in session.days:
            where = f"{session.code} at {book.who(session.venue)} on {day_words(day.date)}"
            for words in (*_window(book, day), *_slots(book, session, day), *_pauses(book, session, day)):
                yield Breach(Rule.DAY_FITS, f"{where}: {words}", (), session.venue, day.date)
            for words in _reserve(book, session, day):
                yield Breach(Rule.DAY_FITS, f"{where}: {words}", (), session.venue, day.date)


def _dates(book: Book, session: Session) -> Iterator[Breach]:
    settings = book.settings.session
    if len(session.days) != settings.days:
        words = f"{session.code} lasts {counted(len(session.days), 'date')}; a session lasts {settings.days}"
        yield Breach(Rule.DAY_FITS, words, (), session.venue, session.dates[0])
    for a, b in pairwise(session.dates):
        if b != a + ONE_DAY:
            words = f"the dates of {session.code} are not consecutive: {day_words(a)}, then {day_words(b)}"
            yield Breach(Rule.DAY_FITS, words, (), session.venue, b)


def _window(book: Book, day: SessionDay) -> Iterator[str]:
    settings = book.settings.session
    if day.start < settings.teach_from:
        yield f"it starts at {clock_words(day.start)}, before {clock_words(settings.teach_from)}"
    if day.end > settings.teach_to:
        yield f"it ends at {clock_words(day.end)}, after {clock_words(settings.teach_to)}"


def _slots(book: Book, session: Session, day: SessionDay) -> Iterator[str]:
    settings = book.settings.session
    opened = day.start + settings.opening * MINUTE
    closing = day.end - settings.closing * MINUTE
    if opened > closing:
        yield "opening and closing overlap"
    for slot in session.slots:
        if slot.date != day.date:
            continue
        name = f"slot {slot.number} of station {slot.station}"
        if slot.end - slot.start != settings.slot_seconds:
            lasts = counted((slot.end - slot.start) / MINUTE, "minute")
            yield f"{name} lasts {lasts}; brief, simulation, debrief and reset take {settings.slot_seconds // MINUTE}"
        if slot.start < opened:
            yield f"{name} starts at {clock_words(slot.start)}, before the opening is over at {clock_words(opened)}"
        if slot.end > closing:
            yield f"{name} ends at {clock_words(slot.end)}, after the closing begins at {clock_words(closing)}"
        for pause in day.pauses:
            if Stretch(slot.start, slot.end).meets(Stretch(pause.start, pause.end)):
                yield f"{name} runs into the {pause.kind} at {clock_words(pause.start)}"


def _pauses(book: Book, session: Session, day: SessionDay) -> Iterator[str]:
    settings = book.settings.session
    listed = {(pause.start, pause.end) for pause in day.pauses}
    for first, last in settings.pause:
        if Stretch(first, last).meets(Stretch(day.start, day.end)) and (first, last) not in listed:
            yield f"the set pause {clock_words(first)}–{clock_words(last)} is not kept"
    if settings.lunch and day.start < NOON < day.end:
        lunches = [
            p
            for p in day.pauses
            if p.kind == "lunch" and LUNCH_FROM <= p.start <= LUNCH_TO and p.end - p.start >= settings.lunch * MINUTE
        ]
        if not lunches:
            lunch = counted(settings.lunch, "minute")
            yield f"it spans noon without a lunch of {lunch} that begins between 11:00 and 14:00"
    for a, b in pairwise(sorted(day.pauses, key=lambda p: p.start)):
        if b.start < a.end:
            yield f"{a.kind} and {b.kind} overlap at {clock_words(b.start)}"
    yield from _room_for_both_ends(book, session, day)


def _room_for_both_ends(book: Book, session: Session, day: SessionDay) -> Iterator[str]:
    """Opening and closing need their full length free of pauses, before the first and after the last slot."""
    settings = book.settings.session
    slots = [slot for slot in session.slots if slot.date == day.date]
    first = min((slot.start for slot in slots), default=day.end)
    last = max((slot.end for slot in slots), default=day.start)
    for name, wanted, start, end in (
        ("opening", settings.opening, day.start, first),
        ("closing", settings.closing, last, day.end),
    ):
        longest, clock = 0, start
        for pause in sorted(day.pauses, key=lambda p: p.start):
            if Stretch(start, end).meets(Stretch(pause.start, pause.end)):
                longest = max(longest, pause.start - clock)
                clock = max(clock, pause.end)
        if max(longest, end - clock) < wanted * MINUTE:
            yield f"the {name} has no {counted(wanted, 'minute')} free of slots and pauses"


def _reserve(book: Book, session: Session, day: SessionDay) -> Iterator[str]:
    wanted = book.settings.session.reserve_slots
    teams = book.teams_at(session, day.date)
    for station in session.stations:
        number = sum(team.station == station.number for team in teams)
        slots = [s for s in session.slots if s.date == day.date and s.station == station.number]
        reserve = [s for s in slots if s.kind is SlotKind.RESERVE]
        if number > 1 and len(reserve) < wanted:
            kept = counted(len(reserve), "reserve slot")
            yield f"station {station.number} has {counted(number, 'team')} and {kept}, not {wanted}"
        used = [s.start for s in slots if s.kind is not SlotKind.RESERVE]
        if reserve and used and min(s.start for s in reserve) < max(used):
            yield f"station {station.number} has a reserve slot before its last simulation"
