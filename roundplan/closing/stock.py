"""What lies where after a round: counted, or worked out from stock, deliveries, loads and what came back."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from fractions import Fraction

from roundplan.closing.done import Done
from roundplan.closing.use import Use
from roundplan.domain.supply import Item, Stock
from roundplan.supplies.orders import shortages
from roundplan.travel.roadway import exact

Lying = dict[tuple[str, str], Fraction]
"""Units by code of the item and of the place."""


def stock_after(done: Done, use: Use, next_first: date) -> tuple[Stock, ...]:
    """Return the stock of the next round.

    ``stock + deliveries + orders − loads + what came back``, by place, never below nought; a count of the store after
    the round stands instead. Orders are taken to have gone where loads exceed what lay there, by item the place that
    lacked most; what comes back goes to the base of the crew. What is expired by the next round's first date is left
    out. Example: 1 in stock, 4 ordered (two packs of two), 3 loaded, 1 back: 1 + 4 − 3 + 1 = 3.

    Parameters
    ----------
    next_first : date
        First date of the next round; deliveries due later stay deliveries.
    """
    lying, late = _before(done, next_first)
    for trip in done.plan.trips:
        for load in trip.loads:
            lying[load.item, load.place] -= exact(load.quantity)
    _add_orders(done, lying)
    for trip in done.plan.trips:
        base = done.training_round.crew(trip.crew).base
        for item in done.training_round.items:
            lying[item.code, base] += use.back[trip.code, item.code]
    lying.update({(row.item, row.place): exact(row.quantity) for row in done.held.in_store})
    items = {item.code: item for item in done.training_round.items}
    kept = (
        Stock(item=item, place=place, quantity=float(units))
        for (item, place), units in sorted(lying.items())
        if units > 0 and not expired(items[item], next_first)
    )
    return (*kept, *(row for row in late if not expired(items[row.item], next_first)))


def expired(item: Item, day: date) -> bool:
    """Whether an item has expired by a date."""
    return item.expiry is not None and item.expiry < day


def _before(done: Done, next_first: date) -> tuple[Lying, list[Stock]]:
    lying: Lying = defaultdict(Fraction)
    late = []
    for row in done.training_round.stock:
        if row.due is not None and row.due >= next_first:
            late.append(row)
        else:
            lying[row.item, row.place] += exact(row.quantity)
    return lying, late


def _add_orders(done: Done, lying: Lying) -> None:
    """Add what was ordered where the loads left least."""
    for line in shortages(done.plan, done.training_round):
        places = sorted(place for item, place in lying if item == line.item)
        if line.packs and places:
            short = min(places, key=lambda place: lying[line.item, place])
            lying[line.item, short] += line.packs * exact(line.pack_size)
