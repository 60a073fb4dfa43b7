"""Sunrise and sunset by the round's clock."""

from __future__ import annotations

from datetime import date

import pytest
from rounds import place, tiny_settings
from rounds import settings as changed

from roundplan.domain.training_round import TrainingRound
from roundplan.travel.daylight import Daylight

JUNE, DECEMBER = date(2026, 6, 21), date(2026, 12, 21)


def daylight(latitude: float, longitude: float, zone: str) -> Daylight:
    rules = changed(tiny_settings(), round={"time_zone": zone})
    return Daylight(TrainingRound(settings=rules, places=(place("X", latitude, longitude),)))


def test_polar_day_and_polar_night() -> None:
    tromso = daylight(69.65, 18.96, "Europe/Oslo")
    assert (tromso.sunrise("X", JUNE), tromso.sunset("X", JUNE)) == (0, 86400)
    assert (tromso.sunrise("X", DECEMBER), tromso.sunset("X", DECEMBER)) == (43200, 43200)
    south = daylight(-80, 0, "UTC")
    assert (south.sunrise("X", DECEMBER), south.sunset("X", DECEMBER)) == (0, 86400)
    assert (south.sunrise("X", JUNE), south.sunset("X", JUNE)) == (43200, 43200)


def test_a_sun_that_sets_after_midnight_shines_until_midnight() -> None:
    """Reykjavik in June: sunset is a few minutes past local midnight (from memory: 00:03)."""
    reykjavik = daylight(64.147, -21.94, "Atlantic/Reykjavik")
    assert reykjavik.sunset("X", JUNE) == 86400
    assert 2.5 * 3600 < reykjavik.sunrise("X", JUNE) < 3.25 * 3600


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [(-36.85, 174.76, "Pacific/Auckland"), (1.87, -157.4, "Pacific/Kiritimati"), (21.3, -157.86, "Pacific/Honolulu")],
)
def test_zones_far_from_greenwich_give_the_local_date(latitude: float, longitude: float, zone: str) -> None:
    """Between 4 and 8.5 in the morning and 4.5 and 9 in the evening, whichever UTC date that is."""
    far = daylight(latitude, longitude, zone)
    for day in (JUNE, DECEMBER):
        assert 4 * 3600 < far.sunrise("X", day) < 8.5 * 3600
        assert 16.5 * 3600 < far.sunset("X", day) < 21 * 3600


def test_summer_time_is_on_the_clock() -> None:
    """On the equator the sun's times shift by one hour where the zone's clock does (28 to 29 March 2026)."""
    madrid = daylight(0.0, -3.7, "Europe/Madrid")
    before, after = (madrid.sunrise("X", date(2026, 3, day)) for day in (28, 29))
    assert after - before == pytest.approx(3600, abs=60)


def test_equator_at_equinox_has_a_little_over_twelve_hours() -> None:
    """12 h and the 2 × 50′ of refraction and sun's radius: 12 h 6.7 min (calc: 100′ ÷ 15′ a minute)."""
    sun = daylight(0.0, 0.0, "UTC")
    length = sun.sunset("X", date(2026, 3, 20)) - sun.sunrise("X", date(2026, 3, 20))
    assert length == pytest.approx(12 * 3600 + 400, abs=60)
