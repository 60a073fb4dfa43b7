"""Outlines of the user's own for the map: GeoJSON (RFC 7946), checked and brought down to shapes and names.

Nothing else of the file goes on: what the snapshot and the map hold is made anew from numbers and short texts.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from roundplan.intake.cleaning import forbidden_character, tidy
from roundplan.intake.finding import Finding, quoted
from roundplan.intake.settings_reader import SettingsRead

MOST_MEGABYTES = 20
"""Size from which a file is refused: the map would be too heavy for a phone (common practice, no source)."""
LONGEST_NAME = 120
DECIMALS = 5  # of a degree: about a metre
COLUMN = "map.base"

_DEPTH = {"Point": 0, "MultiPoint": 1, "LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}
_WGS_84 = ("CRS84", "EPSG::4326", "EPSG:4326")

Shape = dict[str, Any]


class BadShape(Exception):
    """What is wrong with a file or a shape, in plain words, and what to do about it."""

    def __init__(
        self, words: str, remedy: str = "save it as GeoJSON, a feature collection in degrees (WGS 84)"
    ) -> None:
        super().__init__(words)
        self.remedy = remedy


def read_base_map(folder: Path, settings: SettingsRead, findings: list[Finding]) -> str:
    """Read the file that ``[map] base`` names; what is wrong in it becomes findings.

    Parameters
    ----------
    folder : Path
        Where round.toml or the workbook lies.
    settings : SettingsRead
        The settings as read.
    findings : list of Finding
        Grows.

    Returns
    -------
    str
        A feature collection with geometries and names alone; empty where none is named or it cannot be used.
    """
    name = settings.settings.map.base
    if not name:
        return ""
    try:
        made, wrong = _shapes(list(_features(_content(folder / name))))
        if not made and not wrong:
            raise BadShape("holds no shapes", "check the file, or leave base blank")
    except BadShape as bad:
        findings.append(settings.finding("bad-base-map", COLUMN, f"{quoted(name)} {bad}", bad.remedy))
        return ""
    for words, numbers in wrong.items():
        where = f"feature {numbers[0]}" + (f" and {len(numbers) - 1} more" if len(numbers) > 1 else "")
        said = f"{quoted(name)} has a fault in {where}: {words}"
        findings.append(settings.finding("bad-base-map", COLUMN, said, "mend the file, or leave base blank"))
    if wrong:
        return ""
    return json.dumps({"type": "FeatureCollection", "features": made}, ensure_ascii=False, separators=(",", ":")) + "\n"


def _content(path: Path) -> Any:
    """Return what a file holds as JSON."""
    if not path.is_file():
        raise BadShape("is not there", "put the file beside round.toml, or leave base blank")
    try:
        if path.stat().st_size > MOST_MEGABYTES * 1_000_000:
            raise BadShape(f"is larger than {MOST_MEGABYTES} megabytes", "save it with fewer points")
        return json.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise BadShape(f"cannot be read: {error.strerror or error}", "check the file") from None
    except (ValueError, RecursionError):
        raise BadShape("is no JSON in UTF-8", "save it as GeoJSON") from None


def _features(content: Any) -> Iterator[Shape]:
    """Yield the features of a collection, a feature or a bare geometry."""
    if not isinstance(content, dict):
        raise BadShape("is no GeoJSON")
    crs = json.dumps(content.get("crs"))
    if content.get("crs") is not None and not any(name in crs for name in _WGS_84):
        raise BadShape("is not in degrees of WGS 84")
    kind = content.get("type")
    if kind == "FeatureCollection":
        if not isinstance(content.get("features"), list):
            raise BadShape("has no list of features")
        yield from content["features"]
    elif kind == "Feature":
        yield content
    elif kind in _DEPTH or kind == "GeometryCollection":
        yield {"type": "Feature", "properties": None, "geometry": content}
    else:
        raise BadShape("is no GeoJSON")


def _shapes(features: list[Any]) -> tuple[list[Shape], dict[str, list[int]]]:
    """Return the features made anew, and what is wrong with the numbers of the features it is wrong in."""
    made: list[Shape] = []
    wrong: dict[str, list[int]] = {}
    for number, feature in enumerate(features, start=1):
        try:
            if not isinstance(feature, dict) or feature.get("type") != "Feature":
                raise BadShape("it is no feature")
            name = _name(feature.get("properties"))
            for geometry in _geometries(feature.get("geometry")):
                made.append({"type": "Feature", "properties": {"name": name}, "geometry": geometry})
        except BadShape as bad:
            wrong.setdefault(str(bad), []).append(number)
    return made, wrong


def _name(properties: Any) -> str:
    name = properties.get("name") if isinstance(properties, dict) else None
    if not isinstance(name, str) or forbidden_character(tidy(name)) is not None:
        return ""
    return tidy(name)[:LONGEST_NAME]


def _geometries(geometry: Any) -> Iterator[Shape]:
    """Yield plain geometries; collections are taken apart, a feature without a place has none."""
    waiting = [geometry]
    while waiting:
        geometry = waiting.pop(0)
        if geometry is None:
            continue
        kind = geometry.get("type") if isinstance(geometry, dict) else None
        if kind == "GeometryCollection":
            parts = geometry.get("geometries")
            if not isinstance(parts, list):
                raise BadShape("a collection has no list of geometries")
            waiting[:0] = parts
        elif isinstance(kind, str) and kind in _DEPTH:
            yield {"type": kind, "coordinates": _coordinates(geometry.get("coordinates"), kind, _DEPTH[kind])}
        else:
            raise BadShape("its geometry is of no kind that GeoJSON knows")


def _coordinates(raw: Any, kind: str, depth: int) -> list[Any]:
    if depth == 0:
        return _position(raw)
    if not isinstance(raw, list):
        raise BadShape("its coordinates are not nested as its kind asks for")
    made = [_coordinates(part, kind, depth - 1) for part in raw]
    if depth == 1:
        _check_row(made, kind)
    return made


def _position(raw: Any) -> list[float]:
    if not isinstance(raw, list) or len(raw) < 2 or not all(_is_number(part) for part in raw[:2]):
        raise BadShape("a position is no pair of numbers, longitude and latitude")
    longitude, latitude = float(raw[0]), float(raw[1])
    if not (-180 <= longitude <= 180 and -90 <= latitude <= 90):
        raise BadShape("a position lies outside the earth: longitude −180 to 180, then latitude −90 to 90, in degrees")
    return [round(longitude, DECIMALS), round(latitude, DECIMALS)]


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and -1e9 < value < 1e9


def _check_row(points: list[list[float]], kind: str) -> None:
    if kind.endswith("LineString") and len(points) < 2:
        raise BadShape("a line has fewer than two positions")
    if kind.endswith("Polygon") and (len(points) < 4 or points[0] != points[-1]):
        raise BadShape("a ring has fewer than four positions or does not end where it begins")
