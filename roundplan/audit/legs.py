"""Rule leg-feasible: driving time, breaks, set-up, pack-up, hours at the wheel, the duty day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words, day_words, duration_words
from roundplan.audit.drives import drive_words, time_faults
from roundplan.domain.clock import HOUR, MINUTE
from roundplan.domain.plan import CrewDay, Trip
from roundplan.domain.rules import Rule


def leg_feasible(book: Book) -> Iterator[Breach]:
    """Each date of each trip fits the driving limits, set-up, pack-up and the duty day."""
    for trip in book.plan.trips:
        for day in trip.days:
            found = (*_legs(book, day), *_wheel(book, trip, day), *_margins(book, day), *_duty(book, day))
            for words in found:
                full = f"{trip.code} of crew {trip.crew} on {day_words(day.date)}: {words}"
                yield Breach(Rule.LEG_FEASIBLE, full, (), day.legs[0].drive.start if day.legs else None, day.date)


def _legs(book: Book, day: CrewDay) -> Iterator[str]:
    for leg in day.legs:
        for words in time_faults(book, leg.drive):
            yield f"{drive_words(book, leg.drive)}, {words}"
    for a, b in pairwise(day.legs):
        if b.drive.depart < a.drive.arrive:
            yield f"{drive_words(book, b.drive)}, departs before the leg before it arrives"


def _wheel(book: Book, trip: Trip, day: CrewDay) -> Iterator[str]:
    drivers = book.round.crew(trip.crew).drivers
    wheel: Counter[int] = Counter()
    for leg in day.legs:
        wheel[leg.driver] += leg.drive.drive_seconds
        if not 1 <= leg.driver <= drivers:
            yield f"{drive_words(book, leg.drive)}, is driven by driver {leg.driver}; the crew has {drivers}"
    limit = book.settings.travel.wheel_hours
    for driver, seconds in wheel.items():
        if seconds > limit * HOUR:
            yield f"driver {driver} is at the wheel for {duration_words(seconds)}; the limit is {limit:g} h"


def _edges(book: Book, day: CrewDay) -> list[tuple[int, int]]:
    """Return for each session of a date when set-up must begin and pack-up is done."""
    travel = book.settings.travel
    found = []
    for code in day.sessions:
        session = book.sessions[code]
        clock = book.clock_of(session, day.date)
        set_up = travel.set_up * MINUTE if day.date == session.dates[0] else 0
        pack_up = travel.pack_up * MINUTE if day.date == session.dates[-1] else 0
        found.append((clock.start - set_up, clock.end + pack_up))
    return found


def _margins(book: Book, day: CrewDay) -> Iterator[str]:
    for code, (ready, done) in zip(day.sessions, _edges(book, day), strict=True):
        start = book.clock_of(book.sessions[code], day.date).start
        for leg in day.legs:
            drive = leg.drive
            if drive.depart < start and drive.arrive > ready:
                yield f"{drive_words(book, drive)}, arrives after {clock_words(ready)}, when set-up of {code} begins"
            if drive.depart >= start and drive.depart < done:
                yield f"{drive_words(book, drive)}, departs before {code} is packed up at {clock_words(done)}"
    rows = sorted(zip(_edges(book, day), day.sessions, strict=True))
    for ((_, done), before), ((ready, _), after) in pairwise(rows):
        if ready < done:
            yield (
                f"set-up of {after} begins at {clock_words(ready)}, before {before} is packed up at {clock_words(done)}"
            )


def _duty(book: Book, day: CrewDay) -> Iterator[str]:
    edges = _edges(book, day)
    starts = [start for start, _ in edges] + [leg.drive.depart for leg in day.legs]
    ends = [end for _, end in edges] + [leg.drive.arrive for leg in day.legs]
    limit = book.settings.travel.duty_day
    if starts and max(ends) - min(starts) > limit * HOUR:
        yield (
            f"the duty day runs from {clock_words(min(starts))} to {clock_words(max(ends))},"
            f" {duration_words(max(ends) - min(starts))}; the limit is {limit:g} h"
        )
