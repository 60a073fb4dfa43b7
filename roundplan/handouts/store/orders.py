"""What the store orders, by supplier and latest date; what each supplier gets in all; needs beside the stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.supplies.orders import OrderLine, order_lines


def ordered(index: PlanIndex) -> list[OrderLine]:
    """Return the lines to order, by supplier, the most urgent first; those without a supplier last."""
    lines = (line for line in order_lines(index.plan, index.training_round) if line.packs)
    return sorted(
        lines,
        key=lambda line: (not line.supplier, line.supplier, line.latest_order_date or line.needed_by, line.item),
    )


def order_heads(index: PlanIndex) -> tuple[str, ...]:
    """Return the headings of the order list."""
    currency = index.training_round.settings.round.currency
    price, cost = say("price a pack in {currency}", currency=currency), say("cost in {currency}", currency=currency)
    return (say("supplier"), say("order at the latest on"), say("has to be there by"), say("trip starts on"),
            say("item"), say("name"),
            say("packs to order"), say("units a pack"), say("unit"), price, cost, say("weight, kg"),
            say("volume, litres"), say("latex"), say("remark"))  # fmt: skip


def order_rows(index: PlanIndex) -> Iterator[list[Any]]:
    """Yield the rows of the order list; weight and volume are those of all packs of a row."""
    scale = 10**index.training_round.settings.round.currency_digits
    for line in ordered(index):
        item = index.training_round.item(line.item)
        units = line.packs * line.pack_size
        price = None if item.pack_price is None else item.pack_price / scale
        weight, volume = (round(units * each, 3) or None for each in (item.unit_weight_kg, item.unit_volume_l))
        yield [line.supplier or None, line.latest_order_date, line.arrive_by, line.needed_by, line.item, item.name,
               line.packs, line.pack_size, item.unit, price, line.amount / scale, weight, volume,
               latex_words(item.latex), _remark(line)]  # fmt: skip


def latex_words(latex: bool) -> str | None:
    """Say that an item contains latex; nothing otherwise."""
    return say("contains latex") if latex else None


def _remark(line: OrderLine) -> str | None:
    if line.too_late:
        return say("cannot arrive in time: find another source")
    if line.latest_order_date is None:
        return say("has no price or delivery time: find a source")
    return None


def need_heads() -> tuple[str, ...]:
    """Return the headings of the sheet of needs."""
    return (say("item"), say("name"), say("unit"), say("needed"), say("spare"), say("in stock"), say("due"),
            say("short"), say("packs to order"), say("trip starts on"), say("latex"), say("stock: use by"),
            say("remark"))  # fmt: skip


def need_rows(index: PlanIndex) -> Iterator[list[Any]]:
    """Yield every item that trips need beside what is there and on its way; what has to be ordered stands first."""
    last = max((day.date for trip in index.plan.trips for day in trip.days), default=None)
    lines = order_lines(index.plan, index.training_round)
    for line in sorted(lines, key=lambda line: (not line.packs, line.needed_by, line.item)):
        item = index.training_round.item(line.item)
        stale = item.expiry is not None and last is not None and item.expiry < last
        remark = say("stock expires before the round ends") if stale else None
        yield [line.item, item.name, item.unit, line.need, line.spare, line.in_stock, line.due, line.short, line.packs,
               line.needed_by, latex_words(item.latex), item.expiry, remark]  # fmt: skip


def supplier_heads(index: PlanIndex) -> tuple[str, ...]:
    """Return the headings of the suppliers' sheet."""
    currency = index.training_round.settings.round.currency
    return (say("supplier"), say("first order at the latest on"), say("items"), say("packs"), say("weight, kg"),
            say("volume, litres"), say("cost in {currency}", currency=currency))  # fmt: skip


def supplier_rows(index: PlanIndex) -> Iterator[list[Any]]:
    """Yield what each supplier gets in all, and everything together."""
    lines = ordered(index)
    for supplier in dict.fromkeys(line.supplier for line in lines):
        own = [line for line in lines if line.supplier == supplier]
        yield [supplier or say("not named"), *_totals(index, own)]
    if lines:
        yield [say("Total"), *_totals(index, lines)]


def _totals(index: PlanIndex, lines: Sequence[OrderLine]) -> list[Any]:
    r = index.training_round
    scale = 10**r.settings.round.currency_digits
    dates = [line.latest_order_date for line in lines if line.latest_order_date is not None]
    weight = sum(line.packs * line.pack_size * r.item(line.item).unit_weight_kg for line in lines)
    volume = sum(line.packs * line.pack_size * r.item(line.item).unit_volume_l for line in lines)
    return [min(dates, default=None), len(lines), sum(line.packs for line in lines), round(weight, 3),
            round(volume, 3), sum(line.amount for line in lines) / scale]  # fmt: skip
