"""Rules on every journey: daylight and road-open."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words
from roundplan.audit.drives import drive_words, gate_faults, journeys
from roundplan.domain.clock import MINUTE
from roundplan.domain.rules import Rule

SHORT_DRIVE = 15 * MINUTE


def daylight(book: Book) -> Iterator[Breach]:
    """Every journey starts after sunrise and ends the margin before sunset; a short one by sunset."""
    travel = book.settings.travel
    if not travel.daylight:
        return
    for journey in journeys(book):
        drive = journey.drive
        sunrise = book.daylight.sunrise(drive.start, drive.date)
        sunset = book.daylight.sunset(drive.end, drive.date)
        short = drive.drive_seconds <= SHORT_DRIVE
        margin = travel.crew_margin if journey.by_crew else travel.participant_margin
        latest = sunset if short else sunset - margin * MINUTE
        faults = []
        if drive.depart < sunrise and not short:
            faults.append(f"departs before sunrise at {clock_words(sunrise)}")
        if drive.arrive > latest:
            faults.append(f"arrives after {clock_words(latest)}; the sun sets at {clock_words(sunset)}")
        for words in faults:
            full = f"{journey.whose}: {drive_words(book, drive)}, {words}"
            yield Breach(Rule.DAYLIGHT, full, journey.people, drive.start, drive.date)


def road_open(book: Book) -> Iterator[Breach]:
    """No journey where no road is open, nor out of a crossing's hours."""
    for journey in journeys(book):
        drive = journey.drive
        faults = list(gate_faults(book, drive))
        if not book.network.ways(drive.start, drive.end, drive.date):
            faults.append("has no open road that date")
        for words in faults:
            full = f"{journey.whose}: {drive_words(book, drive)}, {words}"
            yield Breach(Rule.ROAD_OPEN, full, journey.people, drive.start, drive.date)
