"""Distances, and what counts as near."""

from __future__ import annotations

import pytest
from rounds import place

from roundplan.travel.distance import geodesic_km, near

KM_A_DEGREE_AT_EQUATOR = 111.319490793
"""One degree of longitude on the equator: 2π × 6378.137 km ÷ 360."""


def test_one_degree_on_the_equator() -> None:
    assert geodesic_km(place("A", 0, 10), place("B", 0, 11)) == pytest.approx(KM_A_DEGREE_AT_EQUATOR, abs=1e-6)


def test_distance_is_the_same_both_ways_and_nought_to_itself() -> None:
    a, b = place("A", -12.6, 33.8), place("B", 27.7, 85.3)
    assert geodesic_km(a, b) == pytest.approx(geodesic_km(b, a), abs=1e-9)
    assert geodesic_km(a, a) == 0


@pytest.mark.parametrize(("km", "is_near"), [(0.0, True), (1.999, True), (2.001, False), (50.0, False)])
@pytest.mark.parametrize("latitude", [0.0, 60.0, -85.0])
def test_near_means_within_two_kilometres_in_any_direction(km: float, is_near: bool, latitude: float) -> None:
    centre = place("A", latitude, 179.999)
    metre_north = geodesic_km(centre, place("M", latitude + 0.001, 179.999))
    north = place("N", latitude + 0.001 * km / metre_north, 179.999)
    metre_east = geodesic_km(centre, place("M", latitude, 179.998))
    west = place("W", latitude, 179.999 - 0.001 * km / metre_east)
    assert near(centre, north) is is_near
    assert near(centre, west) is is_near
    assert near(north, centre) is is_near


def test_the_date_line_is_no_distance() -> None:
    assert near(place("A", 0, 179.995), place("B", 0, -179.995))


def test_the_same_code_is_always_near() -> None:
    assert near(place("A", 0, 0), place("A", 5, 5))
