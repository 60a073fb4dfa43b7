"""Rules on venues: venue-capacity, venue-open, theatre-free."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import combinations

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words, day_words
from roundplan.domain.counts import counted
from roundplan.domain.facility import Facility
from roundplan.domain.plan import Session
from roundplan.domain.role import SessionRoom
from roundplan.domain.rules import Rule

RULE = Rule.VENUE_CAPACITY


def venue_capacity(book: Book) -> Iterator[Breach]:
    """Stations, learners, bodies and sessions stay within what the venue takes."""
    for session in book.plan.sessions:
        venue = book.round.site(session.venue)
        if len(session.stations) > venue.stations:
            words = (
                f"{session.code} has {counted(len(session.stations), 'station')} at {book.who(venue.code)},"
                f" which hosts {venue.stations}"
            )
            yield Breach(RULE, words, (), venue.code, session.dates[0])
        if not session.stations:
            words = f"{session.code} at {book.who(venue.code)} has no station"
            yield Breach(RULE, words, (), venue.code, session.dates[0])
        for day in session.dates:
            yield from _heads(book, session, day)
    yield from _one_at_a_time(book)


def _heads(book: Book, session: Session, day: date) -> Iterator[Breach]:
    settings, stations = book.settings.session, len(session.stations)
    learners = sum(
        max(len(book.round.facility(team.facility).usual_team), len(team.seats)) for team in book.teams_at(session, day)
    )
    where = f"{session.code} at {book.who(session.venue)} on {day_words(day)}"
    most = settings.learners_per_station * stations
    if learners > most:
        words = f"{where} has {learners} learners' seats; for {counted(stations, 'station')} {most} is the most"
        yield Breach(RULE, words, (), session.venue, day)
    trainers = len({code for crew in session.crews for code in book.aboard_on(crew, day)})
    bodies = learners + trainers + settings.volunteers_per_station * stations
    limit = book.round.site(session.venue).room_limit
    room = settings.room_limit * stations if limit is None else limit
    if bodies > room:
        words = f"{where} has {counted(bodies, 'person')} in the room (learners, trainers, volunteers); it takes {room}"
        yield Breach(RULE, words, (), session.venue, day)


def _one_at_a_time(book: Book) -> Iterator[Breach]:
    held: dict[tuple[str, date], list[Session]] = defaultdict(list)
    for session in book.plan.sessions:
        for day in session.dates:
            held[session.venue, day].append(session)
    for (venue, day), sessions in held.items():
        for a, b in combinations(sessions, 2):
            first, second = book.clock_of(a, day), book.clock_of(b, day)
            apart = first.end <= second.start or second.end <= first.start
            if not (book.settings.session.shares_days and apart):
                words = (
                    f"{a.code} ({clock_words(first.start)}–{clock_words(first.end)}) and {b.code}"
                    f" ({clock_words(second.start)}–{clock_words(second.end)}) are both at {book.who(venue)}"
                    f" on {day_words(day)}"
                )
                yield Breach(RULE, words, (), venue, day)


def venue_open(book: Book) -> Iterator[Breach]:
    """No session on holidays, rest days, closed days or outside the round."""
    for session in book.plan.sessions:
        for day in session.dates:
            reason = _closed(book, session.venue, day)
            if reason:
                words = f"{session.code} is at {book.who(session.venue)} on {day_words(day)}, {reason}"
                yield Breach(Rule.VENUE_OPEN, words, (), session.venue, day)


def _closed(book: Book, venue: str, day: date) -> str | None:
    settings = book.settings.round
    if day not in settings.window:
        return "outside the round"
    holiday = book.calendar.holiday(day)
    if holiday is not None:
        return f"a public holiday ({holiday})"
    if day.weekday() not in settings.working_days:
        return "a rest day"
    if day in settings.closed_days:
        return "a closed day of the round"
    return "a closed day of the venue" if day in book.round.site(venue).closed_days else None


def theatre_free(book: Book) -> Iterator[Breach]:
    """No session in a facility's only working theatre."""
    for session in book.plan.sessions:
        venue = book.round.site(session.venue)
        if isinstance(venue, Facility) and venue.session_room is SessionRoom.ONLY_THEATRE:
            words = f"{session.code} is in the only working theatre of {book.who(venue.code)}"
            yield Breach(Rule.THEATRE_FREE, words, (), venue.code, session.dates[0])
