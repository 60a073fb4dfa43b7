"""The priced lines of a plan, in minor units of the currency."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from roundplan.costs.lines_crew import crew_lines
from roundplan.costs.lines_people import participant_lines
from roundplan.costs.lines_session import session_lines
from roundplan.costs.price_list import PriceList
from roundplan.domain.counts import unit_word
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CostEntry, Plan
from roundplan.domain.supply import ItemKind
from roundplan.domain.training_round import TrainingRound
from roundplan.supplies.orders import shortages
from roundplan.travel.roadway import exact


def price_plan(plan: Plan, training_round: TrainingRound) -> tuple[CostEntry, ...]:
    """Return every priced line of a plan, by cost line, contingency last.

    A line whose price is left out on purpose, or not entered, yields nothing; :func:`left_out_lines` names
    those left out.

    Returns
    -------
    tuple of CostEntry
        Amounts in minor units of the currency.
    """
    prices = PriceList(training_round)
    entries = [
        *crew_lines(plan, prices),
        *participant_lines(plan, prices),
        *session_lines(plan, prices),
        *_consumables(plan, training_round),
    ]
    order = {line.value: number for number, line in enumerate(CostLine)}
    entries.sort(key=lambda entry: order[entry.line])
    return (*entries, *_contingency(entries, training_round))


def total(entries: Iterable[CostEntry]) -> int:
    """Return the sum of all entries in minor units, contingency included."""
    return sum(entry.amount for entry in entries)


def left_out_lines(training_round: TrainingRound) -> tuple[str, ...]:
    """Return in plain words what the total leaves out on purpose, in the order of ``[prices]``."""
    return PriceList(training_round).left_out()


def _consumables(plan: Plan, training_round: TrainingRound) -> Iterator[CostEntry]:
    for line in shortages(plan, training_round):
        item = training_round.item(line.item)
        if item.kind is ItemKind.CONSUMABLE and line.packs and item.pack_price is not None:
            yield CostEntry(
                line=CostLine.CONSUMABLES.value,
                what=item.name,
                quantity=float(line.packs),
                unit=f"pack of {item.pack_size:g} {unit_word(item.pack_size, item.unit)}",
                price=item.pack_price,
                amount=line.amount,
            )


def _contingency(entries: list[CostEntry], training_round: TrainingRound) -> Iterator[CostEntry]:
    percent = training_round.settings.prices.contingency_percent
    base = total(entries)
    if percent and base:
        yield CostEntry(
            line=CostLine.CONTINGENCY.value,
            what=f"{percent:g} % of all other lines",
            quantity=percent,
            unit="% of the sum",
            price=base,
            amount=math.ceil(exact(percent) * base / 100),
        )
