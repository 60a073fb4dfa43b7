"""Rule trainer-limits: dates, crews, where trainers join and leave, nights away, days in a row, weekends."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from roundplan.audit.book import Book, TripDay
from roundplan.audit.breach import Breach, day_words
from roundplan.audit.timing import ONE_DAY
from roundplan.domain.plan import Aboard, Trip
from roundplan.domain.role import DutyKind, Weekend
from roundplan.domain.rules import Rule
from roundplan.domain.trainer import Trainer

Rows = tuple[tuple[TripDay, Aboard], ...]
Fault = tuple[str, str | None, date]


def trainer_limits(book: Book) -> Iterator[Breach]:
    """Each trainer works within their dates, places, nights away and days in a row; weekends are as set."""
    for code, rows in book.aboard.items():
        trainer = book.round.trainer(code)
        faults = (*_dates(book, trainer, rows), *_joining(book, trainer, rows), *_rows(book, trainer, rows))
        for words, place, day in faults:
            yield Breach(Rule.TRAINER_LIMITS, f"{book.who(code)} {words}", (code,), place, day)
    for trip in book.plan.trips:
        for words, place, day in _weekend(book, trip):
            yield Breach(Rule.TRAINER_LIMITS, f"{trip.code} of crew {trip.crew} {words}", (), place, day)


def _dates(book: Book, trainer: Trainer, rows: Rows) -> Iterator[Fault]:
    for row, _ in rows:
        day, crew = row.day.date, row.trip.crew
        early = trainer.available_from is not None and day < trainer.available_from
        late = trainer.available_to is not None and day > trainer.available_to
        if early or late or book.round.on_leave(trainer.code, day):
            yield f"is with crew {crew} on {day_words(day)} but not available then", None, day
        if trainer.crew is not None and trainer.crew != crew:
            yield f"is with crew {crew} on {day_words(day)} but may join crew {trainer.crew} only", None, day
        yield from _as_staff(book, trainer, day)
    for (a, _), (b, _) in pairwise(rows):
        if a.day.date == b.day.date:
            yield f"is on {a.trip.code} and {b.trip.code} on {day_words(a.day.date)}", None, a.day.date


def _as_staff(book: Book, trainer: Trainer, day: date) -> Iterator[Fault]:
    if trainer.person is None:
        return
    home = book.round.person(trainer.person).facility
    if book.round.on_leave(trainer.person, day):
        yield f"teaches on {day_words(day)} while on leave from {book.who(home)}", home, day
    for on in (day - ONE_DAY, day):
        if any(duty.kind is DutyKind.NIGHT for duty in book.round.duties_on(trainer.person, on)):
            yield f"teaches on {day_words(day)} and has a night duty at {book.who(home)} on {day_words(on)}", home, day


def _places(book: Book, row: TripDay) -> tuple[str, tuple[str, ...], str]:
    """Return where a crew is in the morning, at which venues, and where in the evening."""
    days = row.trip.days
    index = days.index(row.day)
    base = book.round.crew(row.trip.crew).base
    morning = base if index == 0 else days[index - 1].night or base
    venues = tuple(book.sessions[code].venue for code in row.day.sessions)
    return morning, venues, row.day.night or base


def _stays(rows: Rows, index: int) -> bool:
    """Whether a trainer stays with the crew from one date to the next."""
    row, entry = rows[index]
    if index + 1 == len(rows) or entry.leaves_at is not None:
        return False
    after, later = rows[index + 1]
    together = after.trip.code == row.trip.code and after.day.date == row.day.date + ONE_DAY
    return together and later.joins_at is None


def _joining(book: Book, trainer: Trainer, rows: Rows) -> Iterator[Fault]:
    for index, (row, entry) in enumerate(rows):
        day = row.day.date
        base = book.round.crew(row.trip.crew).base
        morning, venues, evening = _places(book, row)
        begins = index == 0 or not _stays(rows, index - 1)
        ends = not _stays(rows, index)
        for applies, verb, at, spots in (
            (begins, "joins", entry.joins_at, (morning, *(venues[:1] or (evening,)))),
            (ends, "leaves", entry.leaves_at, (*(venues[-1:] or (morning,)), evening)),
        ):
            if not applies:
                continue
            if at is None:
                yield f"{verb} {row.trip.code} on {day_words(day)} at no place", None, day
            elif not (book.near(at, trainer.lives_at) or book.near(at, base)):
                words = (
                    f"{verb} {row.trip.code} on {day_words(day)} at {book.who(at)}, neither home nor the crew's base"
                )
                yield words, at, day
            elif not any(book.near(at, spot) for spot in spots):
                yield (
                    f"{verb} {row.trip.code} on {day_words(day)} at {book.who(at)}, where the crew is not then",
                    at,
                    day,
                )


def _longest(days: list[date]) -> tuple[int, date | None]:
    """Return the longest run of consecutive dates and its last date."""
    best, last, run = 0, None, 0
    for index, day in enumerate(days):
        run = run + 1 if index and days[index - 1] + ONE_DAY == day else 1
        if run > best:
            best, last = run, day
    return best, last


def _rows(book: Book, trainer: Trainer, rows: Rows) -> Iterator[Fault]:
    settings = book.settings.trainers
    nights, work = set(), set()
    for index, (row, _) in enumerate(rows):
        night = row.day.night
        if night is not None and _stays(rows, index) and not book.near(trainer.lives_at, night):
            nights.add(row.day.date)
        if row.day.sessions or row.day.legs:
            work.add(row.day.date)
    limit = settings.nights_limit if trainer.nights_away_limit is None else trainer.nights_away_limit
    for days, most, what in ((nights, limit, "nights away"), (work, settings.days_in_a_row, "working days")):
        longest, last = _longest(sorted(days))
        if last is not None and longest > most:
            yield f"has {longest} {what} in a row up to {day_words(last)}; the limit is {most}", None, last


def _weekend(book: Book, trip: Trip) -> Iterator[Fault]:
    weekend = book.settings.trainers.weekend
    for day in trip.days:
        if weekend is Weekend.EITHER or not book.calendar.is_rest_day(day.date):
            continue
        if weekend is Weekend.AWAY and day.legs:
            yield f"drives on {day_words(day.date)}, a rest day", day.night, day.date
        if weekend is Weekend.HOME and (day.night is not None or day.legs or day.sessions):
            yield f"is out on {day_words(day.date)}, a rest day to be spent at home", day.night, day.date
