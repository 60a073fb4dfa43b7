"""Dates of a trip as crews and trainers read them: drives, sessions, nights, who is aboard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Aboard, CrewDay, Drive, Leg, Session, Trip
from roundplan.handouts.page import Cell
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import (
    arrival,
    capital,
    clock,
    count,
    day_date,
    duration,
    kilometres,
    list_words,
    number,
    quantity,
    span_words,
)
from roundplan.travel.daylight import Daylight

SOURCE_WORDS = {
    "entered": "hours as entered",
    "network": "worked out over the roads",
    "straight line": "worked out from the straight line",
    "near": "next door",
}


@dataclass(frozen=True, slots=True)
class TravelDay:
    """One date of a trip, in words."""

    day: date
    title: str
    lines: tuple[str, ...]


def trip_title(index: PlanIndex, trip: Trip) -> str:
    """Say a trip: code and dates."""
    return f"Trip {trip.code}, {span_words(trip.days[0].date, trip.days[-1].date)}"


def drive_line(index: PlanIndex, drive: Drive) -> str:
    """Say a drive: times, ends, road, breaks."""
    breaks = f", {duration(drive.break_seconds)} of breaks in it" if drive.break_seconds else ""
    start, end = index.name(drive.start), index.name(drive.end)
    return (
        f"{clock(drive.depart)} leave {start}, {arrival(drive.arrive)} reach {end}: "
        f"{kilometres(drive.km)}, {duration(drive.arrive - drive.depart)}{breaks}."
    )


def session_line(index: PlanIndex, session: Session, day: date) -> str:
    """Say a session's date: hours, venue, what it needs before and after."""
    today = next(d for d in session.days if d.date == day)
    travel = index.training_round.settings.travel
    said = f"Session {clock(today.start)} to {clock(today.end)} at {index.name(session.venue)}"
    if day == session.dates[0]:
        said += f"; set-up takes {duration(travel.set_up * 60)}"
    if day == session.dates[-1]:
        said += f"; pack-up takes {duration(travel.pack_up * 60)}"
    return said + "."


def night_line(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Yield where to sleep, if the trip goes on."""
    if day.night is not None:
        yield f"Sleep at {index.name(day.night)}."


def day_lines(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Yield a date's drives and sessions in the order of the clock, then the night."""
    events = [(leg.drive.depart, drive_line(index, leg.drive)) for leg in day.legs]
    for code in day.sessions:
        session = index.sessions[code]
        start = next(d.start for d in session.days if d.date == day.date)
        events.append((start, session_line(index, session, day.date)))
    yield from (line for _, line in sorted(events))
    if not events:
        yield "No drive and no session."
    yield from night_line(index, day)


def trainer_day(index: PlanIndex, day: CrewDay, aboard: Aboard) -> TravelDay:
    """Return a trainer's date: where they join, what happens, where they leave, where they sleep."""
    lines = [f"Join the crew at {index.name(aboard.joins_at)}."] if aboard.joins_at else []
    happening = list(day_lines(index, day))
    if aboard.leaves_at and day.night is not None:
        happening = happening[:-1]
    lines += happening
    if aboard.leaves_at:
        lines.append(f"Leave the crew at {index.name(aboard.leaves_at)}.")
    return TravelDay(day.date, day_date(day.date), tuple(lines))


def leg_row(index: PlanIndex, leg: Leg, daylight: Daylight) -> tuple[Cell, ...]:
    """Return a leg as a row: leave, reach, road, where the time comes from, daylight left, driver."""
    drive = leg.drive
    margin = daylight.sunset(drive.end, drive.date) - drive.arrive
    light = f"{duration(margin)} to sunset" if margin >= 0 else f"{duration(-margin)} after sunset"
    source = SOURCE_WORDS.get(drive.source, drive.source)
    road: tuple[str, ...] = (f"{kilometres(drive.km)}, {duration(drive.drive_seconds)} at the wheel",)
    if drive.break_seconds:
        road += (f"breaks {duration(drive.break_seconds)}",)
    if drive.via:
        road += (f"by way of {list_words(index.name(code) for code in drive.via)}",)
    return (
        f"{clock(drive.depart)} {index.name(drive.start)}",
        f"{arrival(drive.arrive)} {index.name(drive.end)}",
        road,
        source if drive.factor == 1 else f"{source}, times {number(drive.factor, 2)}",
        light,
        str(leg.driver),
    )


def aboard_line(index: PlanIndex, day: CrewDay) -> str:
    """Name the trainers aboard on a date, and where any of them joins or leaves."""
    said = []
    for aboard in day.aboard:
        moves = [f"joins at {index.name(aboard.joins_at)}"] if aboard.joins_at else []
        moves += [f"leaves at {index.name(aboard.leaves_at)}"] if aboard.leaves_at else []
        said.append(index.name(aboard.trainer) + (f" ({', '.join(moves)})" if moves else ""))
    return f"Aboard: {list_words(said)}." if said else "No trainer aboard."


def load_rows(index: PlanIndex, trip: Trip) -> list[tuple[Cell, ...]]:
    """Return what is taken on board: item, quantity, weight, where and when."""
    rows: list[tuple[Cell, ...]] = []
    for load in sorted(trip.loads, key=lambda load: (load.date, load.place, load.item)):
        item = index.training_round.item(load.item)
        name = f"{item.name} (latex)" if item.latex else item.name
        weight = number(load.quantity * item.unit_weight_kg)
        taken = f"{index.name(load.place)}, {day_date(load.date)}"
        rows.append((name, taken, quantity(load.quantity, item.unit), weight))
    return rows


def venue_contacts(
    index: PlanIndex, venues: tuple[str, ...], contacts: Mapping[str, Contact]
) -> tuple[tuple[str, Contact], ...]:
    """Return the contacts that somebody on the road needs: the manager's and the venues', no one else's."""
    found = [("Programme manager", contacts["manager"])] if "manager" in contacts else []
    return (*found, *((index.name(code), contacts[code]) for code in dict.fromkeys(venues) if code in contacts))


def exposure_lines(index: PlanIndex, venues: tuple[str, ...]) -> tuple[str, ...]:
    """Return for each venue whom to call after a needle-stick."""
    sites = (index.training_round.site(code) for code in dict.fromkeys(venues))
    return tuple(f"{site.name}: {site.exposure_contact or 'ask on arrival and write it here'}" for site in sites)


def session_count(sessions: int) -> str:
    """Return a count of sessions as a sentence's start."""
    return capital(count(sessions, "session"))
