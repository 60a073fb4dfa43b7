"""What a round uses up or carries, and the cases it simulates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.role import Role


class ItemKind(StrEnum):
    """Reusable things come back; consumables do not."""

    REUSABLE = "reusable"
    CONSUMABLE = "consumable"


class Per(StrEnum):
    """What the quantity of an item goes by."""

    CREW = "crew"
    STATION = "station"
    SESSION = "session"
    SIMULATION = "simulation"
    WALL = "wall"
    PARTICIPANT = "participant"
    TRIP = "trip"


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of the supplies table.

    Attributes
    ----------
    quantity : float
        Units for each ``per``.
    pack_size : float
        Units in a sealed pack.
    pack_price : int or None
        Minor units a pack; None = cannot be bought.
    lead_days : int or None
        Working days from order to delivery; None = cannot be bought in time.
    unit_weight_kg, unit_volume_l : float
        Weight and volume of one unit.
    spare : float
        Units to hold beyond the need.
    wastage_percent : float
        Share lost, 0 to under 100.
    uses : float or None
        Life of a reusable in simulations; None = does not wear out within the round.
    sharp : bool
        Cuts or pricks: counted out and in on the count sheets.
    """

    code: str
    name: str
    kind: ItemKind
    per: Per
    quantity: float
    unit: str
    pack_size: float = 1
    pack_price: int | None = None
    supplier: str = ""
    lead_days: int | None = None
    unit_weight_kg: float = 0
    unit_volume_l: float = 0
    spare: float = 0
    wastage_percent: float = 0
    uses: float | None = None
    latex: bool = False
    sharp: bool = False
    expiry: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What lies at a place, or is due there on a date."""

    item: str
    place: str
    quantity: float
    due: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A case that a team simulates."""

    code: str
    name: str
    stop_rule: str
    roles: tuple[Role, ...] = ()
    extra_items: tuple[str, ...] = ()
    approved_by: str = ""
    approved_on: date | None = None
