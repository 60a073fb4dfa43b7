"""Invented roads: trunk roads between district hospitals, links across, hours entered, ferries and closures."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise
from random import Random

from gen_land import KM2_PER_FACILITY, SPEED, Land, Link, Spot, apart, district_sizes, string_out, trunk_pairs

from roundplan.domain.role import Surface


def make_land(facilities: int, first_day: date, dates: int, rng: Random) -> Land:
    """Return the land of so many facilities; closures fall in ``dates`` from the first day."""
    area = facilities * KM2_PER_FACILITY
    width, height = math.sqrt(area * 1.2), math.sqrt(area / 1.2)
    land = Land(width)
    sizes = district_sizes(facilities, rng)
    for number in range(len(sizes)):
        x, y = apart(land.hospitals, width, height, rng)
        land.hospitals.append(Spot(f"D{number + 1:03d}F01", x, y, number))
    trunk = trunk_pairs(land.hospitals)
    along: dict[tuple[int, int], list[Spot]] = {}
    for number, size in enumerate(sizes):
        land.outer.append(string_out(land, number, size - 1, trunk, along, rng))
    _pave(land, trunk, along, rng)
    _join_across(land, rng)
    _enter_hours(land, rng)
    _ferries_and_closures(land, first_day, dates, rng)
    return land


def _pave(land: Land, trunk: list[tuple[int, int]], along: dict[tuple[int, int], list[Spot]], rng: Random) -> None:
    """Lay the trunk roads through the facilities on them; a long empty stretch gets a junction."""
    for a, b in trunk:
        line = [land.hospitals[a], *along.get((a, b), []), *reversed(along.get((b, a), [])), land.hospitals[b]]
        for start, end in pairwise(line):
            if start.km_to(end) > 45 and rng.random() < 0.6:
                share = rng.uniform(0.4, 0.6)
                x, y = start.x + share * (end.x - start.x), start.y + share * (end.y - start.y)
                junction = Spot(f"J{len(land.junctions) + 1:03d}", x, y, a)
                land.junctions.append(junction)
                land.links += [Link(start, junction, Surface.PAVED), Link(junction, end, Surface.PAVED)]
            else:
                land.links.append(Link(start, end, Surface.PAVED))


def _join_across(land: Land, rng: Random) -> None:
    """Join facilities to neighbours of other branches, and junctions to the nearest facility."""
    joined = {frozenset((link.start.code, link.end.code)) for link in land.links}
    spots = list(land.facilities())
    for spot in (*spots, *land.junctions):
        near = sorted((spot.km_to(o), o.code, o) for o in spots if o is not spot and spot.km_to(o) < 40)
        free = [o for _, code, o in near[:4] if frozenset((spot.code, code)) not in joined]
        if free and rng.random() < (0.9 if spot.code.startswith("J") else 0.4):
            draw = rng.random()
            surface = Surface.GRAVEL if draw < 0.25 else Surface.EARTH if draw < 0.8 else Surface.TRACK
            land.links.append(Link(spot, free[0], surface))
            joined.add(frozenset((spot.code, free[0].code)))


def _enter_hours(land: Land, rng: Random) -> None:
    """Enter the hours of some roads, as their drivers know them; half of the tracks have them."""
    share = {Surface.PAVED: 0.25, Surface.GRAVEL: 0.35, Surface.EARTH: 0.35, Surface.TRACK: 0.5}
    for link in land.links:
        if rng.random() < share[link.surface]:
            link.hours = round(link.km / SPEED[link.surface] * rng.uniform(0.95, 1.35), 2)


def _ferries_and_closures(land: Land, first_day: date, dates: int, rng: Random) -> None:
    """Put a river crossing with hours and a few closures on roads that are not paved."""
    rough = [link for link in land.links if link.surface is not Surface.PAVED]
    count = sum(1 for _ in land.facilities())
    for link in rng.sample(rough, min(len(rough), max(1, count // 30))):
        link.hours = round(link.km / 30 + 0.4, 2)
        link.gate = (6 * 3600 + 1800 * rng.randrange(2), 17 * 3600 + 1800 * rng.randrange(2))
    for link in rng.sample(rough, min(len(rough), max(1, count // 40))):
        first = first_day + timedelta(days=rng.randrange(max(dates - 4, 1)))
        link.closures = ((first, first + timedelta(days=rng.randrange(3, 11))),)
