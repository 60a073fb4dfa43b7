"""Invented sites: what facilities are and allow, lodges, colleges and junctions.

Every figure is invented (common practice, no source).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import date, timedelta
from random import Random

from gen_land import Land, Spot
from gen_staff import HOSPITALS, SIZES, Size, deal

from roundplan.domain.dates import DaySet
from roundplan.domain.facility import Facility
from roundplan.domain.place import Place
from roundplan.domain.role import OnSiteCover, PlaceKind, SessionRoom, Transport

ON_SITE = (OnSiteCover.NO, OnSiteCover.OBSERVERS, OnSiteCover.OBSERVERS, OnSiteCover.INTERRUPTIBLE)


def make_facilities(
    land: Land, towns: list[str], names: Iterator[str], dates: tuple[date, ...], rng: Random
) -> list[tuple[Facility, Size]]:
    """Return every facility with its size; a third of them host."""
    spots = list(land.facilities())
    outer = [spot.code for group in land.outer for spot in group]
    hosts = set(rng.sample(outer, max(round(len(spots) / 3) - len(towns), 0)))
    hospital_sizes = deal(HOSPITALS, len(towns), rng)
    sizes = deal(SIZES, len(outer), rng)
    found: list[tuple[Facility, Size]] = []
    for spot in spots:
        central = spot is land.hospitals[spot.district]
        size = hospital_sizes.pop() if central else sizes.pop()
        name = towns[spot.district] if central else next(names)
        facility = _facility(land, spot, size, name, towns[spot.district], central, rng)
        if central or spot.code in hosts:
            facility = _as_host(facility, central, dates, rng)
        found.append((facility, size))
    return found


def _facility(land: Land, spot: Spot, size: Size, name: str, district: str, central: bool, rng: Random) -> Facility:
    share = 0.5 + spot.x / land.width + rng.uniform(-0.08, 0.08)
    languages = ("ny", "en") if share < 0.46 else ("tum", "en") if share > 0.54 else ("tum", "ny", "en")
    refers = not central and rng.random() < 0.3
    lodges = not central and rng.random() < 0.15
    kind = "District Hospital" if central else rng.choice(("Rural", "Community", "Mission")) + " Hospital"
    days = rng.choice((frozenset({1, 2, 3}), frozenset({0, 2, 4}), frozenset({1, 3, 4})))
    transport = rng.choice(tuple(Transport))
    return Facility(
        code=spot.code,
        name=f"{name} {kind}",
        latitude=spot.latitude,
        longitude=spot.longitude,
        district=district,
        teams_wanted=size.teams,
        usual_team=size.usual_team,
        priority=rng.choice((2, 3, 3, 3, 4, 4, 5)),
        languages=languages,
        refers_to=land.hospitals[spot.district].code if refers else None,
        course_days=DaySet(weekdays=days) if rng.random() < 0.12 else DaySet(),
        lodging_price=100 * rng.choice((18000, 22000, 26000)) if lodges else None,
        lodging_beds=rng.choice((6, 8, 10)) if lodges else None,
        transport=transport,
        transport_price=None if transport is Transport.PUBLIC else 100 * rng.choice((150, 240, 280)),
        exposure_contact="Clinical officer on duty",
    )


def _as_host(facility: Facility, central: bool, dates: tuple[date, ...], rng: Random) -> Facility:
    stations = rng.choice((1, 2, 2)) if central else rng.choice((1, 1, 2))
    draw = rng.random()
    room = SessionRoom.SPARE_ROOM if central or draw < 0.65 else SessionRoom.SECOND_THEATRE
    if not central and draw > 0.87:
        room = SessionRoom.ONLY_THEATRE
    first = rng.choice(dates)
    closed = rng.choice(
        (
            DaySet(),
            DaySet(),
            DaySet(),
            DaySet(weekdays=frozenset({rng.choice((0, 4))})),
            DaySet(stretches=((first, first + timedelta(days=rng.randrange(2, 8))),)),
        )
    )
    return dataclasses.replace(
        facility,
        stations=stations,
        session_room=room,
        room_limit=stations * rng.choice((18, 20, 22)),
        minutes_to_theatre=rng.choice((2, 4, 5, 8, 12)),
        on_site_cover=rng.choice(
            (OnSiteCover.NO, OnSiteCover.OBSERVERS, OnSiteCover.OBSERVERS, OnSiteCover.INTERRUPTIBLE)
        ),
        day_price=100 * rng.choice((0, 15000, 25000)),
        closed_days=closed,
    )


def make_places(land: Land, towns: list[str], dates: tuple[date, ...], rng: Random) -> tuple[Place, ...]:
    """Return a lodge in every district town, a college with rooms in every third, and the junctions."""
    found: list[Place] = []
    for number, (hospital, town) in enumerate(zip(land.hospitals, towns, strict=True)):
        lodge = Spot(f"LODGE{number + 1:03d}", hospital.x - 0.5, hospital.y + 0.4, number)
        found.append(
            Place(
                code=lodge.code,
                name=f"{town} Lodge",
                kinds=frozenset({PlaceKind.LODGING}),
                latitude=lodge.latitude,
                longitude=lodge.longitude,
                lodging_price=100 * rng.choice((34000, 38000, 42000)),
                lodging_beds=rng.choice((16, 20, 24, 30)),
            )
        )
        if number % 3 == 1 or len(towns) == 1:
            college = Spot(f"COLLEGE{number + 1:03d}", hospital.x + 0.9, hospital.y + 1.0, number)
            found.append(_college(college, town, dates, rng))
    for junction in land.junctions:
        found.append(
            Place(
                code=junction.code,
                name=f"Crossroads {junction.code[1:]}",
                kinds=frozenset({PlaceKind.JUNCTION}),
                latitude=junction.latitude,
                longitude=junction.longitude,
            )
        )
    return tuple(found)


def _college(spot: Spot, town: str, dates: tuple[date, ...], rng: Random) -> Place:
    first = rng.choice(dates)
    return Place(
        code=spot.code,
        name=f"{town} College of Nursing",
        kinds=frozenset({PlaceKind.VENUE, PlaceKind.LODGING}),
        latitude=spot.latitude,
        longitude=spot.longitude,
        stations=2,
        room_limit=50,
        day_price=100 * 60000,
        lodging_price=100 * 28000,
        lodging_beds=24,
        closed_days=DaySet(stretches=((first, first + timedelta(days=4)),)),
        exposure_contact="Casualty of the district hospital",
    )
