"""Straight-line distances on the WGS 84 ellipsoid."""

from __future__ import annotations

from functools import lru_cache

from geopy.distance import geodesic

from roundplan.domain.place import Site

NEAR_KM = 2.0
"""Two sites within this geodesic distance (km) need no leg between them."""

_NEAR_DEGREES = 0.0181
"""Latitude (degrees) that 2 km never exceed: a degree is at least 110.57 km."""


def geodesic_km(a: Site, b: Site) -> float:
    """Return the geodesic distance between two sites in km."""
    return _geodesic_km(a.latitude, a.longitude, b.latitude, b.longitude)


def near(a: Site, b: Site) -> bool:
    """Whether two sites are the same or at most 2 km apart, so that no leg is needed between them."""
    if a.code == b.code:
        return True
    return abs(a.latitude - b.latitude) <= _NEAR_DEGREES and geodesic_km(a, b) <= NEAR_KM


@lru_cache(maxsize=1 << 17)
def _geodesic_km(lat_a: float, lon_a: float, lat_b: float, lon_b: float) -> float:
    return float(geodesic((lat_a, lon_a), (lat_b, lon_b)).km)
