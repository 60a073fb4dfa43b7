"""What each trip takes from the store: rows of the pick list, and each trip's load beside what its crew can carry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from roundplan.domain.plan import Load, Trip
from roundplan.domain.supply import Item
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.store.orders import latex_words


@dataclass(frozen=True, slots=True)
class Pick:
    """One item taken on board at a place on a date.

    Attributes
    ----------
    weight_kg, volume_l : float
        Of the whole quantity.
    stale : bool
        The stock expires before the trip ends.
    """

    trip: Trip
    load: Load
    item: Item
    weight_kg: float
    volume_l: float
    stale: bool


def picks(index: PlanIndex) -> Iterator[Pick]:
    """Yield what is loaded, crew by crew, trip by trip, by date and place."""
    for crew in index.crews_used():
        for trip in index.trips_of(crew):
            for load in sorted(trip.loads, key=lambda load: (load.date, load.place, load.item)):
                item = index.training_round.item(load.item)
                stale = item.expiry is not None and item.expiry < trip.days[-1].date
                weight, volume = load.quantity * item.unit_weight_kg, load.quantity * item.unit_volume_l
                yield Pick(trip, load, item, round(weight, 3), round(volume, 3), stale)


def pick_heads() -> tuple[str, ...]:
    """Return the headings of the pick list; the last two columns are for the store's pen."""
    return (say("trip"), say("crew"), say("on date"), say("at"), say("item"), say("name"), say("quantity"), say("unit"),
            say("weight, kg"), say("volume, litres"), say("latex"), say("use by"), say("remark"), say("picked"),
            say("came back"))  # fmt: skip


def pick_rows(index: PlanIndex) -> Iterator[list[Any]]:
    """Yield the rows of the pick list."""
    for pick in picks(index):
        item, load = pick.item, pick.load
        yield [pick.trip.code, pick.trip.crew, load.date, index.name(load.place), load.item, item.name, load.quantity,
               item.unit, pick.weight_kg or None, pick.volume_l or None, latex_words(item.latex), item.expiry,
               _remark(pick), None, None]  # fmt: skip


def _remark(pick: Pick) -> str | None:
    said = [say("sharps: count out and in")] if pick.item.sharp else []
    if pick.stale:
        said.append(say("expires before the trip ends: do not take it"))
    return "\n".join(said) or None


def load_heads() -> tuple[str, ...]:
    """Return the headings of the trips' loads."""
    return (say("trip"), say("crew"), say("first date"), say("last date"), say("box models"), say("items"),
            say("most on board, kg, people included"), say("payload less reserve, kg"),
            say("kit on board, litres"), say("loading space, litres"))  # fmt: skip


def load_rows(index: PlanIndex) -> Iterator[list[Any]]:
    """Yield each trip's weight and volume beside what its crew can carry."""
    reserve = index.training_round.settings.travel.payload_reserve
    for code in index.crews_used():
        crew = index.training_round.crew(code)
        for trip in index.trips_of(code):
            items = len({load.item for load in trip.loads})
            yield [trip.code, code, trip.days[0].date, trip.days[-1].date, trip.box_models, items,
                   round(trip.weight_kg, 1), round(crew.payload_kg * (1 - reserve), 1), round(trip.volume_l, 1),
                   crew.space_l]  # fmt: skip
