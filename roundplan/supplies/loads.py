"""Loads: what a trip takes on board where and when, and how heavy and bulky that makes it."""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict
from datetime import date
from fractions import Fraction

from roundplan.domain.crew import Crew
from roundplan.domain.plan import CrewDay, Load, Plan, Trip
from roundplan.domain.role import PlaceKind
from roundplan.domain.settings import TravelSettings
from roundplan.domain.supply import ItemKind
from roundplan.domain.training_round import TrainingRound
from roundplan.supplies.quantities import (
    consumables,
    counts_by_date,
    gross_units,
    reusables_of,
    sessions_by_code,
)
from roundplan.travel.roadway import exact

Use = dict[date, dict[str, Fraction]]
"""Units of each consumable, wastage included, by the date on which they are used."""

Stop = tuple[date, str]
"""A store on a trip: the first date whose sessions it can serve, and its code."""


def payload_limit(crew: Crew, travel: TravelSettings) -> float:
    """Return what a vehicle may carry, people included, in kg: payload less the reserve."""
    return float(exact(crew.payload_kg) * (1 - exact(travel.payload_reserve)))


def kit_allowance(crew: Crew, people: int, travel: TravelSettings) -> float:
    """Return the kg left for kit with so many people (drivers included) and their luggage on board."""
    body = exact(travel.person_kg) + exact(travel.luggage_kg)
    return float(exact(crew.payload_kg) * (1 - exact(travel.payload_reserve)) - people * body)


def load_trips(plan: Plan, training_round: TrainingRound) -> Plan:
    """Return the plan with each trip's loads, weight and volume filled in.

    Everything is loaded at the crew's base when the trip starts. Where that would break the payload or
    the loading space, the consumables of later sessions are taken on at stores at which the crew sleeps
    or teaches, if that makes the vehicle lighter or less full.
    """
    return dataclasses.replace(plan, trips=tuple(_loaded(trip, plan, training_round) for trip in plan.trips))


def trip_weight(trip: Trip, plan: Plan, training_round: TrainingRound) -> tuple[float, float]:
    """Return the most on board at any time of a trip, by its loads.

    What sessions of earlier dates used up is no longer on board.

    Returns
    -------
    tuple of float
        kg of people, luggage, kit and consumables; litres of kit and consumables.
    """
    return _most_on_board(trip, trip.loads, _use(trip, plan, training_round), training_round)


@dataclasses.dataclass(frozen=True, slots=True)
class Board:
    """What a vehicle carries on one date.

    Attributes
    ----------
    people : int
        Trainers and drivers.
    people_kg, kit_kg : float
        People with their luggage; kit and consumables.
    volume_l : float
        Kit and consumables.
    """

    date: date
    people: int
    people_kg: float
    kit_kg: float
    volume_l: float

    @property
    def weight_kg(self) -> float:
        """All of it."""
        return self.people_kg + self.kit_kg


def boards(trip: Trip, plan: Plan, training_round: TrainingRound) -> tuple[Board, ...]:
    """Return what a trip's vehicle carries on each date, by the trip's loads; the heaviest is its weight."""
    use = _use(trip, plan, training_round)
    drivers = training_round.crew(trip.crew).drivers
    found = []
    for day in trip.days:
        body, kit, litres = _board(trip, day, trip.loads, use, training_round)
        found.append(Board(day.date, drivers + len(day.aboard), float(body), float(kit), float(litres)))
    return tuple(found)


def stores_on(trip: Trip, plan: Plan, training_round: TrainingRound) -> tuple[Stop, ...]:
    """Return the stores at which a trip can take on more, each with the first date it can serve.

    A store is a place of that kind or any site with stock rows. A crew that teaches there loads on that
    date, one that sleeps there on the next.
    """
    stocked = {row.place for row in training_round.stock}
    stocked |= {place.code for place in training_round.places if PlaceKind.STORE in place.kinds}
    sessions = sessions_by_code(plan)
    stops: dict[Stop, None] = {}
    for eve, day in zip((None, *trip.days), trip.days, strict=False):
        if eve is not None and eve.night in stocked:
            stops[day.date, eve.night] = None
        for code in day.sessions:
            if sessions[code].venue in stocked:
                stops.setdefault((day.date, sessions[code].venue))
    return tuple(stops)


def _loaded(trip: Trip, plan: Plan, training_round: TrainingRound) -> Trip:
    use = _use(trip, plan, training_round)
    crew = training_round.crew(trip.crew)
    limit = payload_limit(crew, training_round.settings.travel)
    kit = reusables_of(trip, plan, training_round)
    base = (trip.days[0].date, crew.base)
    loads = _loads(kit, use, (base,), training_round)
    most = _most_on_board(trip, loads, use, training_round)
    stops = stores_on(trip, plan, training_round)
    if stops and _excess(most, crew, limit) > 0:
        split = _loads(kit, use, (base, *stops), training_round)
        lighter = _most_on_board(trip, split, use, training_round)
        if _excess(lighter, crew, limit) < _excess(most, crew, limit):
            loads, most = split, lighter
    return dataclasses.replace(trip, loads=loads, weight_kg=most[0], volume_l=most[1])


def _excess(most: tuple[float, float], crew: Crew, limit: float) -> float:
    """Return by how much kg and litres together exceed their limits, as shares; 0 where both fit."""
    kg, litres = most
    space = litres if crew.space_l is None else crew.space_l
    return max(0.0, kg - limit) / max(limit, 1.0) + max(0.0, litres - space) / max(space, 1.0)


def _use(trip: Trip, plan: Plan, training_round: TrainingRound) -> Use:
    return {
        day: {item.code: gross_units(item, counts) for item in consumables(training_round)}
        for day, counts in counts_by_date(trip, plan).items()
    }


def _loads(kit: dict[str, int], use: Use, stops: tuple[Stop, ...], training_round: TrainingRound) -> tuple[Load, ...]:
    """Return loads: each date's consumables from the last stop that serves it; whole units, rounded up once."""
    first_day, base = stops[0]
    loads = [Load(item=code, quantity=float(units), place=base, date=first_day) for code, units in kit.items()]
    wanted: dict[Stop, dict[str, Fraction]] = {stop: defaultdict(Fraction) for stop in stops}
    for day, units_by_item in use.items():
        source = [stop for stop in stops if stop[0] <= day][-1]
        for code, units in units_by_item.items():
            wanted[source][code] += units
    for item in consumables(training_round):
        so_far = Fraction(0)
        for (day, place), units_by_item in wanted.items():
            whole = math.ceil(so_far + units_by_item[item.code]) - math.ceil(so_far)
            so_far += units_by_item[item.code]
            if whole:
                loads.append(Load(item=item.code, quantity=float(whole), place=place, date=day))
    return tuple(loads)


def _most_on_board(trip: Trip, loads: tuple[Load, ...], use: Use, training_round: TrainingRound) -> tuple[float, float]:
    on_board = [_board(trip, day, loads, use, training_round) for day in trip.days]
    most_kg = max((body + kit for body, kit, _ in on_board), default=Fraction(0))
    return float(most_kg), float(max((litres for *_, litres in on_board), default=Fraction(0)))


def _board(
    trip: Trip, day: CrewDay, loads: tuple[Load, ...], use: Use, training_round: TrainingRound
) -> tuple[Fraction, Fraction, Fraction]:
    """Return kg of people and luggage, kg of kit and litres of kit on a date."""
    travel = training_round.settings.travel
    people = training_round.crew(trip.crew).drivers + len(day.aboard)
    kg = litres = Fraction(0)
    for code, number in _on_board(day, loads, use, training_round).items():
        item = training_round.item(code)
        kg += number * exact(item.unit_weight_kg)
        litres += number * exact(item.unit_volume_l)
    return people * (exact(travel.person_kg) + exact(travel.luggage_kg)), kg, litres


def _on_board(day: CrewDay, loads: tuple[Load, ...], use: Use, training_round: TrainingRound) -> dict[str, Fraction]:
    """Return the units on board on a date: what was loaded until then less what earlier dates used up."""
    units: dict[str, Fraction] = defaultdict(Fraction)
    for load in loads:
        if load.date <= day.date:
            units[load.item] += exact(load.quantity)
    for code in units:
        if training_round.item(code).kind is ItemKind.CONSUMABLE:
            used = sum((use[d].get(code, Fraction(0)) for d in use if d < day.date), Fraction(0))
            units[code] = max(Fraction(0), units[code] - math.floor(used))
    return units
