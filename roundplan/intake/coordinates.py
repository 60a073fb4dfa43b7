"""Coordinates that look swapped, lack a sign or lie far outside the rest."""

from __future__ import annotations

import dataclasses
import math
import statistics
from collections.abc import Iterator, Sequence

from roundplan.domain.saying import Notice, saying
from roundplan.intake.finding import Finding
from roundplan.intake.rows import Built, finding_at

EARTH_KM = 6371.0
"""Mean radius; the screen needs no better."""
SURELY_WRONG_KM = 1500.0
"""No vehicle of a round drives so far from the rest."""
DOUBTFUL_KM = 300.0
AT_HOME_KM = 150.0
FEWEST_SITES = 3

Point = tuple[float, float]


def _vector(point: Point) -> tuple[float, float, float]:
    latitude, longitude = (math.radians(value) for value in point)
    across = math.cos(latitude)
    return across * math.cos(longitude), across * math.sin(longitude), math.sin(latitude)


def _km(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    return 2 * EARTH_KM * math.asin(min(1.0, math.dist(one, other) / 2))


def check_coordinates(sites: Sequence[Built], findings: list[Finding], warnings: list[Finding]) -> None:
    """Compare each site with the middle of all: a median, which a few wrong ones do not move.

    Parameters
    ----------
    sites : sequence of Built
        Facilities and places whose coordinates could be read.
    findings, warnings : list of Finding
        Grow.
    """
    if len(sites) < FEWEST_SITES:
        return
    points = [(built.made.latitude, built.made.longitude) for built in sites]
    vectors = [_vector(point) for point in points]
    middle = tuple(statistics.median(axis) for axis in zip(*vectors, strict=True))
    length = math.hypot(*middle)
    if length == 0:
        return
    middle = tuple(value / length for value in middle)
    away = [_km(vector, middle) for vector in vectors]
    usual = statistics.median(away)
    for built, point, distance in zip(sites, points, away, strict=True):
        home = max(AT_HOME_KM, 3 * usual)
        if distance <= max(DOUBTFUL_KM, 8 * usual):
            continue
        meant = next((words for words, other in _slips(point) if _km(_vector(other), middle) <= home), None)
        for found in _found(built, meant, distance):
            (findings if meant or distance > SURELY_WRONG_KM else warnings).append(found)


def _slips(point: Point) -> Iterator[tuple[str, Point]]:
    latitude, longitude = point
    if abs(longitude) <= 90:
        yield "latitude and longitude look swapped", (longitude, latitude)
    yield "the latitude seems to have the wrong sign", (-latitude, longitude)
    yield "the longitude seems to have the wrong sign", (latitude, -longitude)
    yield "both coordinates seem to have the wrong sign", (-latitude, -longitude)


def _found(built: Built, meant: str | None, distance: float) -> Iterator[Finding]:
    row = built.row
    column = "longitude" if meant and meant.startswith("the longitude") else "latitude"
    far = saying("the point lies {km} km from the middle of all facilities and places", km=round(distance))
    if meant is None:
        remedy = saying("check latitude and longitude")
        found = finding_at(row, "far-outside", column, str(far), str(remedy))
        notice = Notice(file=found.file, row=found.row, column=column, said=far, remedy=remedy)
        yield dataclasses.replace(found, notice=notice)
    else:
        yield finding_at(row, "swapped-coordinates", column, f"{meant}: {far}", "correct latitude and longitude")
