"""A crew's drives as points and the stages between them: how far, on what road, in which direction."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from roundplan.domain.place import Road, Site
from roundplan.domain.plan import Drive, Leg
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.travel.distance import geodesic_km


@dataclass(frozen=True, slots=True)
class Stage:
    """From one point of a drive to the next.

    Attributes
    ----------
    bearing : float
        Direction at the start, degrees clockwise from north; the road may wind.
    straight_km : float
        Geodesic distance.
    road : Road or None
        The row of the roads table that joins the two, where there is one.
    """

    start: Site
    end: Site
    bearing: float
    straight_km: float
    road: Road | None


def points(drive: Drive) -> tuple[str, ...]:
    """Return the codes of a drive's points in order, both ends and those passed."""
    return (drive.start, *drive.via, drive.end)


def stages(index: PlanIndex, drive: Drive) -> Iterator[Stage]:
    """Yield a drive's stages in order."""
    for start, end in pairwise(points(drive)):
        here, there = index.training_round.site(start), index.training_round.site(end)
        yield Stage(here, there, bearing(here, there), geodesic_km(here, there), _road(index, start, end, drive.date))


def _road(index: PlanIndex, start: str, end: str, day: date) -> Road | None:
    """Return the shortest road row that is open between two points, in the direction driven."""
    found = [road for road in index.road_rows.get((start, end), ()) if not road.closed_on(day)]
    return min(found, key=lambda road: math.inf if road.km is None else road.km, default=None)


def bearing(start: Site, end: Site) -> float:
    """Return the initial bearing of the great circle on a sphere, in degrees clockwise from north."""
    here, there = math.radians(start.latitude), math.radians(end.latitude)
    turn = math.radians(end.longitude - start.longitude)
    east = math.sin(turn) * math.cos(there)
    north = math.cos(here) * math.sin(there) - math.sin(here) * math.cos(there) * math.cos(turn)
    return math.degrees(math.atan2(east, north)) % 360


def compass(degrees: float) -> str:
    """Say a bearing by the nearest of eight points of the compass."""
    said = (
        say("north"),
        say("north-east"),
        say("east"),
        say("south-east"),
        say("south"),
        say("south-west"),
        say("west"),
        say("north-west"),
    )
    return said[round(degrees / 45) % 8]


def coordinates(site: Site) -> str:
    """Write where a site is, in degrees to five decimals (about a metre) with the letters that maps use."""
    north = "N" if site.latitude >= 0 else "S"
    east = "E" if site.longitude >= 0 else "W"
    return f"{abs(site.latitude):.5f} {north}, {abs(site.longitude):.5f} {east}"


def legs_of(index: PlanIndex, crew: str) -> Iterator[tuple[str, Leg]]:
    """Yield a crew's legs in order, each with the code of its trip."""
    for trip in index.trips_of(crew):
        for day in trip.days:
            for leg in day.legs:
                yield trip.code, leg


def sites_of(index: PlanIndex, crew: str) -> tuple[Site, ...]:
    """Return every site that a crew starts from, passes, teaches or sleeps at, in the order of first coming."""
    codes: dict[str, None] = {}
    for trip in index.trips_of(crew):
        for day in trip.days:
            for leg in day.legs:
                codes.update(dict.fromkeys(points(leg.drive)))
            codes.update(dict.fromkeys(index.sessions[code].venue for code in day.sessions))
            if day.night is not None:
                codes[day.night] = None
    return tuple(index.training_round.site(code) for code in codes)
