"""Invented land: districts round their hospitals, facilities strung along roads; ``gen_roads`` lays the rest of them.

Every figure is invented; shapes follow common practice, no source: paved trunk roads between district hospitals, gravel
and earth beyond, a track or a ferry at the end. Distances are kilometres on a plane, turned into degrees at the end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from random import Random

from roundplan.domain.place import Road
from roundplan.domain.role import Surface

KM2_PER_FACILITY = 300 * 250 / 60
"""So that land grows with the number of facilities."""
SPEED = {Surface.PAVED: 60.0, Surface.GRAVEL: 40.0, Surface.EARTH: 25.0, Surface.TRACK: 15.0}
WINDING = {Surface.PAVED: 1.15, Surface.GRAVEL: 1.25, Surface.EARTH: 1.3, Surface.TRACK: 1.35}
MIDDLE = (-11.0, 31.0)
"""Latitude and longitude of the land's middle, in degrees: land of any size has much the same sun."""


@dataclass(slots=True)
class Spot:
    """A point of the land.

    Attributes
    ----------
    x, y : float
        Kilometres east and north of the land's middle.
    district : int
        Number of its district, from 0.
    """

    code: str
    x: float
    y: float
    district: int

    @property
    def latitude(self) -> float:
        """Degrees, rounded as a manager would enter them."""
        return round(MIDDLE[0] + self.y / 110.57, 4)

    @property
    def longitude(self) -> float:
        """Degrees, rounded as a manager would enter them."""
        return round(MIDDLE[1] + self.x / (111.32 * math.cos(math.radians(self.latitude))), 4)

    def km_to(self, other: Spot) -> float:
        """Return the straight line in km."""
        return math.hypot(self.x - other.x, self.y - other.y)


@dataclass(slots=True)
class Link:
    """One stretch of road."""

    start: Spot
    end: Spot
    surface: Surface
    hours: float | None = None
    closures: tuple[tuple[date, date], ...] = ()
    gate: tuple[int, int] | None = None

    @property
    def km(self) -> float:
        """Length by road."""
        return round(max(self.start.km_to(self.end), 0.5) * WINDING[self.surface], 1)


@dataclass(slots=True)
class Land:
    """Spots and roads.

    Attributes
    ----------
    hospitals : list of Spot
        The district hospitals, one a district.
    outer : list of list of Spot
        The other facilities, by district.
    junctions : list of Spot
        Points on the trunk roads.
    """

    width: float
    hospitals: list[Spot] = field(default_factory=list)
    outer: list[list[Spot]] = field(default_factory=list)
    junctions: list[Spot] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)

    def facilities(self) -> Iterator[Spot]:
        """Yield every facility, district by district, its hospital first."""
        for hospital, others in zip(self.hospitals, self.outer, strict=True):
            yield hospital
            yield from others

    def roads(self) -> tuple[Road, ...]:
        """Return the road rows."""
        return tuple(
            Road(
                start=link.start.code,
                end=link.end.code,
                km=link.km,
                hours=link.hours,
                surface=link.surface,
                closures=link.closures,
                open_from=link.gate[0] if link.gate else None,
                open_to=link.gate[1] if link.gate else None,
            )
            for link in self.links
        )


def district_sizes(facilities: int, rng: Random) -> list[int]:
    """Return how many facilities each district has, hospital included: about nine, 6 to 12 in a larger round."""
    count = max(1, math.ceil(facilities / 9))
    sizes = [facilities // count + (number < facilities % count) for number in range(count)]
    for _ in range(2 * count):
        one, other = rng.randrange(count), rng.randrange(count)
        if one != other and sizes[one] < 12 and sizes[other] > 6:
            sizes[one] += 1
            sizes[other] -= 1
    return sizes


def apart(placed: list[Spot], width: float, height: float, rng: Random) -> tuple[float, float]:
    """Return the one of some random points that lies farthest from what is placed (best candidate)."""
    margin = 0.12 * min(width, height)
    east, north = width / 2 - margin, height / 2 - margin
    options = [(rng.uniform(-east, east), rng.uniform(-north, north)) for _ in range(20)]
    if not placed:
        return min(options, key=lambda p: math.hypot(*p))
    return max(options, key=lambda p: min(math.hypot(p[0] - s.x, p[1] - s.y) for s in placed))


def trunk_pairs(hospitals: list[Spot]) -> list[tuple[int, int]]:
    """Return which districts a paved road joins: a shortest tree, and each hospital's nearest two."""
    count = len(hospitals)
    pairs: set[tuple[int, int]] = set()
    nearest = {k: (hospitals[0].km_to(hospitals[k]), 0) for k in range(1, count)}
    while nearest:
        k = min(nearest, key=lambda n: (nearest[n][0], n))
        pairs.add((min(k, nearest[k][1]), max(k, nearest[k][1])))
        del nearest[k]
        for other in nearest:
            nearest[other] = min(nearest[other], (hospitals[k].km_to(hospitals[other]), k))
    for k in range(count):
        others = sorted((hospitals[k].km_to(hospitals[o]), o) for o in range(count) if o != k)
        pairs.update((min(k, o), max(k, o)) for _, o in others[:2])
    return sorted(pairs)


def string_out(
    land: Land,
    number: int,
    size: int,
    trunk: list[tuple[int, int]],
    along: dict[tuple[int, int], list[Spot]],
    rng: Random,
) -> list[Spot]:
    """Place a district's other facilities along its roads: some on the trunk, the rest on branches of their own."""
    hospital = land.hospitals[number]
    neighbours = [b if a == number else a for a, b in trunk if number in (a, b)]
    arms: list[tuple[float, int | None]] = []
    for other in neighbours[:2]:
        far = land.hospitals[other]
        arms.append((math.atan2(far.y - hospital.y, far.x - hospital.x), other))
    turn = rng.uniform(0, 2 * math.pi)
    while len(arms) < (3 if size < 7 else 4):
        turn += 2.4 + rng.uniform(-0.3, 0.3)  # the golden angle, roughly: branches spread out
        arms.append((turn, None))
    tips = [hospital] * len(arms)
    found: list[Spot] = []
    order = list(range(len(arms)))
    while len(found) < size:
        if len(found) % len(arms) == 0:
            rng.shuffle(order)
        arm = order[len(found) % len(arms)]
        spot = _next_along(land, hospital, tips[arm], arms[arm], f"D{number + 1:03d}F{len(found) + 2:02d}", rng)
        toward = arms[arm][1]
        if toward is None:
            close = tips[arm] is hospital
            gravel = rng.random() < (0.75 if close else 0.35)
            land.links.append(Link(tips[arm], spot, Surface.GRAVEL if gravel else Surface.EARTH))
        else:
            along.setdefault((number, toward), []).append(spot)
        tips[arm] = spot
        found.append(spot)
    return found


def _next_along(land: Land, hospital: Spot, tip: Spot, arm: tuple[float, int | None], code: str, rng: Random) -> Spot:
    """Return the next facility of an arm, 12 to 30 km on; on a trunk road it stays on its own half."""
    angle, toward = arm
    step = rng.uniform(12, 30)
    if toward is not None:
        left = 0.45 * hospital.km_to(land.hospitals[toward]) - hospital.km_to(tip)
        step = min(step, max(left, 4) * rng.uniform(0.5, 0.9))
    angle += rng.uniform(-0.15, 0.15)
    x, y = tip.x + step * math.cos(angle), tip.y + step * math.sin(angle)
    east, north = land.width / 2 - 2, land.width / 2.4 - 2
    return Spot(code, min(max(x, -east), east), min(max(y, -north), north), hospital.district)
