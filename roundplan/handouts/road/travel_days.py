"""Dates of a trip as crews and trainers read them: drives, sessions, nights, who is aboard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Aboard, CrewDay, Drive, Leg, Session, Trip
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.joining import join_lines, joins_by, leave_lines, leaves_from, moves
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
        f"{kilometres(drive.km)}, {duration(drive.arrive - drive.depart)}{breaks}{_by_way(index, drive)}."
    )


def _by_way(index: PlanIndex, drive: Drive) -> str:
    return f", by way of {list_words(index.name(code) for code in drive.via)}" if drive.via else ""


def session_line(index: PlanIndex, session: Session, day: date) -> str:
    """Say a session's date by the clock: set-up, hours, venue, pack-up."""
    today = next(d for d in session.days if d.date == day)
    said = f"session {clock(today.start)} to {clock(today.end)} at {index.name(session.venue)}"
    if day == session.dates[0]:
        said = f"set-up from {clock(index.set_up_from(session, day))}, {said}"
    if day == session.dates[-1]:
        said += f", packed up by {arrival(index.packed_up_by(session, day))}"
    return capital(said) + "."


def night_line(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Yield where to sleep, if the trip goes on."""
    if day.night is not None:
        yield f"Sleep at {index.name(day.night)}."


def day_lines(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Yield a date's drives and sessions in the order of the clock, then the night."""
    events = [(leg.drive.depart, drive_line(index, leg.drive)) for leg in day.legs]
    for code in day.sessions:
        session = index.sessions[code]
        events.append((index.set_up_from(session, day.date), session_line(index, session, day.date)))
    yield from (line for _, line in sorted(events))
    if not events:
        yield "No drive and no session."
    yield from night_line(index, day)


def trainer_day(index: PlanIndex, day: CrewDay, aboard: Aboard) -> TravelDay:
    """Return a trainer's date: where they join, what happens, where they leave, where they sleep."""
    lines = list(join_lines(index, day, aboard))
    happening = list(day_lines(index, _shared(index, day, aboard)))
    if aboard.leaves_at and day.night is not None:
        happening = happening[:-1]
    lines += happening
    lines += leave_lines(index, day, aboard)
    return TravelDay(day.date, day_date(day.date), tuple(lines))


def _shared(index: PlanIndex, day: CrewDay, aboard: Aboard) -> CrewDay:
    """Return the crew's date without the drives before the trainer joins or after the trainer leaves."""
    by = joins_by(index, day, aboard.joins_at) if aboard.joins_at is not None else None
    free = leaves_from(index, day, aboard.leaves_at) if aboard.leaves_at is not None else None
    legs = (
        leg for leg in day.legs if (by is None or leg.drive.depart >= by) and (free is None or leg.drive.arrive <= free)
    )
    return replace(day, legs=tuple(legs))


def leg_row(index: PlanIndex, leg: Leg) -> tuple[Cell, ...]:
    """Return a leg as a row: leave, reach, road and where its time comes from, daylight left, driver."""
    drive = leg.drive
    margin = index.daylight.sunset(drive.end, drive.date) - drive.arrive
    light = f"{duration(margin)} to sunset" if margin >= 0 else f"{duration(-margin)} after sunset"
    source = SOURCE_WORDS.get(drive.source, drive.source)
    road: tuple[str, ...] = (
        f"{kilometres(drive.km)}, {duration(drive.drive_seconds)} at the wheel",
        source if drive.factor == 1 else f"{source}, times {number(drive.factor, 2)}",
    )
    if drive.break_seconds:
        road += (f"breaks {duration(drive.break_seconds)}",)
    if drive.via:
        road += (f"by way of {list_words(index.name(code) for code in drive.via)}",)
    return (
        f"{clock(drive.depart)} {index.name(drive.start)}",
        f"{arrival(drive.arrive)} {index.name(drive.end)}",
        road,
        light,
        str(leg.driver),
    )


def aboard_line(index: PlanIndex, day: CrewDay) -> str:
    """Name the trainers aboard on a date, and where any of them joins or leaves."""
    said = []
    for aboard in day.aboard:
        moved = "; ".join(moves(index, day, aboard))
        said.append(index.name(aboard.trainer) + (f" ({moved})" if moved else ""))
    return f"Aboard: {list_words(said)}." if said else "No trainer aboard."


def load_table(index: PlanIndex, trip: Trip, caption: str, *, total: bool = False) -> Table:
    """Return what is taken on board, by name; where it all comes from one place, the caption alone says so."""
    stops = {(load.place, load.date) for load in trip.loads}
    several = len(stops) > 1
    rows: list[tuple[Cell, ...]] = []
    weight = 0.0
    for load in sorted(trip.loads, key=lambda load: (load.date, load.place, index.name(load.item))):
        item = index.training_round.item(load.item)
        kg = load.quantity * item.unit_weight_kg
        weight += kg
        taken = (f"{index.name(load.place)}, {day_date(load.date)}",) if several else ()
        name = f"{item.name} (latex)" if item.latex else item.name
        rows.append((name, *taken, quantity(load.quantity, item.unit), number(kg) if kg >= 0.05 else "under 0.1"))
    if rows and total:
        rows.append(("All kit and consumables", *([""] * several), "", number(weight)))
    for place, day in () if several else stops:
        caption += f", all from {index.name(place)} on {day_date(day)}"
    heads = ("Item", *(["Taken on board"] * several), "Quantity", "Weight, kg")
    return Table(caption, heads, rows, numbers=frozenset({1 + several, 2 + several}), total=total)


def venue_contacts(
    index: PlanIndex, venues: tuple[str, ...], contacts: Mapping[str, Contact]
) -> tuple[tuple[str, Contact], ...]:
    """Return the contacts that somebody on the road needs: the manager's and the venues', no one else's."""
    found = [("Programme manager", contacts["manager"])] if "manager" in contacts else []
    return (*found, *((index.name(code), contacts[code]) for code in dict.fromkeys(venues) if code in contacts))


def unlisted_lines(index: PlanIndex, venues: tuple[str, ...], contacts: Mapping[str, Contact]) -> tuple[str, ...]:
    """Return the venues for which no number is entered; empty where no contacts were given at all."""
    missing = (code for code in dict.fromkeys(venues) if contacts and code not in contacts)
    return tuple(f"{index.name(code)}: no number entered; ask the manager before you set out" for code in missing)


def exposure_lines(index: PlanIndex, venues: tuple[str, ...]) -> tuple[str, ...]:
    """Return for each venue whom to call after a needle-stick."""
    sites = (index.training_round.site(code) for code in dict.fromkeys(venues))
    return tuple(f"{site.name}: {site.exposure_contact or 'ask on arrival and write it here'}" for site in sites)


def session_count(sessions: int) -> str:
    """Return a count of sessions as a sentence's start."""
    return capital(count(sessions, "session"))
