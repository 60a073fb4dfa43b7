"""Points on the map and the roads between them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from roundplan.domain.dates import DaySet
from roundplan.domain.role import PlaceKind, Surface


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What facilities and places have in common.

    Attributes
    ----------
    code : str
        Facility and place codes share one name space.
    latitude, longitude : float
        Degrees, WGS 84.
    stations : int
        Stations the site can host at once; 0 = cannot host.
    room_limit : int or None
        Bodies the session room takes; None = the round's ``[session] room_limit`` a station.
    day_price, lodging_price : int or None
        Minor units a venue day and a person-night; no lodging price = no lodging.
    lodging_beds : int or None
        People who can sleep there in one night; None = not limited.
    """

    code: str
    name: str
    latitude: float
    longitude: float
    stations: int = 0
    room_limit: int | None = None
    day_price: int | None = None
    lodging_price: int | None = None
    lodging_beds: int | None = None
    closed_days: DaySet = DaySet()
    exposure_contact: str = ""

    @property
    def has_lodging(self) -> bool:
        """Whether people can sleep there."""
        return self.lodging_price is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place(Site):
    """A place that is no facility: a base, a venue, a lodging, a store, a junction."""

    kinds: frozenset[PlaceKind]

    @property
    def has_lodging(self) -> bool:
        """Whether people can sleep there: a price of its own, or the kind with the round's price."""
        return self.lodging_price is not None or PlaceKind.LODGING in self.kinds


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """One stretch of road between two points.

    Attributes
    ----------
    km : float or None
        Length; None where only hours are known.
    hours : float or None
        Entered driving time; where given it stands instead of km and surface.
    closures : tuple of (date, date)
        Stretches of dates, both included, on which it is closed.
    open_from, open_to : int or None
        Seconds after midnight between which a crossing works.
    oneway : bool
        Only from ``start`` to ``end``.
    """

    start: str
    end: str
    km: float | None = None
    hours: float | None = None
    surface: Surface | None = None
    closures: tuple[tuple[date, date], ...] = ()
    open_from: int | None = None
    open_to: int | None = None
    oneway: bool = False

    def closed_on(self, day: date) -> bool:
        """Whether a closure covers the date."""
        return any(first <= day <= last for first, last in self.closures)
