"""Rule vehicle-load: seats, payload and loading space on every date of a trip."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, day_words
from roundplan.domain.counts import counted
from roundplan.domain.plan import Trip
from roundplan.domain.rules import Rule
from roundplan.domain.supply import ItemKind
from roundplan.supplies.quantities import counts_by_date, gross_units
from roundplan.travel.roadway import exact


@dataclass(frozen=True, slots=True)
class DayLoad:
    """What a vehicle holds on a date: people with drivers, weight with people and luggage, volume of the kit."""

    date: date
    people: int
    kg: Fraction
    litres: Fraction


def used_by(book: Book, trip: Trip) -> dict[date, dict[str, Fraction]]:
    """Return the units of each consumable that each date of a trip uses, wastage included."""
    items = [item for item in book.round.items if item.kind is ItemKind.CONSUMABLE]
    return {
        day: {item.code: gross_units(item, counts) for item in items}
        for day, counts in counts_by_date(trip, book.plan).items()
    }


def day_loads(book: Book, trip: Trip) -> tuple[DayLoad, ...]:
    """Return what the vehicle holds on each date, by the loads listed; whole units used before are gone."""
    travel = book.settings.travel
    drivers = book.round.crew(trip.crew).drivers
    used = used_by(book, trip)
    found = []
    for day in trip.days:
        people = drivers + len(day.aboard)
        kg, litres = people * (exact(travel.person_kg) + exact(travel.luggage_kg)), Fraction(0)
        for code in dict.fromkeys(load.item for load in trip.loads):
            item = book.round.item(code)
            units = sum((exact(x.quantity) for x in trip.loads if x.item == code and x.date <= day.date), Fraction(0))
            gone = sum(
                (units_by[code] for on, units_by in used.items() if on < day.date and code in units_by), Fraction(0)
            )
            units = max(Fraction(0), units - math.floor(gone))
            kg += units * exact(item.unit_weight_kg)
            litres += units * exact(item.unit_volume_l)
        found.append(DayLoad(day.date, people, kg, litres))
    return tuple(found)


def vehicle_load(book: Book) -> Iterator[Breach]:
    """People fit the seats; people, luggage and kit fit payload less reserve and space."""
    for trip in book.plan.trips:
        crew = book.round.crew(trip.crew)
        limit = exact(crew.payload_kg) * (1 - exact(book.settings.travel.payload_reserve))
        for load in day_loads(book, trip):
            faults = []
            if load.people > crew.seats:
                faults.append(f"{counted(load.people, 'person')}, drivers included, for {counted(crew.seats, 'seat')}")
            if load.kg > limit:
                faults.append(
                    f"{float(load.kg):.1f} kg with people and luggage; payload less reserve is {float(limit):g} kg"
                )
            if crew.space_l is not None and load.litres > exact(crew.space_l):
                faults.append(f"{float(load.litres):.1f} litres of kit; the space is {crew.space_l:g} litres")
            for words in faults:
                full = f"{trip.code} of crew {crew.code} carries on {day_words(load.date)} {words}"
                yield Breach(Rule.VEHICLE_LOAD, full, (), crew.base, load.date)
