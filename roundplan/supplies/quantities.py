"""Quantities: what each session, trip and crew uses up or carries, counted from the plan."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date
from fractions import Fraction

from roundplan.domain.plan import Plan, Session, SlotKind, Trip
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.roadway import exact

Counts = dict[Per, int]
"""How often each ``per`` occurs."""

_SHOWN = (SlotKind.SIMULATION, SlotKind.DEMONSTRATION)


def with_wastage(units: Fraction, percent: float) -> Fraction:
    """Return the units to supply so that ``units`` are left after wastage: units ÷ (1 − wastage)."""
    return units / (1 - exact(percent) / 100)


def simulations_of(session: Session, station: int, day: date | None = None) -> int:
    """Return simulations and demonstrations at a station over the session, or on one of its dates."""
    return sum(s.station == station and s.kind in _SHOWN and day in (None, s.date) for s in session.slots)


def walls_of(session: Session, station_number: int) -> int:
    """Return the walls a station uses over the session: one for two simulations or demonstrations."""
    return -(-simulations_of(session, station_number) // 2)


def stations_of(session: Session, crew: str | None) -> tuple[int, ...]:
    """Return the numbers of the stations a crew runs in the session; all of them where no crew is given."""
    return tuple(s.number for s in session.stations if crew in (None, s.crew))


def participants_of(session: Session, plan: Plan, crew: str | None = None, day: date | None = None) -> int:
    """Return the people seated at a crew's stations; with ``day``, those whose attendance starts on it."""
    stations = stations_of(session, crew)
    seated = {
        seat.person
        for team in plan.teams
        if team.session == session.code and team.station in stations and (day is None or team.dates[0] == day)
        for seat in team.seats
    }
    return len(seated)


def counts_on(session: Session, crew: str | None, plan: Plan, day: date) -> Counts:
    """Return what one date of a session adds to each ``per`` for one crew (or all).

    Stations and the session count on its first date, participants on their first, a wall on the date of
    its first simulation.
    """
    stations = stations_of(session, crew)
    opens = day == session.dates[0]
    earlier = [d for d in session.dates if d < day]
    walls = 0
    for station in stations:
        before = sum(simulations_of(session, station, d) for d in earlier)
        walls += -(-(before + simulations_of(session, station, day)) // 2) - -(-before // 2)
    return {
        Per.STATION: len(stations) if opens else 0,
        Per.SESSION: 1 if opens else 0,
        Per.SIMULATION: sum(simulations_of(session, station, day) for station in stations),
        Per.WALL: walls,
        Per.PARTICIPANT: participants_of(session, plan, crew, day),
    }


def session_needs(
    session: Session, plan: Plan, training_round: TrainingRound, crew: str | None = None
) -> dict[str, int]:
    """Return whole units of each consumable for one session, wastage included.

    For a bag packed for the session alone: rounded up by session, so that the bags of a trip may hold a
    little more than :func:`trip_needs`, which rounds once a trip.
    """
    counts = total_counts(counts_on(session, crew, plan, day) for day in session.dates)
    return _whole(training_round, counts)


def total_counts(parts: Iterable[Counts]) -> Counts:
    """Add counts up."""
    total: Counts = {}
    for part in parts:
        for per, number in part.items():
            total[per] = total.get(per, 0) + number
    return total


def sessions_by_code(plan: Plan) -> dict[str, Session]:
    """Return the sessions of a plan by code."""
    return {session.code: session for session in plan.sessions}


def first_trips(plan: Plan) -> frozenset[str]:
    """Return the codes of each crew's first trip."""
    first: dict[str, Trip] = {}
    for trip in trips_in_order(plan):
        first.setdefault(trip.crew, trip)
    return frozenset(trip.code for trip in first.values())


def trips_in_order(plan: Plan) -> tuple[Trip, ...]:
    """Return the trips by first date, then code."""
    return tuple(sorted(plan.trips, key=lambda trip: (trip.days[0].date, trip.code)))


def counts_by_date(trip: Trip, plan: Plan) -> dict[date, Counts]:
    """Return what each date of a trip adds; once-a-trip items (and once-a-crew ones) count on its first date."""
    sessions = sessions_by_code(plan)
    by_date: dict[date, Counts] = {}
    for day in trip.days:
        taught = (sessions[code] for code in dict.fromkeys(day.sessions))
        by_date[day.date] = total_counts(counts_on(session, trip.crew, plan, day.date) for session in taught)
    start = by_date[trip.days[0].date]
    start[Per.TRIP] = 1
    start[Per.CREW] = 1 if trip.code in first_trips(plan) else 0
    return by_date


def counts_on_trip(trip: Trip, plan: Plan) -> Counts:
    """Return what a whole trip adds to each ``per``."""
    return total_counts(counts_by_date(trip, plan).values())


def consumables(training_round: TrainingRound) -> tuple[Item, ...]:
    """Return the items that are used up."""
    return tuple(item for item in training_round.items if item.kind is ItemKind.CONSUMABLE)


def reusables(training_round: TrainingRound) -> tuple[Item, ...]:
    """Return the items that come back."""
    return tuple(item for item in training_round.items if item.kind is ItemKind.REUSABLE)


def gross_units(item: Item, counts: Counts) -> Fraction:
    """Return the units of a consumable for these counts, wastage included, not rounded."""
    return with_wastage(exact(item.quantity) * counts.get(item.per, 0), item.wastage_percent)


def trip_needs(plan: Plan, training_round: TrainingRound) -> dict[str, dict[str, int]]:
    """Return for each trip the whole units of each consumable it uses, rounded up once a trip.

    Returns
    -------
    dict
        Trip code to item code to units; items the trip does not need are left out.
    """
    return {trip.code: _whole(training_round, counts_on_trip(trip, plan)) for trip in trips_in_order(plan)}


def reusables_of(trip: Trip, plan: Plan, training_round: TrainingRound) -> dict[str, int]:
    """Return the whole units of each reusable item that a trip carries.

    ``crew`` and ``trip`` items once, ``station`` items for each box model carried, all others as many as
    the trip's most demanding session needs.
    """
    sessions = sessions_by_code(plan)
    codes = dict.fromkeys(code for day in trip.days for code in day.sessions)
    needs = []
    for session in (sessions[code] for code in codes):
        needs.append(total_counts(counts_on(session, trip.crew, plan, day) for day in session.dates))
    carried: dict[str, int] = {}
    for item in reusables(training_round):
        if item.per in (Per.CREW, Per.TRIP):
            number = 1
        elif item.per is Per.STATION:
            number = trip.box_models
        else:
            number = max((counts[item.per] for counts in needs), default=0)
        if number:
            carried[item.code] = math.ceil(exact(item.quantity) * number)
    return carried


def _whole(training_round: TrainingRound, counts: Counts) -> dict[str, int]:
    units = {item.code: math.ceil(gross_units(item, counts)) for item in consumables(training_round)}
    return {code: number for code, number in units.items() if number}
