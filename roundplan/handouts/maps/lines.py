"""Lines of the map: crews' trips and participants' journeys, as gentle bows between the sites passed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from roundplan.domain.plan import Drive
from roundplan.handouts.maps.clipping import Point
from roundplan.handouts.plan_index import PlanIndex

_STEPS = 10  # straight pieces of one bow
_COLOURS = ("#1c3f6b", "#9a3b1b", "#2f6b3a", "#6a3d83", "#7a5c00", "#0f6f78", "#444444")
_DASHES = ("", "11 6", "3 6", "15 5 3 5", "22 6", "7 4 3 4 3 4")


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How a crew's legs are drawn; colour and dashes differ together, so that either tells crews apart.

    Attributes
    ----------
    dashes : str
        Lengths of strokes and gaps in pixels; empty = unbroken.
    place : int
        Place of the crew in the list of crews, from 0.
    """

    colour: str
    dashes: str
    place: int

    @property
    def bow(self) -> float:
        """How far lines bow out, as a share of their length."""
        return 0.08 + 0.05 * (self.place % 4)

    @property
    def edge(self) -> str:
        """Line style of the frame round a leg's number: unbroken as the line is, or not."""
        return "dashed" if self.dashes else "solid"

    @property
    def token(self) -> str:
        """Class of everything that belongs to the crew; holds nothing of its name."""
        return f"crew-{self.place}"


def crew_styles(crews: Sequence[str]) -> dict[str, LineStyle]:
    """Return a style for each crew; 42 pairs of colour and dashes come before the first repeats."""
    return {crew: LineStyle(_COLOURS[i % len(_COLOURS)], _DASHES[i % len(_DASHES)], i) for i, crew in enumerate(crews)}


class Locator:
    """Where sites lie on the map; longitudes run on past 180 degrees if the round lies on both sides of it."""

    def __init__(self, index: PlanIndex) -> None:
        sites = index.training_round.sites()
        longitudes = [site.longitude for site in sites]
        turn = bool(sites) and max(longitudes) - min(longitudes) > 180
        self.points: dict[str, Point] = {
            s.code: (s.longitude + 360 if turn and s.longitude < 0 else s.longitude, s.latitude) for s in sites
        }

    def hop(self, start: str, end: str, bow: float) -> list[Point]:
        """Return the points of a line between two sites; none where they lie at one point."""
        a, b = self.points[start], self.points[end]
        return [] if a == b else _bow(a, b, bow)

    def path(self, drive: Drive, bow: float) -> list[Point]:
        """Return the points of a drive's line, through the sites passed."""
        stops = (drive.start, *drive.via, drive.end)
        hops = [hop for a, b in pairwise(stops) if (hop := self.hop(a, b, bow))]
        return [point for number, hop in enumerate(hops) for point in (hop if number == 0 else hop[1:])]


def _bow(start: Point, end: Point, bow: float) -> list[Point]:
    """Return points on a curve from start to end that bows to the right of the way there."""
    narrow = math.cos(math.radians((start[1] + end[1]) / 2))
    east, north = (end[0] - start[0]) * narrow, end[1] - start[1]
    points = []
    for step in range(_STEPS + 1):
        share = step / _STEPS
        out = 4 * share * (1 - share) * bow
        longitude = start[0] + share * (end[0] - start[0]) + out * north / narrow
        points.append((round(longitude, 5), round(start[1] + share * (end[1] - start[1]) - out * east, 5)))
    return points


def label_point(path: Sequence[Point], taken: Sequence[Point]) -> Point:
    """Return where a line's number stands: at the point of its inner part that lies farthest from points taken."""
    inner = path[len(path) // 6 : len(path) - len(path) // 6] or path
    middle = path[len(path) // 2]
    if not taken:
        return middle
    narrow = math.cos(math.radians(middle[1]))

    def clear(point: Point) -> float:
        return min(math.hypot((point[0] - x) * narrow, 2 * (point[1] - y)) for x, y in taken)

    return max(inner, key=clear)
