"""Orders: what stock and deliveries do not meet, in sealed packs, and when to order it at the latest."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundplan.domain.plan import Plan, Trip
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.domain.training_round import TrainingRound
from roundplan.supplies.quantities import (
    counts_on_trip,
    reusables_of,
    total_counts,
    trip_needs,
    trips_in_order,
)
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.roadway import exact


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """What the round needs of one item, and what of it must be ordered.

    ``short = need + spare − in_stock − due`` where positive; ``packs`` cover it in sealed packs.

    Attributes
    ----------
    need : int
        Units that the trips need.
    due : float
        Units of deliveries that arrive by ``needed_by``, or by the last trip where nothing runs out.
    packs : int
        Packs to order; 0 where nothing is short.
    amount : int
        Price of the packs in minor units; 0 where the item has no price.
    latest_order_date : date or None
        Last date on which an order comes a working day before it is needed, or on the date itself where the date of
        planning leaves no more; None where nothing is ordered or it cannot be bought.
    arrive_by : date or None
        Date on which what is ordered has to be there, a working day before ``needed_by`` where that is still possible;
        None where there is no date to order.
    needed_by : date
        First date of the first trip that runs out; where none does, of the first that needs the item.
    runs_out : bool
        Whether the trips themselves, spare apart, need more than stock and deliveries hold by then.
    too_late : bool
        It runs out, and cannot be bought in time: no price or lead time, or the date to order is past.
    """

    item: str
    need: int
    spare: float
    in_stock: float
    due: float
    short: float
    packs: int
    pack_size: float
    amount: int
    supplier: str
    latest_order_date: date | None
    arrive_by: date | None
    needed_by: date
    runs_out: bool
    too_late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """Walls to assemble before a trip starts.

    Attributes
    ----------
    date : date
        First date of the trip.
    minutes : int
        Working time for one person.
    """

    trip: str
    crew: str
    date: date
    walls: int
    minutes: int


def packs_for(short: Fraction, pack_size: float) -> int:
    """Return the sealed packs that cover a shortage in units."""
    return max(0, math.ceil(short / exact(pack_size)))


def order_lines(
    plan: Plan, training_round: TrainingRound, calendar: WorkingCalendar | None = None
) -> tuple[OrderLine, ...]:
    """Return a line for every item that a trip needs, in the order of the supplies table.

    Parameters
    ----------
    calendar : WorkingCalendar, optional
        The round's calendar, where the caller has one already.
    """
    days = calendar or WorkingCalendar(training_round)
    return tuple(_dated(line, training_round, days) for line in shortages(plan, training_round))


def shortages(plan: Plan, training_round: TrainingRound) -> tuple[OrderLine, ...]:
    """Return the order lines before any latest order date is worked out (enough to price them)."""
    trips = trips_in_order(plan)
    used = trip_needs(plan, training_round)
    carried = {trip.code: reusables_of(trip, plan, training_round) for trip in trips}
    shown = total_counts(counts_on_trip(trip, plan) for trip in trips).get(Per.SIMULATION, 0)
    lines = []
    for item in training_round.items:
        by_trip = used if item.kind is ItemKind.CONSUMABLE else carried
        wanted = [(trip, by_trip[trip.code][item.code]) for trip in trips if by_trip[trip.code].get(item.code)]
        if wanted:
            consumed = sum(units for _, units in wanted)
            need = consumed if item.kind is ItemKind.CONSUMABLE else _reusable_need(item, wanted, shown)
            lines.append(_line(item, need, wanted, training_round))
    return tuple(lines)


def assembly(plan: Plan, training_round: TrainingRound) -> tuple[Assembly, ...]:
    """Return the walls to assemble before each trip, and the minutes that takes."""
    minutes = training_round.settings.session.wall_minutes
    found = []
    for trip in trips_in_order(plan):
        walls = counts_on_trip(trip, plan).get(Per.WALL, 0)
        start = trip.days[0].date
        found.append(Assembly(trip=trip.code, crew=trip.crew, date=start, walls=walls, minutes=walls * minutes))
    return tuple(found)


def _reusable_need(item: Item, wanted: list[tuple[Trip, int]], shown: int) -> int:
    """Return units that all crews hold at once, or the units that ``shown`` simulations wear out, if more."""
    most: dict[str, int] = {}
    for trip, units in wanted:
        most[trip.crew] = max(units, most.get(trip.crew, 0))
    worn = 0 if item.uses is None else math.ceil(shown * exact(item.quantity) / exact(item.uses))
    return max(sum(most.values()), worn)


def _line(item: Item, need: int, wanted: list[tuple[Trip, int]], training_round: TrainingRound) -> OrderLine:
    rows = [row for row in training_round.stock if row.item == item.code]
    in_stock = sum((exact(row.quantity) for row in rows if row.due is None), Fraction(0))
    arriving = [(row.due, exact(row.quantity)) for row in rows if row.due is not None]

    def due_by(day: date) -> Fraction:
        return sum((units for due, units in arriving if due <= day), Fraction(0))

    runs_out, last = _runs_out(item, need, wanted, in_stock, arriving)
    due = due_by(runs_out or last)
    short = max(Fraction(0), need + exact(item.spare) - in_stock - due)
    packs = packs_for(short, item.pack_size)
    return OrderLine(
        item=item.code,
        need=need,
        spare=item.spare,
        in_stock=float(in_stock),
        due=float(due),
        short=float(short),
        packs=packs,
        pack_size=item.pack_size,
        amount=packs * (item.pack_price or 0),
        supplier=item.supplier,
        latest_order_date=None,
        arrive_by=None,
        needed_by=runs_out or wanted[0][0].days[0].date,
        runs_out=runs_out is not None,
        too_late=False,
    )


def _runs_out(
    item: Item,
    need: int,
    wanted: list[tuple[Trip, int]],
    in_stock: Fraction,
    arriving: list[tuple[date, Fraction]],
) -> tuple[date | None, date]:
    """Return the first date of the first trip that stock and deliveries do not serve, and of the last trip."""
    asked = 0
    for trip, units in wanted:
        asked = asked + units if item.kind is ItemKind.CONSUMABLE else need
        start = trip.days[0].date
        if asked > in_stock + sum((number for due, number in arriving if due <= start), Fraction(0)):
            return start, start
    return None, wanted[-1][0].days[0].date


def _dated(line: OrderLine, training_round: TrainingRound, calendar: WorkingCalendar) -> OrderLine:
    """Date the order so that it comes a working day before it is needed, or as early as the date of planning allows.

    Walls are assembled and the vehicle is loaded before the first date of a trip, which may begin at sunrise. What can
    come no sooner than on that date still counts as in time.
    """
    item = training_round.item(line.item)
    if not line.packs or item.pack_price is None or item.lead_days is None:
        return dataclasses.replace(line, too_late=line.runs_out)
    planned = training_round.settings.round.plan_date
    last = calendar.working_days_before(line.needed_by, item.lead_days)
    early = calendar.working_days_before(line.needed_by, item.lead_days + 1)
    latest = early if planned is None else min(last, max(early, planned))
    arrive_by = calendar.working_days_before(line.needed_by, 1) if latest == early else line.needed_by
    late = planned is not None and last < planned
    return dataclasses.replace(line, latest_order_date=latest, arrive_by=arrive_by, too_late=line.runs_out and late)
