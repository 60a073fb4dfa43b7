"""Shapes of GeoJSON (RFC 7946) cut to a box; rings come out closed and by the right-hand rule."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

Point = tuple[float, float]
"""Longitude, latitude in degrees."""

DIGITS = 4
"""Decimals of a degree kept, about 11 m."""

TURNS = (0.0, 360.0)
"""Shapes are looked for as they stand and turned once round the earth, for rounds on both sides of 180°."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in degrees; ``east`` may exceed 180 where a round lies on both sides of that meridian."""

    west: float
    south: float
    east: float
    north: float

    def grown(self, least: float, share: float) -> Box:
        """Return the box with a margin all round: ``share`` of its longer side, at least ``least`` degrees."""
        margin = max(least, share * max(self.east - self.west, self.north - self.south))
        return Box(
            self.west - margin, max(self.south - margin, -85.0), self.east + margin, min(self.north + margin, 85.0)
        )

    def holds(self, point: Point) -> bool:
        """Whether a point lies in the box or on its edge."""
        return self.west <= point[0] <= self.east and self.south <= point[1] <= self.north

    def sides(self) -> tuple[tuple[int, float, int], ...]:
        """Return axis, limit and sign of each side; a point is inside where sign × (point − limit) ≥ 0."""
        return ((0, self.west, 1), (0, self.east, -1), (1, self.south, 1), (1, self.north, -1))


def clip_ring(ring: Sequence[Point], box: Box) -> list[Point]:
    """Return a closed ring cut to a box, one edge after the other; empty where nothing lies inside.

    References
    ----------
    I. E. Sutherland, G. W. Hodgman, "Reentrant polygon clipping", Communications of the ACM 17 (1974).
    """
    points = list(ring)
    for axis, limit, sign in box.sides():
        kept: list[Point] = []
        for start, end in zip(points[-1:] + points[:-1], points, strict=True):
            start_in, end_in = sign * (start[axis] - limit) >= 0, sign * (end[axis] - limit) >= 0
            if start_in != end_in:
                kept.append(_crossing(start, end, axis, limit))
            if end_in:
                kept.append(end)
        points = kept
    return points


def clip_line(line: Sequence[Point], box: Box) -> list[list[Point]]:
    """Return the parts of a line that lie in a box."""
    parts: list[list[Point]] = []
    for start, end in pairwise(line):
        piece = _inside(start, end, box)
        if piece is None or piece[0] == piece[1]:
            continue
        if parts and parts[-1][-1] == piece[0] == start:
            parts[-1].append(piece[1])
        else:
            parts.append(list(piece))
    return parts


def _inside(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """Return the stretch of a straight piece within the box."""
    for axis, limit, sign in box.sides():
        start_in, end_in = sign * (start[axis] - limit) >= 0, sign * (end[axis] - limit) >= 0
        if not start_in and not end_in:
            return None
        if not start_in:
            start = _crossing(start, end, axis, limit)
        elif not end_in:
            end = _crossing(start, end, axis, limit)
    return start, end


def _crossing(start: Point, end: Point, axis: int, limit: float) -> Point:
    share = (limit - start[axis]) / (end[axis] - start[axis])
    other = start[1 - axis] + share * (end[1 - axis] - start[1 - axis])
    return (limit, other) if axis == 0 else (other, limit)


def clip_polygon(rings: Sequence[Sequence[Point]], box: Box) -> list[list[list[float]]]:
    """Return a polygon cut to the box: the outer ring against the clock, holes with it; empty where none is left."""
    cut: list[list[list[float]]] = []
    for number, ring in enumerate(rings):
        points = [_rounded(point) for point in clip_ring(ring, box)]
        distinct = [point for point, before in zip(points, points[-1:] + points[:-1], strict=True) if point != before]
        if len(distinct) >= 3:
            outer = number == 0
            turned = distinct if (_doubled_area(distinct) > 0) == outer else distinct[::-1]
            cut.append([list(point) for point in (*turned, turned[0])])
        elif number == 0:
            return []
    return cut


def _rounded(point: Point) -> Point:
    return round(point[0], DIGITS), round(point[1], DIGITS)


def _doubled_area(ring: Sequence[Point]) -> float:
    """Return twice the area of a ring, positive where it runs against the clock."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))


def clip_geometry(geometry: dict[str, Any], box: Box) -> Iterator[dict[str, Any]]:
    """Yield what lies in the box of a point, line or polygon, one or many, as plain geometries."""
    kind, many = geometry["type"].removeprefix("Multi"), geometry["type"].startswith("Multi")
    for shape in geometry["coordinates"] if many else [geometry["coordinates"]]:
        for turn in TURNS:
            for cut in _CLIPPERS[kind](shape, turn, box):
                yield {"type": kind, "coordinates": cut}


def _clip_point(shape: Any, turn: float, box: Box) -> Iterator[Any]:
    point = _rounded((shape[0] + turn, shape[1]))
    if box.holds(point):
        yield list(point)


def _clip_line(shape: Any, turn: float, box: Box) -> Iterator[Any]:
    for part in clip_line([(x + turn, y) for x, y in shape], box):
        yield [list(_rounded(point)) for point in part]


def _clip_polygon(shape: Any, turn: float, box: Box) -> Iterator[Any]:
    cut = clip_polygon([[(x + turn, y) for x, y in ring] for ring in shape], box)
    if cut:
        yield cut


_CLIPPERS = {"Point": _clip_point, "LineString": _clip_line, "Polygon": _clip_polygon}
