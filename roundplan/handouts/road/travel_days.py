"""Dates of a trip as crews and trainers read them: drives, sessions, nights, who is aboard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Aboard, CrewDay, Drive, Leg, Session, Trip
from roundplan.handouts.drive_facts import latest_start
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.joining import join_lines, joins_by, leave_lines, leaves_from, moves
from roundplan.handouts.speech import say
from roundplan.handouts.terms import time_source
from roundplan.handouts.words import (
    arrival,
    capital,
    clock,
    day_date,
    duration,
    kilometres,
    list_words,
    number,
    percent,
    quantity,
    short_date,
    span_words,
)


@dataclass(frozen=True, slots=True)
class TravelDay:
    """One date of a trip, in words."""

    day: date
    title: str
    lines: tuple[str, ...]

    @property
    def link(self) -> tuple[str, str]:
        """Where on the page it stands, and what the contents call it."""
        return date_link(self.day)


def date_link(day: date) -> tuple[str, str]:
    """Return a date's anchor on a page for the road, and its short name."""
    return f"d{day.isoformat()}", short_date(day)


def trip_title(index: PlanIndex, trip: Trip) -> str:
    """Say a trip: code and dates."""
    return say("Trip {trip}, {dates}", trip=trip.code, dates=span_words(trip.days[0].date, trip.days[-1].date))


def drive_line(index: PlanIndex, drive: Drive) -> str:
    """Say a drive: times, ends, road, breaks."""
    road = [kilometres(drive.km), duration(drive.arrive - drive.depart)]
    if drive.break_seconds:
        road.append(say("{time} of breaks in it", time=duration(drive.break_seconds)))
    if drive.via:
        road.append(_by_way(index, drive))
    return say(
        "{depart} leave {start}, {arrive} reach {end}: {road}.",
        depart=clock(drive.depart),
        arrive=arrival(drive.arrive),
        start=index.name(drive.start),
        end=index.name(drive.end),
        road=", ".join(road),
    )


def _by_way(index: PlanIndex, drive: Drive) -> str:
    return say("by way of {places}", places=list_words(index.name(code) for code in drive.via))


def session_line(index: PlanIndex, session: Session, day: date) -> str:
    """Say a session's date by the clock: set-up, hours, venue, pack-up."""
    today = next(d for d in session.days if d.date == day)
    venue = index.name(session.venue)
    said = [say("session {start} to {end} at {venue}", start=clock(today.start), end=clock(today.end), venue=venue)]
    if day == session.dates[0]:
        said.insert(0, say("set-up from {time}", time=clock(index.set_up_from(session, day))))
    if day == session.dates[-1]:
        said.append(say("packed up by {time}", time=arrival(index.packed_up_by(session, day))))
    return capital(", ".join(said)) + "."


def night_line(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Yield where to sleep, if the trip goes on."""
    if day.night is not None:
        yield say("Sleep at {place}.", place=index.name(day.night))


def day_lines(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Yield a date's drives and sessions in the order of the clock, then the night."""
    events = [(leg.drive.depart, drive_line(index, leg.drive)) for leg in day.legs]
    for code in day.sessions:
        session = index.sessions[code]
        events.append((index.set_up_from(session, day.date), session_line(index, session, day.date)))
    yield from (line for _, line in sorted(events))
    if not events:
        yield say("No drive and no session.")
    yield from night_line(index, day)


def trainer_day(index: PlanIndex, day: CrewDay, aboard: Aboard) -> TravelDay:
    """Return a trainer's date: where they join, what happens, where they leave, where they sleep."""
    lines = list(join_lines(index, day, aboard))
    happening = list(day_lines(index, shared_day(index, day, aboard)))
    if aboard.leaves_at and day.night is not None:
        happening = happening[:-1]
    lines += happening
    lines += leave_lines(index, day, aboard)
    return TravelDay(day.date, capital(day_date(day.date)), tuple(lines))


def shared_day(index: PlanIndex, day: CrewDay, aboard: Aboard) -> CrewDay:
    """Return the crew's date without the drives before the trainer joins or after the trainer leaves."""
    by = joins_by(index, day, aboard.joins_at) if aboard.joins_at is not None else None
    free = leaves_from(index, day, aboard.leaves_at) if aboard.leaves_at is not None else None
    legs = (
        leg for leg in day.legs if (by is None or leg.drive.depart >= by) and (free is None or leg.drive.arrive <= free)
    )
    return replace(day, legs=tuple(legs))


def source_words(drive: Drive) -> str:
    """Say where a drive's time comes from."""
    source = time_source(drive.source)
    if drive.factor == 1:
        return source
    if drive.factor > 1:
        return say("{source}, {percent} added", source=source, percent=percent(drive.factor - 1))
    return say("{source}, times {factor}", source=source, factor=number(drive.factor, 2))


def latest_words(latest: int) -> str:
    """Say the time after which a drive would end too late; it is no leave to be late for a session."""
    return say("after {time} do not set out", time=clock(latest))


def leg_row(index: PlanIndex, leg: Leg) -> tuple[Cell, ...]:
    """Return a leg as a row: leave, reach, road and where its time comes from, daylight left, driver."""
    drive = leg.drive
    margin = index.daylight.sunset(drive.end, drive.date) - drive.arrive
    if margin >= 0:
        light: Cell = say("{time} to sunset", time=duration(margin))
    else:
        light = say("{time} after sunset", time=duration(-margin))
    latest = latest_start(index, drive)
    if latest is not None:
        light = (str(light), latest_words(latest))
    wheel = say("{km}, {time} at the wheel", km=kilometres(drive.km), time=duration(drive.drive_seconds))
    road: tuple[str, ...] = (wheel, source_words(drive))
    if drive.break_seconds:
        road += (say("breaks {time}", time=duration(drive.break_seconds)),)
    if drive.via:
        road += (_by_way(index, drive),)
    return (
        say("{time} {place}", time=clock(drive.depart), place=index.name(drive.start)),
        say("{time} {place}", time=arrival(drive.arrive), place=index.name(drive.end)),
        road,
        light,
        str(leg.driver),
    )


def aboard_lines(index: PlanIndex, day: CrewDay) -> Iterator[str]:
    """Name the trainers aboard on a date, then each who joins or leaves, and where."""
    if not day.aboard:
        yield say("No trainer aboard.")
        return
    yield say("Aboard: {people}.", people=list_words(index.name(aboard.trainer) for aboard in day.aboard))
    for aboard in day.aboard:
        if moved := "; ".join(moves(index, day, aboard)):
            yield say("{name} {moves}.", name=index.name(aboard.trainer), moves=moved)


def closed_road_lines(index: PlanIndex, trips: Sequence[Trip]) -> Iterator[str]:
    """Yield what to do if a road closes, and where the crew has beds."""
    yield say("Stop where it is safe and call the programme manager before you turn round or look for another way.")
    yield say(
        "The itinerary names for each drive the time after which nobody sets out. "
        "Once that is past, stay where you are."
    )
    yield say(
        "Nobody drives in the dark, through moving water or tired to keep to a timetable; no session is worth it."
    )
    yield say("Call the venue: those who wait may go home in daylight.")
    beds = dict.fromkeys(day.night for trip in trips for day in trip.days if day.night)
    if beds:
        yield say("Where the crew has beds on its trips: {places}.", places=list_words(index.name(b) for b in beds))


def load_table(index: PlanIndex, trip: Trip, caption: str, *, total: bool = False) -> Table:
    """Return what is taken on board, by name; where it all comes from one place, the caption alone says so."""
    stops = {(load.place, load.date) for load in trip.loads}
    stopping = len(stops) > 1
    rows: list[tuple[Cell, ...]] = []
    weight = 0.0
    for load in sorted(trip.loads, key=lambda load: (load.date, load.place, index.name(load.item))):
        item = index.training_round.item(load.item)
        kg = load.quantity * item.unit_weight_kg
        weight += kg
        where = say("{place}, {date}", place=index.name(load.place), date=day_date(load.date))
        name = say("{item} (latex)", item=item.name) if item.latex else item.name
        shown = number(kg) if kg >= 0.05 else say("under {weight}", weight=number(0.1))
        rows.append((name, *([where] * stopping), quantity(load.quantity, item.unit), shown))
    if rows and total:
        rows.append((say("All kit and consumables"), *([""] * stopping), "", number(weight)))
    for place, day in () if stopping else stops:
        caption = say(
            "{caption}, all from {place} on {date}", caption=caption, place=index.name(place), date=day_date(day)
        )
    heads = (say("Item"), *([say("Taken on board")] * stopping), say("Quantity"), say("Weight, kg"))
    return Table(caption, heads, rows, numbers=frozenset({1 + stopping, 2 + stopping}), total=total)


def venue_contacts(
    index: PlanIndex, venues: tuple[str, ...], contacts: Mapping[str, Contact]
) -> tuple[tuple[str, Contact], ...]:
    """Return the contacts that somebody on the road needs: the manager's and the venues', no one else's."""
    found = [(say("Programme manager"), contacts["manager"])] if "manager" in contacts else []
    return (*found, *((index.name(code), contacts[code]) for code in dict.fromkeys(venues) if code in contacts))


def unlisted_lines(index: PlanIndex, venues: tuple[str, ...], contacts: Mapping[str, Contact]) -> tuple[str, ...]:
    """Return the venues for which no number is entered; empty where no contacts were given at all."""
    missing = (code for code in dict.fromkeys(venues) if contacts and code not in contacts)
    return tuple(
        say("{place}: no number entered; ask the manager before you set out", place=index.name(code))
        for code in missing
    )


def exposure_lines(index: PlanIndex, venues: tuple[str, ...]) -> tuple[str, ...]:
    """Return for each venue whom to call after a needle-stick."""
    sites = (index.training_round.site(code) for code in dict.fromkeys(venues))
    unknown = say("ask on arrival and write it here")
    return tuple(say("{place}: {contact}", place=s.name, contact=s.exposure_contact or unknown) for s in sites)
