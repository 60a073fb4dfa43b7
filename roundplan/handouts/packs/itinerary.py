"""A trip leg by leg: when to leave and arrive, on what road, with how much daylight left, where to sleep."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.crew import Crew
from roundplan.domain.plan import Aboard, CrewDay, Leg, Trip
from roundplan.handouts.drive_facts import break_starts, crossing_hours, latest_start
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.pdf.blocks import Block, Cell, Grid, Heading, Lines, Strong, Together, Wide
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.crew_page import end_line
from roundplan.handouts.road.joining import join_lines, leave_lines
from roundplan.handouts.road.travel_days import (
    aboard_lines,
    latest_words,
    night_line,
    session_line,
    shared_day,
    source_words,
    trip_title,
)
from roundplan.handouts.speech import say
from roundplan.handouts.words import arrival, capital, clock, clock_span, day_date, duration, kilometres, list_words


def trainer_trip(binder: Binder, trip: Trip, days: list[tuple[CrewDay, Aboard]]) -> Iterator[Block]:
    """Yield a trip as one trainer travels it: from where they join to where they leave."""
    index = binder.index
    yield Heading(trip_title(index, trip), 1)
    for day, aboard in days:
        shared = shared_day(index, day, aboard)
        after = [] if aboard.leaves_at else list(night_line(index, day))
        yield _date(binder, trip, shared, [*join_lines(index, day, aboard)], [*leave_lines(index, day, aboard), *after])


def crew_trip(binder: Binder, trip: Trip) -> Iterator[Block]:
    """Yield a trip as the vehicle travels it."""
    index = binder.index
    vehicle = index.training_round.crew(trip.crew)
    yield Heading(trip_title(index, trip), 1)
    for day in trip.days:
        ends = end_line(index, vehicle, day, day is trip.days[-1])
        yield _date(binder, trip, day, [*aboard_lines(index, day)], [*night_line(index, day), *ends])


def _date(binder: Binder, trip: Trip, day: CrewDay, before: list[str], after: list[str]) -> Together:
    index = binder.index
    vehicle = index.training_round.crew(trip.crew)
    parts: list[Block] = [Heading(capital(day_date(day.date)), 2)]
    if before:
        parts.append(Lines(before))
    if day.legs:
        parts.append(day_grid(binder, vehicle, day))
    else:
        sessions = [session_line(index, index.sessions[code], day.date) for code in day.sessions]
        parts.append(Lines(sessions or [say("No drive and no session.")]))
    if after:
        parts.append(Lines(after))
    return Together(parts)


def day_grid(binder: Binder, vehicle: Crew, day: CrewDay) -> Grid:
    """Return a date's drives and sessions in the order of the clock."""
    index = binder.index
    heads = (say("Leave"), say("Reach"), say("Road"), say("At the wheel"), say("Daylight"))
    timed: list[tuple[int, list[Cell]]] = [(leg.drive.depart, _leg_row(binder, vehicle, leg)) for leg in day.legs]
    for code in day.sessions:
        session = index.sessions[code]
        timed.append((index.set_up_from(session, day.date), [Wide(session_line(index, session, day.date))]))
    return Grid("", heads, [row for _, row in sorted(timed, key=lambda row: row[0])], (2.2, 2.2, 2.3, 2.6, 2.4))


def _leg_row(binder: Binder, vehicle: Crew, leg: Leg) -> list[Cell]:
    drive, index = leg.drive, binder.index
    return [
        [Strong(clock(drive.depart)), index.name(drive.start)],
        [Strong(arrival(drive.arrive)), index.name(drive.end)],
        list(_road(binder, leg)),
        list(_wheel(index, vehicle, leg)),
        list(_light(index, leg)),
    ]


def _road(binder: Binder, leg: Leg) -> Iterator[str]:
    drive = leg.drive
    yield kilometres(drive.km)
    yield binder.surfaces.words(drive)
    if drive.via:
        yield say("by way of {places}", places=list_words(binder.index.name(code) for code in drive.via))


def _wheel(index: PlanIndex, vehicle: Crew, leg: Leg) -> Iterator[str]:
    drive = leg.drive
    yield duration(drive.drive_seconds)
    yield source_words(drive)
    for start, length in break_starts(index, drive):
        yield say("break of {length} at {time}", length=duration(length), time=clock(start))
    if vehicle.drivers > 1:
        yield say("driver {number}", number=leg.driver)


def _light(index: PlanIndex, leg: Leg) -> Iterator[str]:
    drive = leg.drive
    left = index.daylight.sunset(drive.end, drive.date) - drive.arrive
    yield (
        say("{length} left to sunset", length=duration(left))
        if left >= 0
        else say("{length} after sunset", length=duration(-left))
    )
    latest = latest_start(index, drive)
    if latest is not None:
        yield latest_words(latest)
    for opens, closes in crossing_hours(index, drive):
        yield say("crossing open {hours}", hours=clock_span(opens, closes))
