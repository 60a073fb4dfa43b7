"""Features of GeoJSON as folium takes them: no text but entities, no ids but numbers."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from roundplan.handouts.maps.clipping import Box, Point, clip_geometry
from roundplan.handouts.offline import entities

Feature = dict[str, Any]


def feature(number: int, geometry: dict[str, Any], lines: Iterable[str], head: str) -> Feature:
    """Return a feature with its name and what is said when it is touched."""
    said = f"<b>{entities(head)}</b>" + "".join(f"<br>{entities(line)}" for line in lines)
    properties = {"name": entities(head), "said": said}
    return {"type": "Feature", "id": str(number), "properties": properties, "geometry": geometry}


def collection(features: Sequence[Feature]) -> dict[str, Any]:
    """Return a feature collection."""
    return {"type": "FeatureCollection", "features": list(features)}


def point(where: Point) -> dict[str, Any]:
    """Return a point."""
    return {"type": "Point", "coordinates": list(where)}


def line(path: Sequence[Point]) -> dict[str, Any]:
    """Return a line."""
    return {"type": "LineString", "coordinates": [list(where) for where in path]}


def base_features(base_map: str, box: Box) -> list[Feature]:
    """Return the user's own outlines inside a box.

    Parameters
    ----------
    base_map : str
        GeoJSON as the intake leaves it: geometries and names alone.
    """
    made: list[Feature] = []
    for source in json.loads(base_map)["features"]:
        for geometry in clip_geometry(source["geometry"], box):
            made.append(feature(len(made), geometry, (), source["properties"]["name"]))
    return made
