"""One road row as a stretch that can be driven in one direction: time, length, factor, crossing hours."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from roundplan.domain.place import Road, Site
from roundplan.domain.role import Surface
from roundplan.domain.settings import TravelSettings
from roundplan.travel.distance import geodesic_km


def exact(number: float) -> Fraction:
    """Return the number as it is written in decimals, so that 0.1 is one tenth."""
    return Fraction(repr(float(number)))


@dataclass(frozen=True, slots=True)
class Stretch:
    """A road in one direction in one season.

    Attributes
    ----------
    hours : Fraction
        Driving time before the road-time factor.
    factor : Fraction
        Road-time factor on these hours.
    km : float
        Length.
    gate : tuple of (int, int) or None
        Seconds after midnight between which a crossing works.
    seconds : Fraction
        Driving time with the factor.
    bare_seconds : float
        Driving time before the factor.
    """

    start: str
    end: str
    hours: Fraction
    factor: Fraction
    km: float
    gate: tuple[int, int] | None = None

    seconds: Fraction = field(init=False)
    bare_seconds: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "seconds", self.hours * self.factor * 3600)
        object.__setattr__(self, "bare_seconds", float(self.hours * 3600))


def speed(travel: TravelSettings, surface: Surface | None, wet: bool) -> Fraction | None:
    """Return the speed in km/h on a surface, or None where the wet season closes it.

    A stretch without an entered surface is driven at the default speed in both seasons.
    """
    if surface is None:
        return exact(travel.default_speed)
    dry = exact(travel.speeds.get(surface, travel.default_speed))
    if not wet:
        return dry
    wet_factor = travel.wet_factors.get(surface)
    return dry * exact(wet_factor) if wet_factor else None


def stretches(road: Road, ends: tuple[Site, Site], travel: TravelSettings, wet: bool) -> tuple[Stretch, ...]:
    """Return the directions in which a road can be driven; none if the wet season closes it.

    Where no km are entered, they are the geodesic × the detour factor.
    """
    km = road.km if road.km is not None else geodesic_km(*ends) * travel.detour
    if road.hours is not None:
        hours, factor = exact(road.hours), exact(travel.factor_entered)
    else:
        pace = speed(travel, road.surface, wet)
        if pace is None:
            return ()
        hours, factor = exact(km) / pace, exact(travel.factor_modelled)
    gate = None
    if road.open_from is not None or road.open_to is not None:
        gate = (road.open_from or 0, 86400 if road.open_to is None else road.open_to)
    there = Stretch(road.start, road.end, hours, factor, km, gate)
    if road.oneway:
        return (there,)
    return there, Stretch(road.end, road.start, hours, factor, km, gate)
