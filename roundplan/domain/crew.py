"""Crews: a vehicle with driver, box models and consumables; trainers join by trip."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """A vehicle and what it can carry.

    Attributes
    ----------
    seats : int
        Seats in the vehicle, the driver's included.
    payload_kg : float
        What the vehicle may carry, people included.
    space_l : float or None
        Loading space in litres; None = not limited.
    box_models : int
        Box models the crew has.
    price_per_km : int
        Minor units a kilometre.
    price_per_day : int
        Minor units a day on which the vehicle is out.
    drivers : int
        Drivers on board; each takes a seat and has hours at the wheel of their own.
    """

    code: str
    base: str
    seats: int
    payload_kg: float
    space_l: float | None = None
    box_models: int
    price_per_km: int
    price_per_day: int = 0
    drivers: int = 1
    available_from: date | None = None
    available_to: date | None = None
