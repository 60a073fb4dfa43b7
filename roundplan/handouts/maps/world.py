"""Country outlines around a round, from the topology that the package carries (TopoJSON, quantised arcs)."""

from __future__ import annotations

import gzip
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from roundplan.handouts.maps.clipping import TURNS, Box, Point, clip_polygon

_FILE = "countries-50m.json.gz"


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


def outlines(box: Box) -> dict[str, Any]:
    """Return the countries inside a box as a GeoJSON feature collection, names in ``properties``."""
    world = _world()
    features: list[dict[str, Any]] = []
    for name, polygons in world.countries:
        parts = []
        for polygon in polygons:
            shell, *holes = (world.ring(ring) for ring in polygon)
            for turn in TURNS:
                cut = clip_polygon([[(x + turn, y) for x, y in ring] for ring in (shell, *holes)], box)
                parts.extend([cut] if cut else [])
        if parts:
            shape = {"type": "MultiPolygon", "coordinates": parts}
            features.append(
                {"type": "Feature", "id": str(len(features)), "properties": {"name": name}, "geometry": shape}
            )
    return {"type": "FeatureCollection", "features": features}
