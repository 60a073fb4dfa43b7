"""Rule crew-in-one-place: an unbroken path from base to base, nights where there is lodging."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words, day_words
from roundplan.audit.drives import drive_words
from roundplan.audit.lodging import beds_short
from roundplan.audit.timing import ONE_DAY
from roundplan.domain.counts import counted
from roundplan.domain.plan import CrewDay, Drive, Session, Trip
from roundplan.domain.rules import Rule

RULE = Rule.CREW_IN_ONE_PLACE


def crew_in_one_place(book: Book) -> Iterator[Breach]:
    """A crew's legs, sessions and nights hang together on every date."""
    for trip in book.plan.trips:
        for words, place, day in (*_calendar(book, trip), *_path(book, trip)):
            yield Breach(RULE, f"{trip.code} of crew {trip.crew}: {words}", (), place, day)
    yield from _sessions(book)
    for words, site, night in beds_short(book, participants=False):
        yield Breach(RULE, words, (), site, night)


def _calendar(book: Book, trip: Trip) -> Iterator[tuple[str, str, date]]:
    crew = book.round.crew(trip.crew)
    for a, b in pairwise(trip.days):
        if b.date != a.date + ONE_DAY:
            yield f"its dates jump from {day_words(a.date)} to {day_words(b.date)}", crew.base, b.date
    for day in trip.days:
        early = crew.available_from is not None and day.date < crew.available_from
        late = crew.available_to is not None and day.date > crew.available_to
        if early or late or book.round.on_leave(crew.code, day.date):
            yield f"the crew is not available on {day_words(day.date)}", crew.base, day.date
        for other in book.plan.trips:
            if other.crew == trip.crew and other.code > trip.code and any(d.date == day.date for d in other.days):
                yield f"it is on {other.code} too on {day_words(day.date)}", crew.base, day.date


def _path(book: Book, trip: Trip) -> Iterator[tuple[str, str, date]]:
    base = book.round.crew(trip.crew).base
    at = base
    for index, day in enumerate(trip.days):
        last = index == len(trip.days) - 1
        for words in _order(book, day):
            yield words, at, day.date
        for words, now_at in _moves(book, day, at):
            at = now_at
            if words:
                yield words, at, day.date
        if last:
            if day.night is not None or not book.near(at, base):
                yield f"it ends on {day_words(day.date)} at {book.who(day.night or at)}, not at its base", at, day.date
            continue
        if day.night is None:
            yield f"it has no place to sleep on {day_words(day.date)}", at, day.date
            continue
        if not book.near(at, day.night):
            words = f"it sleeps at {book.who(day.night)} on {day_words(day.date)} but is at {book.who(at)}"
            yield words, day.night, day.date
        if not book.round.site(day.night).has_lodging:
            yield f"it sleeps on {day_words(day.date)} at {book.who(day.night)}, which has no lodging", at, day.date
        if day.night == base:
            yield f"it is back at its base on {day_words(day.date)} and yet goes on", base, day.date
        at = day.night


def _order(book: Book, day: CrewDay) -> Iterator[str]:
    """Yield, where several sessions of a date do not stand in the order in which they are taught, that they do not."""
    starts = [book.clock_of(book.sessions[code], day.date).start for code in day.sessions]
    if starts != sorted(starts):
        yield f"it lists {' and '.join(day.sessions)} on {day_words(day.date)} out of the order of time"


def _moves(book: Book, day: CrewDay, at: str) -> Iterator[tuple[str, str]]:
    """Yield what does not join, in words (empty where it does), and where the crew is then."""
    yield "", at
    events: list[tuple[int, int, Drive | Session]] = [
        (leg.drive.depart, leg.drive.arrive, leg.drive) for leg in day.legs
    ]
    for code in day.sessions:
        clock = book.clock_of(book.sessions[code], day.date)
        events.append((clock.start, clock.end, book.sessions[code]))
    events.sort(key=lambda event: event[:2])
    for index, (start, _, what) in enumerate(events):
        before = events[index - 1] if index else None
        if before is not None and start < before[1] and isinstance(what, Session) != isinstance(before[2], Session):
            yield f"it drives and teaches at one time, {clock_words(start)} on {day_words(day.date)}", at
        if isinstance(what, Session):
            words = "" if book.near(at, what.venue) else f"it is at {book.who(at)} when {what.code} starts elsewhere"
            at = what.venue
        else:
            words = (
                ""
                if book.near(at, what.start)
                else f"it is at {book.who(at)}, not where {drive_words(book, what)} starts"
            )
            at = what.end
        yield words, at


def _sessions(book: Book) -> Iterator[Breach]:
    taught: Counter[tuple[str, str, date]] = Counter()
    by_date: dict[tuple[str, date], list[Session]] = defaultdict(list)
    for trip in book.plan.trips:
        for crew_day in trip.days:
            for code in crew_day.sessions:
                taught[code, trip.crew, crew_day.date] += 1
    for session in book.plan.sessions:
        for crew in session.crews:
            for day in session.dates:
                by_date[crew, day].append(session)
                times = taught[session.code, crew, day]
                if times != 1:
                    trips = f"{counted(times, 'trip')} of crew {crew}"
                    words = f"{session.code} on {day_words(day)} stands in {trips}, not in one"
                    yield Breach(RULE, words, (), session.venue, day)
    for (crew, day), sessions in by_date.items():
        if len(sessions) > 1 and not book.settings.session.shares_days:
            words = f"crew {crew} has {' and '.join(s.code for s in sessions)} on {day_words(day)}"
            yield Breach(RULE, words, (), sessions[0].venue, day)
        clocks = sorted((book.clock_of(s, day) for s in sessions), key=lambda c: c.start)
        if any(b.start < a.end for a, b in pairwise(clocks)):
            words = f"crew {crew} teaches {' and '.join(s.code for s in sessions)} at one time on {day_words(day)}"
            yield Breach(RULE, words, (), sessions[0].venue, day)
