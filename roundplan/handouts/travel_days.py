"""Dates of a trip as crews and trainers read them: drives, sessions, nights, who is aboard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.domain.clock import MINUTE
from roundplan.domain.decision import Contact
from roundplan.domain.plan import Aboard, CrewDay, Drive, Leg, Session, Trip
from roundplan.handouts.page import Cell, Table
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


def set_up_from(index: PlanIndex, session: Session, day: date) -> int:
    """Return when a crew is needed at a session's venue (seconds after midnight): on its first date to set up."""
    start = next(d.start for d in session.days if d.date == day)
    return start - MINUTE * index.training_round.settings.travel.set_up * (day == session.dates[0])


def pack_up_until(index: PlanIndex, session: Session, day: date) -> int:
    """Return when a crew is done at a session's venue (seconds after midnight): on its last date packed up."""
    end = next(d.end for d in session.days if d.date == day)
    return end + MINUTE * index.training_round.settings.travel.pack_up * (day == session.dates[-1])


def session_line(index: PlanIndex, session: Session, day: date) -> str:
    """Say a session's date by the clock: set-up, hours, venue, pack-up."""
    today = next(d for d in session.days if d.date == day)
    said = f"session {clock(today.start)} to {clock(today.end)} at {index.name(session.venue)}"
    if day == session.dates[0]:
        said = f"set-up from {clock(set_up_from(index, session, day))}, {said}"
    if day == session.dates[-1]:
        said += f", packed up by {arrival(pack_up_until(index, session, day))}"
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
        events.append((set_up_from(index, session, day.date), session_line(index, session, day.date)))
    yield from (line for _, line in sorted(events))
    if not events:
        yield "No drive and no session."
    yield from night_line(index, day)


def trainer_day(index: PlanIndex, day: CrewDay, aboard: Aboard) -> TravelDay:
    """Return a trainer's date: where they join, what happens, where they leave, where they sleep."""
    lines = list(_join_lines(index, day, aboard))
    happening = list(day_lines(index, day))
    if aboard.leaves_at and day.night is not None:
        happening = happening[:-1]
    lines += happening
    lines += _leave_lines(index, day, aboard)
    return TravelDay(day.date, day_date(day.date), tuple(lines))


def joins_by(index: PlanIndex, day: CrewDay, place: str) -> int:
    """Return when a trainer has to stand at the place where they join (seconds after midnight)."""
    if day.legs and index.roads.near(day.legs[0].drive.start, place):
        return day.legs[0].drive.depart
    if day.sessions:
        return set_up_from(index, index.sessions[day.sessions[0]], day.date)
    return day.legs[-1].drive.arrive


def leaves_from(index: PlanIndex, day: CrewDay, place: str) -> int:
    """Return when a trainer is free at the place where they leave (seconds after midnight)."""
    done = max((pack_up_until(index, index.sessions[code], day.date) for code in day.sessions), default=0)
    reached = [leg.drive.arrive for leg in day.legs if index.roads.near(leg.drive.end, place)]
    return max(done, *reached) if reached and not _off_before_leg(index, day, place) else done


def _off_before_leg(index: PlanIndex, day: CrewDay, place: str) -> bool:
    """Whether the trainer stays behind at the venue when the crew drives on."""
    return bool(day.legs) and not index.roads.near(day.legs[-1].drive.end, place)


def _join_lines(index: PlanIndex, day: CrewDay, aboard: Aboard) -> Iterator[str]:
    """Yield where and when a trainer joins, and what they have to see to themselves to get there."""
    place = aboard.joins_at
    if not place:
        return
    by = joins_by(index, day, place)
    yield f"Join the crew at {index.name(place)} by {clock(by)}."
    home = index.training_round.trainer(aboard.trainer).lives_at
    for way in index.roads.ways(home, place, day.date)[:1]:
        if way.seconds:
            night = by - way.seconds < index.daylight.sunrise(home, day.date)
            yield _own_way(f"there from {index.name(home)}", way.km, way.seconds) + (
                " In daylight you can only come the day before, and no bed is planned for that night." if night else ""
            )


def _leave_lines(index: PlanIndex, day: CrewDay, aboard: Aboard) -> Iterator[str]:
    """Yield where and when a trainer leaves, and what they have to see to themselves to get home."""
    place = aboard.leaves_at
    if not place:
        return
    free = leaves_from(index, day, place)
    yield f"Leave the crew at {index.name(place)}, {arrival(free)}."
    home = index.training_round.trainer(aboard.trainer).lives_at
    for way in index.roads.ways(place, home, day.date)[:1]:
        if way.seconds:
            night = free + way.seconds > index.daylight.sunset(home, day.date)
            yield _own_way(f"home to {index.name(home)}", way.km, way.seconds) + (
                " You would not be home by sunset, and no bed is planned for that night." if night else ""
            )


def _own_way(where: str, km: float, seconds: int) -> str:
    return f"Your way {where}, {kilometres(km)} and {duration(seconds)} at the wheel, is not part of this plan."


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
        joins, leaves = aboard.joins_at, aboard.leaves_at
        moves = [f"joins at {index.name(joins)}, {clock(joins_by(index, day, joins))}"] if joins else []
        moves += [f"leaves at {index.name(leaves)}, {arrival(leaves_from(index, day, leaves))}"] if leaves else []
        said.append(index.name(aboard.trainer) + (f" ({', '.join(moves)})" if moves else ""))
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
