"""Sunrise and sunset at every site, by local clock."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from astral import Observer
from astral.sun import elevation, noon, sunrise, sunset

from roundplan.domain.clock import DAY
from roundplan.domain.training_round import TrainingRound

_HORIZON = -0.833
"""Elevation of the sun's centre (degrees) at sunrise and sunset: zenith 90°50′."""


class Daylight:
    """Sunrise and sunset in seconds after local midnight, in the round's time zone, worked out once a site and date."""

    def __init__(self, training_round: TrainingRound) -> None:
        self._round = training_round
        self._zone = ZoneInfo(training_round.settings.round.time_zone)
        self._found: dict[tuple[str, date], tuple[int, int]] = {}

    def sunrise(self, site: str, day: date) -> int:
        """Return sunrise in seconds after local midnight; 0 where the sun is up all day."""
        return self._both(site, day)[0]

    def sunset(self, site: str, day: date) -> int:
        """Return sunset in seconds after local midnight; 86,400 where the sun does not set before midnight.

        Where the sun does not rise at all, sunrise and sunset are both noon (43,200).
        """
        return self._both(site, day)[1]

    def _both(self, site: str, day: date) -> tuple[int, int]:
        key = (site, day)
        found = self._found.get(key)
        if found is None:
            where = self._round.site(site)
            observer = Observer(where.latitude, where.longitude, 0)
            found = self._found[key] = daylight(observer, day, self._zone)
        return found


def daylight(observer: Observer, day: date, zone: ZoneInfo) -> tuple[int, int]:
    """Return sunrise and sunset of a local date in seconds after local midnight."""
    try:
        up = _clock(sunrise(observer, day, tzinfo=zone))
        down = _clock(sunset(observer, day, tzinfo=zone))
    except ValueError:
        return _without_horizon(observer, day, zone)
    return up, DAY if down <= up else down


def _without_horizon(observer: Observer, day: date, zone: ZoneInfo) -> tuple[int, int]:
    """Return a polar day or a polar night, by the sun's height at noon."""
    up_all_day = elevation(observer, noon(observer, day, tzinfo=zone)) > _HORIZON
    return (0, DAY) if up_all_day else (DAY // 2, DAY // 2)


def _clock(moment: datetime) -> int:
    return moment.hour * 3600 + moment.minute * 60 + moment.second
