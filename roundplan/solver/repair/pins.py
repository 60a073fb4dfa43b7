"""What a stored plan says of each choice of a model, so that it can be kept or hinted at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.plan import Drive, Outing, Session, Team
from roundplan.domain.role import Lead
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.parts import ArcChoice, Sending, Var, Visit
from roundplan.solver.repair.stored import CrewStay, Part, Stored
from roundplan.solver.roadtime import Passage


class Kind(StrEnum):
    """What a choice is about."""

    ROAD = "road"
    CLOCK = "clock"
    TRAINER = "trainer"
    LEAD = "lead"
    VISIT = "visit"
    SEAT = "seat"


@dataclass(frozen=True, slots=True)
class Pin:
    """A choice as the stored plan has it.

    Attributes
    ----------
    who : str
        Facility of a visit or a seat, else the crew.
    day : date
        First date of a visit or a seat, start of a session, else the date.
    """

    var: Var
    value: int
    kind: Kind
    who: str
    day: date


def pins(choices: Choices, stored: Stored, parts: Iterable[Part]) -> Iterator[Pin]:
    """Yield every choice of the model as it is in some parts of the plan; all that is in none of them is nothing.

    Where crews share dates between sessions, drives and clocks are left out: sessions, people and trainers decide.
    """
    found = tuple(parts)
    values: dict[int, int] = {}
    for part in found:
        values |= _of_crews(choices, stored, part) | _of_people(choices, stored, part)
    values |= _at_base(choices, found)
    for var, kind, who, day in _choices(choices):
        yield Pin(var, values.get(var.index, 0), kind, who, day)
    for part in found:
        yield from _clocks(choices, stored, part)


def _choices(choices: Choices) -> Iterator[tuple[Var, Kind, str, date]]:
    """Yield every choice with what it is about; clocks apart, since those of idle crews are anything."""
    for crew in choices.crews if not choices.facts.shares_days else ():
        for day in choices.facts.dates:
            for choice in choices.arcs_on(crew.code, day):
                yield choice.used, Kind.ROAD, crew.code, day
        for (code, day, _), var in choices.night.items():
            if code == crew.code:
                yield var, Kind.ROAD, code, day
    for table in (choices.hold, choices.stations):
        for (code, _, start), var in table.items():
            yield var, Kind.ROAD, code, start
    for (_, code, day), var in choices.aboard.items():
        yield var, Kind.TRAINER, code, day
    for (_, code, start, _), var in choices.leads.items():
        yield var, Kind.LEAD, code, start
    for sending in choices.sendings:
        yield sending.teams, Kind.VISIT, sending.facility, sending.first
    for guesting in choices.guestings:
        yield guesting.count, Kind.SEAT, guesting.facility, guesting.first
    home = choices.facts.round.person
    for seats in (choices.seat, choices.guest, choices.home_guest):
        for (code, first, _), var in seats.items():
            yield var, Kind.SEAT, home(code).facility, first
    for (code, first, _, _), var in choices.site_seat.items():
        yield var, Kind.SEAT, home(code).facility, first


def _at_base(choices: Choices, parts: Iterable[Part]) -> dict[int, int]:
    """Return what crews do on dates without a trip: stay at their base."""
    out = {(trip.crew, day.date) for part in parts for trip in part.trips for day in trip.days}
    values = {}
    for crew in choices.crews:
        for day in (choices.facts.dates[0] - ONE_DAY, *choices.facts.dates):
            if (crew.code, day) in out:
                continue
            values[choices.at_base(crew, day).index] = 1
            for choice in choices.transits[crew.code, day]:
                if choice.arc.start == choice.arc.end == crew.base:
                    values[choice.used.index] = 1
    return values


# crews ------------------------------------------------------------------------------------------------------------


def _of_crews(choices: Choices, stored: Stored, part: Part) -> dict[int, int]:
    values: dict[Var | None, int] = {}
    for trip in part.trips:
        for stay in stored.stays(trip):
            key = (trip.crew, stay.day.date)
            for var in _driven(choices, stay):
                values[var] = 1
            values[choices.night.get((*key, stay.night))] = 1
            for entry in stay.day.aboard:
                values[choices.aboard.get((entry.trainer, *key))] = 1
    for session in part.sessions:
        start = session.dates[0]
        for crew in session.crews:
            values[choices.hold.get((crew, session.venue, start))] = 1
            count = sum(station.crew == crew for station in session.stations)
            values[choices.stations.get((crew, session.venue, start))] = count
        for station in session.stations:
            values[choices.leads.get((station.director, station.crew, start, Lead.DIRECTOR))] = 1
        for held in session.leads:
            values[choices.leads.get((held.trainer, held.crew, start, held.lead))] = 1
    return {var.index: value for var, value in values.items() if var is not None}


def _driven(choices: Choices, stay: CrewStay) -> Iterator[Var]:
    """Yield the arcs of a date, as driven where they still are, else another way between the same places."""
    key, legs = (stay.crew, stay.day.date), [leg.drive for leg in stay.day.legs]
    if stay.venue is None:
        tables = [(choices.transits[key], stay.start, stay.night)]
    else:
        tables = [
            (choices.mornings[key], stay.start, stay.venue),
            (choices.evenings[key], stay.venue, stay.night),
        ]
    for arcs, start, end in tables:
        between = [choice for choice in arcs if (choice.arc.start, choice.arc.end) == (start, end)]
        if between:
            yield min(between, key=lambda choice: not _as_driven(choice, legs)).used


def _as_driven(choice: ArcChoice, legs: list[Drive]) -> bool:
    passage = choice.arc.passage
    return passage is None or not passage.is_leg or any(same_way(passage, leg) for leg in legs)


def same_way(passage: Passage, drive: Drive) -> bool:
    """Whether a drive is the passage, at a time at which it can be driven."""
    way = passage.way
    driven = (drive.start, drive.end, drive.drive_seconds, drive.via, drive.km)
    return (way.start, way.end, way.seconds, way.via, way.km) == driven and (
        passage.earliest <= drive.depart <= passage.latest
    )


def _clocks(choices: Choices, stored: Stored, part: Part) -> Iterator[Pin]:
    for session in part.sessions:
        for day in session.days:
            for crew in session.crews:
                key = (crew, day.date)
                slots = slots_of(choices, session, day.date)
                if key in choices.start and slots is not None:
                    yield Pin(choices.start[key], day.start, Kind.CLOCK, crew, day.date)
                    yield Pin(choices.slots[key], slots, Kind.CLOCK, crew, day.date)
                    yield Pin(choices.end[key], day.end, Kind.CLOCK, crew, day.date)


def slots_of(choices: Choices, session: Session, on: date) -> int | None:
    """Return how many slots the clock of a session's date has; None if no day is laid out like that any more."""
    day = next(day for day in session.days if day.date == on)
    table = choices.facts.day_table
    fitting = (count for (start, count), end in table.items() if (start, end) == (day.start, day.end))
    return max(fitting, default=None)


# people -----------------------------------------------------------------------------------------------------------


def _of_people(choices: Choices, stored: Stored, part: Part) -> dict[int, int]:
    values: dict[int, int] = {}

    def add(var: Var | None, count: int = 1) -> None:
        if var is not None:
            values[var.index] = values.get(var.index, 0) + count

    site: dict[tuple[str, date], int] = {}
    for team in part.teams:
        facility, venue, first = stored.visit(team)
        sending = sending_of(choices, stored, team)
        if sending is not None:
            add(sending.teams)
        number = 0
        if sending is not None and sending.on_site:
            number = site.get((facility, first), 0)
            site[facility, first] = number + 1
        for seat in team.seats:
            key = (seat.person, first, seat.role)
            if seat.guest:
                home = choices.facts.round.person(seat.person).facility
                at_home = home == venue and key in choices.home_guest
                add((choices.home_guest if at_home else choices.guest).get(key))
                outing = _outing(team, seat.person)
                add(_guesting_count(choices, (home, venue, first), outing))
            elif sending is not None and sending.on_site:
                add(choices.site_seat.get((*key, number)))
            else:
                add(choices.seat.get(key))
    return values


def _guesting_count(choices: Choices, visit: Visit, outing: Outing | None) -> Var | None:
    there = (g for g in choices.guestings if (g.facility, g.venue, g.first) == visit)
    return next((guesting.count for guesting in there if in_mode(guesting.mode, outing)), None)


def sending_of(choices: Choices, stored: Stored, team: Team) -> Sending | None:
    """Return the sending that a team is of, as it travels; another way to the same session where that is gone."""
    facility, venue, first = stored.visit(team)
    there = [s for s in choices.sendings if (s.facility, s.venue, s.first) == (facility, venue, first)]
    own = next((o for o in team.outings if o.facility == facility), None)
    return min(there, key=lambda s: not in_mode(s.mode, own), default=None)


def _outing(team: Team, person: str) -> Outing | None:
    return next((o for o in team.outings if person in o.people), None)


def in_mode(mode: Mode, outing: Outing | None) -> bool:
    """Whether people travel in that way: near by, or on the same drives at times at which they can be driven."""
    drives = outing.drives if outing is not None else ()
    if mode.is_near or not drives:
        return mode.is_near and not drives
    out, back = drives[::2], drives[1::2]
    if (len(out), len(back)) != (len(mode.out), len(mode.back)):
        return False
    nights = tuple((night, str(mode.lodging)) for night in mode.nights)
    same = all(p.date == d.date and same_way(p, d) for p, d in zip((*mode.out, *mode.back), (*out, *back), strict=True))
    return same and outing is not None and outing.nights == nights
