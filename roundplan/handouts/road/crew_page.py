"""A crew's page: legs, nights, load by trip, where to restock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from roundplan.domain.crew import Crew
from roundplan.domain.decision import Contact
from roundplan.domain.plan import CrewDay, Plan, Trip
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.page import Table, draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.travel_days import (
    aboard_lines,
    closed_road_lines,
    date_link,
    exposure_lines,
    leg_row,
    load_table,
    night_line,
    session_line,
    trip_title,
    unlisted_lines,
    venue_contacts,
)
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import (
    arrival,
    capital,
    day_date,
    kilograms,
    kilometres,
    list_words,
    number,
    quantity,
)


@dataclass(frozen=True, slots=True)
class CrewDate:
    """One date of a crew's trip: its drives as a table, the rest in sentences; ``link`` for the contents."""

    link: tuple[str, str]
    title: str
    lines: tuple[str, ...]
    legs: Table


@dataclass(frozen=True, slots=True)
class CrewTrip:
    """One trip on a crew's page."""

    title: str
    lines: tuple[str, ...]
    days: tuple[CrewDate, ...]
    load: Table


def render(
    plan: Plan,
    training_round: TrainingRound,
    crew: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
) -> str:
    """Return a crew's page as HTML.

    Parameters
    ----------
    crew : str
        Code of the crew.
    contacts : mapping of str to Contact or None
        Contacts by code; the manager's and the venues' are printed.
    version : int or None
        Version of this page's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    vehicle = training_round.crew(crew)
    trips = index.trips_of(crew)
    venues = tuple(index.sessions[code].venue for trip in trips for day in trip.days for code in day.sessions)
    km = sum(leg.drive.km for trip in trips for day in trip.days for leg in day.legs)
    said = several(
        "{numeral} trip from {place}, {km} in all.",
        "{numeral} trips from {place}, {km} in all.",
        len(trips),
        place=index.name(vehicle.base),
        km=kilometres(km),
    )
    return render_page(
        "crew.html.j2",
        **frame(plan, say("Crew {crew}", crew=crew), version),
        lede=capital(said) if trips else say("No trip in this round."),
        trips=[_trip(index, vehicle, trip) for trip in trips],
        draft=draft_reasons(index, {code for trip in trips for day in trip.days for code in day.sessions}),
        contacts=venue_contacts(index, venues, contacts or {}),
        unlisted=unlisted_lines(index, venues, contacts or {}),
        exposure=exposure_lines(index, venues),
        closed=tuple(closed_road_lines(index, trips)),
        safety=safety_lines(Reader.CREW),
    )


def _trip(index: PlanIndex, vehicle: Crew, trip: Trip) -> CrewTrip:
    return CrewTrip(
        title=trip_title(index, trip),
        lines=(*weight_lines(index, vehicle, trip), *restock_lines(index, vehicle, trip)),
        days=tuple(_date(index, vehicle, day, last=day is trip.days[-1]) for day in trip.days),
        load=load_table(index, trip, say("Load of trip {trip}", trip=trip.code), total=True),
    )


def _date(index: PlanIndex, vehicle: Crew, day: CrewDay, *, last: bool) -> CrewDate:
    sessions = [session_line(index, index.sessions[code], day.date) for code in day.sessions]
    heads = (say("Leave"), say("Reach"), say("Road"), say("Daylight left"), say("Driver"))
    shown = len(heads) if vehicle.drivers > 1 else len(heads) - 1
    rows = [leg_row(index, leg)[:shown] for leg in day.legs]
    return CrewDate(
        link=date_link(day.date),
        title=capital(day_date(day.date)),
        lines=(*sessions, *aboard_lines(index, day), *night_line(index, day), *end_line(index, vehicle, day, last)),
        legs=Table(say("Drives of {date}", date=day_date(day.date)), heads[:shown], rows),
    )


def end_line(index: PlanIndex, vehicle: Crew, day: CrewDay, last: bool) -> Iterator[str]:
    """Yield where and when the trip ends."""
    if not last:
        return
    ends = [(leg.drive.arrive, leg.drive.end) for leg in day.legs]
    held = [index.sessions[code] for code in day.sessions]
    ends += [(index.packed_up_by(session, day.date), session.venue) for session in held]
    base = index.name(vehicle.base)
    if not ends:
        yield say("The trip ends at {place}.", place=base)
        return
    when, where = max(ends)
    if where != vehicle.base and index.roads.near(where, vehicle.base):
        yield say("At {time} on to {place} close by, where the trip ends.", time=arrival(when), place=base)
    else:
        yield say("The trip ends at {place}, {arrive}.", place=base, arrive=arrival(when))


def weight_lines(index: PlanIndex, vehicle: Crew, trip: Trip) -> tuple[str, ...]:
    """Say the most on board beside what the vehicle may carry."""
    reserve = index.training_round.settings.travel.payload_reserve
    limit = vehicle.payload_kg * (1 - reserve)
    weight = say(
        "Most on board at any time: {weight}, people and luggage included; the limit is {limit} ({payload} less the "
        "reserve).",
        weight=kilograms(trip.weight_kg),
        limit=kilograms(limit),
        payload=kilograms(vehicle.payload_kg),
    )
    if vehicle.space_l is None:
        return (weight,)
    used, space = number(trip.volume_l), number(vehicle.space_l)
    return weight, say("Kit takes {used} litres of the {space} there are.", used=used, space=space)


def restock_lines(index: PlanIndex, vehicle: Crew, trip: Trip) -> tuple[str, ...]:
    """Say where kit is taken on board after the start."""
    stops: dict[tuple[str, str], list[str]] = {}
    for load in sorted(trip.loads, key=lambda load: (load.date, load.place, load.item)):
        if load.place != vehicle.base or load.date != trip.days[0].date:
            item = index.training_round.item(load.item)
            key = (index.name(load.place), day_date(load.date))
            taken = say("{quantity} of {item}", quantity=quantity(load.quantity, item.unit), item=item.name)
            stops.setdefault(key, []).append(taken)
    if not stops:
        return (say("Everything is loaded at {place} before the start.", place=index.name(vehicle.base)),)
    return tuple(
        say("Restock at {place} on {date}: {items}.", place=place, date=day, items=list_words(items))
        for (place, day), items in stops.items()
    )
