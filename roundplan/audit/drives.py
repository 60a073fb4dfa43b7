"""Drives against the road table: time at the wheel, breaks, length, crossing hours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roundplan.audit.book import Book
from roundplan.audit.breach import clock_words, day_words, duration_words
from roundplan.audit.timing import break_seconds
from roundplan.domain.clock import HOUR
from roundplan.domain.plan import Drive
from roundplan.domain.settings import TravelSettings
from roundplan.travel.network import Way

KM_TOLERANCE = 0.001


@dataclass(frozen=True, slots=True)
class Journey:
    """A drive with whose it is."""

    drive: Drive
    whose: str
    by_crew: bool
    people: tuple[str, ...] = ()


def journeys(book: Book) -> Iterator[Journey]:
    """Yield every drive of the plan, participants' first."""
    for team in book.plan.teams:
        for outing in team.outings:
            for drive in outing.drives:
                yield Journey(drive, f"{team.code}, people of {book.who(outing.facility)}", False, outing.people)
    for trip in book.plan.trips:
        for day in trip.days:
            for leg in day.legs:
                yield Journey(leg.drive, f"{trip.code} of crew {trip.crew}", True)


def drive_words(book: Book, drive: Drive) -> str:
    """Return from where to where a drive goes, and when."""
    times = f"{clock_words(drive.depart)}–{clock_words(drive.arrive)}"
    return f"{book.who(drive.start)} to {book.who(drive.end)} on {day_words(drive.date)}, {times}"


def way_of(book: Book, drive: Drive) -> Way | None:
    """Return the way that a drive takes, by its time at the wheel and length; None if no way is like it."""
    ways = book.network.ways(drive.start, drive.end, drive.date)
    same = [way for way in ways if way.seconds == drive.drive_seconds and abs(way.km - drive.km) <= KM_TOLERANCE]
    return next((way for way in same if way.via == drive.via), same[0] if same else None)


def time_faults(book: Book, drive: Drive) -> Iterator[str]:
    """Yield what is wrong with a drive's length, times and breaks."""
    ways = book.network.ways(drive.start, drive.end, drive.date)
    way = way_of(book, drive)
    if ways and way is None:
        known = " or ".join(f"{duration_words(w.seconds)} for {w.km:g} km" for w in ways)
        yield f"is entered as {duration_words(drive.drive_seconds)} for {drive.km:g} km; by the roads it is {known}"
    if way is not None and (way.source, way.via) != (drive.source, drive.via):
        yield f"is entered as {drive.source} by {list(drive.via)}; by the roads it is {way.source} by {list(way.via)}"
    if way is not None and abs(way.factor - drive.factor) > 1e-6:
        yield f"is entered with the road-time factor {drive.factor:g}; it is {way.factor:g}"
    breaks = break_seconds(drive.drive_seconds, book.settings.travel)
    if drive.break_seconds != breaks:
        yield f"has breaks of {duration_words(drive.break_seconds)}; {duration_words(breaks)} are due"
    if drive.arrive != drive.depart + drive.drive_seconds + drive.break_seconds:
        yield (
            f"lasts {duration_words(drive.arrive - drive.depart)} by its times; wheel and breaks come to"
            f" {duration_words(drive.drive_seconds + drive.break_seconds)}"
        )


def gate_faults(book: Book, drive: Drive) -> Iterator[str]:
    """Yield the crossings that a drive does not meet within their hours."""
    way = way_of(book, drive)
    for gate in way.gates if way is not None else ():
        enter = drive.depart + _passed(gate.enter_after, book.settings.travel, before=False)
        leave = drive.depart + _passed(gate.leave_after, book.settings.travel, before=True)
        if enter < gate.open_from or leave > gate.open_to:
            yield (
                f"is at a crossing from {clock_words(enter)} to {clock_words(leave)};"
                f" it works from {clock_words(gate.open_from)} to {clock_words(gate.open_to)}"
            )


def _passed(wheel: int, travel: TravelSettings, *, before: bool) -> int:
    """Return the clock time after so much driving; a break due just then counts or does not (``before``)."""
    every = int(travel.break_every * HOUR)
    just_due = every > 0 and wheel > 0 and wheel % every == 0 and not before
    return wheel + break_seconds(wheel + just_due, travel)
