"""Cost lines of crews and trainers: legs, vehicle and driver days, trainers' days and nights, their lodging."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from roundplan.costs.price_list import PriceList
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CostEntry, Plan, Trip


def crew_lines(plan: Plan, prices: PriceList) -> Iterator[CostEntry]:
    """Yield what each trip costs, whatever its sessions."""
    for trip in plan.trips:
        yield from _legs(trip, prices)
        yield from _days(trip, prices)
        yield from _trainers(trip, prices)
        yield from _lodging(trip, prices)


def nights_of(trip: Trip) -> Counter[str]:
    """Return a trip's nights by site."""
    return Counter(day.night for day in trip.days if day.night is not None)


def trainer_nights(trip: Trip, prices: PriceList) -> Counter[tuple[str, str]]:
    """Return nights away from home by trainer and site: aboard on the date, and not left that evening."""
    return Counter(
        (aboard.trainer, day.night)
        for day in trip.days
        if day.night is not None
        for aboard in day.aboard
        if aboard.leaves_at is None and prices.away_from_home(prices.round.trainer(aboard.trainer), day.night)
    )


def _legs(trip: Trip, prices: PriceList) -> Iterator[CostEntry]:
    price = prices.round.crew(trip.crew).price_per_km
    for day in trip.days:
        for leg in day.legs:
            drive = leg.drive
            yield CostEntry(
                line=CostLine.CREW_TRAVEL.value,
                what=f"{trip.crew}: {drive.start} to {drive.end}, {day.date.isoformat()}",
                quantity=drive.km,
                unit="km",
                price=price,
                amount=round(drive.km * price),
                trip=trip.code,
            )


def _days(trip: Trip, prices: PriceList) -> Iterator[CostEntry]:
    crew = prices.round.crew(trip.crew)
    dates, nights = len(trip.days), nights_of(trip).total()
    rows = (
        ("vehicle", dates, "vehicle-day", crew.price_per_day),
        ("drivers, days", crew.drivers * dates, "driver-day", prices.of("driver_day")),
        ("drivers, nights", crew.drivers * nights, "driver-night", prices.of("driver_night")),
    )
    for what, quantity, unit, price in rows:
        if quantity and price is not None:
            yield CostEntry(
                line=CostLine.CREW_DAYS.value,
                what=f"{trip.crew}: {what}",
                quantity=float(quantity),
                unit=unit,
                price=price,
                amount=quantity * price,
                trip=trip.code,
            )


def _trainers(trip: Trip, prices: PriceList) -> Iterator[CostEntry]:
    dates = Counter(aboard.trainer for day in trip.days for aboard in day.aboard)
    nights: Counter[str] = Counter()
    for (code, _), number in trainer_nights(trip, prices).items():
        nights[code] += number
    for code in sorted(dates):
        trainer = prices.round.trainer(code)
        rows = (
            ("days", dates[code], "trainer-day", prices.trainer_day(trainer)),
            ("nights away", nights[code], "trainer-night", prices.of("trainer_night")),
        )
        for what, quantity, unit, price in rows:
            if quantity and price is not None:
                yield CostEntry(
                    line=CostLine.TRAINERS.value,
                    what=f"{trainer.name}: {what}",
                    quantity=float(quantity),
                    unit=unit,
                    price=price,
                    amount=quantity * price,
                    trip=trip.code,
                )


def _lodging(trip: Trip, prices: PriceList) -> Iterator[CostEntry]:
    drivers = prices.round.crew(trip.crew).drivers
    person_nights = Counter({site: drivers * number for site, number in nights_of(trip).items()})
    for (_, site), number in trainer_nights(trip, prices).items():
        person_nights[site] += number
    for site in sorted(person_nights):
        price, quantity = prices.lodging(site), person_nights[site]
        if quantity and price is not None:
            yield CostEntry(
                line=CostLine.LODGING.value,
                what=f"{trip.crew} at {prices.round.site(site).name}",
                quantity=float(quantity),
                unit="person-night",
                price=price,
                amount=quantity * price,
                trip=trip.code,
            )
