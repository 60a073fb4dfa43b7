"""Quantities of the supplies table corrected by what sessions really used."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from roundplan.closing.done import Done
from roundplan.closing.use import Use, denominators
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.travel.roadway import exact

LEAST_SESSIONS = 5
"""Sessions with a count from which on a quantity is lowered; it is raised from the first on (common practice, no
source)."""

_BY_TRIP = (Per.CREW, Per.TRIP)


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """One consumable, and how its quantity compares with real use.

    Attributes
    ----------
    used : Fraction
        Units used in the sessions with a count, wastage included.
    times : int
        How often its measure (simulation, wall, participant …) occurred in these sessions.
    sessions : int
        Sessions with a count.
    before, after : float
        Quantity of the table, and that of the next round's table.
    """

    item: str
    per: Per
    used: Fraction
    times: int
    sessions: int
    before: float
    after: float


def corrected_quantities(done: Done, use: Use) -> tuple[Corrected, ...]:
    """Return each consumable with a count in any session held, with its corrected quantity.

    Use is pooled, Σ used ÷ Σ times, so that a long session weighs more than a short one. The table's quantity leaves
    out wastage w, so real use r = Σ used ÷ Σ times is compared as r × (1 − w). A quantity that was too low is raised at
    once; one that was too high is lowered only from ``LEAST_SESSIONS`` sessions on, and never to nought, as a few
    sessions say little. The result is rounded up to two significant figures. Items by crew or trip keep theirs, as a
    round has too few of these. All this is common practice, no source.

    Example: 2 threads a simulation, wastage 20 %. Session one: 4 simulations, 12 used; session two: 2 simulations, 5
    used. r = 17 ÷ 6 = 2.8333; × 0.8 = 2.2667, more than 2: the quantity becomes 2.3.
    """
    measures = {key: denominators(done, key) for key in done.sessions if done.runs[key]}
    found = (_corrected(measures, use, item) for item in done.training_round.items)
    return tuple(row for row in found if row is not None)


def _corrected(measures: Mapping[str, Mapping[Per, int]], use: Use, item: Item) -> Corrected | None:
    if item.kind is not ItemKind.CONSUMABLE or item.per in _BY_TRIP:
        return None
    counted = [key for key in measures if (key, item.code) in use.used]
    times = sum(measures[key][item.per] for key in counted)
    if not times:
        return None
    used = sum((use.used[key, item.code] for key in counted), Fraction(0))
    net = used / times * (1 - exact(item.wastage_percent) / 100)
    before = exact(item.quantity)
    lowered = net < before and len(counted) >= LEAST_SESSIONS and net > 0
    after = rounded_up(net) if net > before else min(before, rounded_up(net)) if lowered else before
    return Corrected(
        item=item.code,
        per=item.per,
        used=used,
        times=times,
        sessions=len(counted),
        before=item.quantity,
        after=float(after),
    )


def rounded_up(value: Fraction) -> Fraction:
    """Return a positive number rounded up to two significant figures; nought stays nought."""
    if value <= 0:
        return Fraction(0)
    place = math.floor(math.log10(value)) - 1
    step = Fraction(10) ** place
    return math.ceil(value / step) * step
