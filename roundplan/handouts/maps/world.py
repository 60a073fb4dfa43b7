"""Country outlines around a round, from the topology that the package carries (TopoJSON, quantised arcs)."""

from __future__ import annotations

import gzip
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

Point = tuple[float, float]
"""Longitude, latitude in degrees."""

_FILE = "countries-50m.json.gz"
_DIGITS = 4  # decimals of a degree kept, about 11 m


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


@dataclass(frozen=True)
class Topology:
    """Countries as lists of rings, rings as lists of arc numbers (``~n`` is arc n backwards)."""

    arcs: tuple[tuple[Point, ...], ...]
    countries: tuple[tuple[str, tuple[tuple[tuple[int, ...], ...], ...]], ...]

    def ring(self, numbers: Sequence[int]) -> list[Point]:
        """Return the points of a ring, joints not repeated."""
        points: list[Point] = []
        for number in numbers:
            arc = self.arcs[number] if number >= 0 else self.arcs[~number][::-1]
            points.extend(arc[1:] if points else arc)
        return points


def decode_topology(raw: dict[str, Any]) -> Topology:
    """Return the countries of a quantised TopoJSON topology."""
    (scale_x, scale_y), (shift_x, shift_y) = raw["transform"]["scale"], raw["transform"]["translate"]
    arcs = []
    for steps in raw["arcs"]:
        x = y = 0
        points = []
        for step_x, step_y in steps:
            x, y = x + step_x, y + step_y
            points.append((x * scale_x + shift_x, y * scale_y + shift_y))
        arcs.append(tuple(points))
    countries = []
    for shape in raw["objects"]["countries"]["geometries"]:
        polygons = [shape["arcs"]] if shape["type"] == "Polygon" else shape.get("arcs", [])
        rings = tuple(tuple(tuple(ring) for ring in polygon) for polygon in polygons)
        countries.append((str(shape["properties"]["name"]), rings))
    return Topology(tuple(arcs), tuple(countries))


@cache
def _world() -> Topology:
    packed = files("roundplan.handouts").joinpath("vendor", _FILE).read_bytes()
    return decode_topology(json.loads(gzip.decompress(packed)))


def clip_ring(ring: Sequence[Point], box: Box) -> list[Point]:
    """Return a closed ring cut to a box, one edge after the other; empty where nothing lies inside.

    References
    ----------
    I. E. Sutherland, G. W. Hodgman, "Reentrant polygon clipping", Communications of the ACM 17 (1974).
    """
    points = list(ring)
    for axis, limit, sign in ((0, box.west, 1), (0, box.east, -1), (1, box.south, 1), (1, box.north, -1)):
        kept: list[Point] = []
        for start, end in zip(points[-1:] + points[:-1], points, strict=True):
            start_in, end_in = sign * (start[axis] - limit) >= 0, sign * (end[axis] - limit) >= 0
            if start_in != end_in:
                kept.append(_crossing(start, end, axis, limit))
            if end_in:
                kept.append(end)
        points = kept
    return points


def _crossing(start: Point, end: Point, axis: int, limit: float) -> Point:
    share = (limit - start[axis]) / (end[axis] - start[axis])
    other = start[1 - axis] + share * (end[1 - axis] - start[1 - axis])
    return (limit, other) if axis == 0 else (other, limit)


def outlines(box: Box) -> dict[str, Any]:
    """Return the countries inside a box as a GeoJSON feature collection, names in ``properties``."""
    world = _world()
    features: list[dict[str, Any]] = []
    for name, polygons in world.countries:
        parts = []
        for polygon in polygons:
            shell, *holes = (world.ring(ring) for ring in polygon)
            for turn in (0.0, 360.0):
                cut = _cut([shell, *holes], turn, box)
                parts.extend([cut] if cut else [])
        if parts:
            shape = {"type": "MultiPolygon", "coordinates": parts}
            features.append(
                {"type": "Feature", "id": str(len(features)), "properties": {"name": name}, "geometry": shape}
            )
    return {"type": "FeatureCollection", "features": features}


def _cut(rings: Sequence[Sequence[Point]], turn: float, box: Box) -> list[list[list[float]]]:
    """Return a polygon turned by whole circles and cut to the box, rings closed as GeoJSON wants them."""
    cut = []
    for number, ring in enumerate(rings):
        points = clip_ring([(x + turn, y) for x, y in ring], box)
        if len(points) >= 3:
            rounded = [[round(x, _DIGITS), round(y, _DIGITS)] for x, y in points]
            cut.append(rounded if rounded[0] == rounded[-1] else [*rounded, rounded[0]])
        elif number == 0:
            return []
    return cut
