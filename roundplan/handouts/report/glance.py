"""What the manager has to see first: a few lines at the top of the report, each with a way to its section."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.costs.budget import against_budget
from roundplan.costs.pricing import total
from roundplan.domain.role import Include
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.people import ThinShift
from roundplan.handouts.words import Money, capital, count, list_words, long_date, numeral, span_words
from roundplan.supplies.orders import OrderLine

MOST_NAMES = 8
"""Places that a line names before it says how many more there are; the section has them all."""


@dataclass(frozen=True, slots=True)
class Glance:
    """One line: what it is about, what there is to say, and the section that says more."""

    head: str
    words: str
    anchor: str


def glance(
    index: PlanIndex,
    money: Money,
    orders: tuple[OrderLine, ...],
    first_task: tuple[date, int] | None,
    thin: tuple[ThinShift, ...],
) -> tuple[Glance, ...]:
    """Return the lines at the top of the report.

    Parameters
    ----------
    orders : tuple of OrderLine
        All lines of supplies.
    first_task : tuple of date and int, or None
        The first date by which something has to be done, and how many tasks there are.
    thin : tuple of ThinShift
        Shifts left with one person in a minimum role.
    """
    if not index.plan.sessions:
        return ()
    lines = [
        Glance("Crews", " ".join(_crews(index)), "timeline"),
        Glance("Left out", " ".join(_left_out(index)), "left-out"),
        Glance("Stays thin", _thin(thin), "cover"),
        Glance("Cost", " ".join(_cost(index, money)), "costs"),
        Glance("To order", _orders(orders, money), "supplies"),
    ]
    if first_task is not None:
        first, tasks = first_task
        lines.append(Glance("To do", f"{capital(count(tasks, 'task'))}, the first by {long_date(first)}.", "to-do"))
    return tuple(lines)


def _crews(index: PlanIndex) -> Iterator[str]:
    for crew in index.crews_used():
        days = [day for trip in index.trips_of(crew) for day in trip.days]
        held = {code for day in days for code in day.sessions}
        span = span_words(min(day.date for day in days), max(day.date for day in days))
        yield f"{crew}, {span}, {count(len(held), 'session')}."


def _left_out(index: PlanIndex) -> Iterator[str]:
    made, r = Counter(team.facility for team in index.plan.teams), index.training_round
    missing = {f.name: f.teams_wanted - made[f.code] for f in r.facilities if 0 < made[f.code] < f.teams_wanted}
    none = [f.name for f in r.facilities if f.teams_wanted and not made[f.code]]
    yield f"Without any team: {list_words(none)}." if none else "No facility is without a team."
    if missing:
        yield f"{capital(count(sum(missing.values()), 'team'))} fewer than wanted: {_tally(missing)}."
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    if named := [p.name for p in r.people if p.include is Include.MUST and p.code not in seated]:
        yield f"Named as a must and not seated: {list_words(named)}."


def _tally(counts: Mapping[str, int]) -> str:
    """Name places, the number behind where it is more than one; of a great many only the first."""
    said = [f"{name} ({number})" if number > 1 else name for name, number in Counter(counts).most_common()]
    more = [f"{len(said) - MOST_NAMES} more"] if len(said) > MOST_NAMES + 1 else []
    return list_words([*said[:MOST_NAMES], *more] if more else said)


def _thin(thin: tuple[ThinShift, ...]) -> str:
    if not thin:
        return "No shift is left with a single person in a minimum role."
    places = Counter(shift.facility for shift in thin)
    are = "is" if len(thin) == 1 else "are"
    said = f"{capital(count(len(thin), 'shift'))} {are} left with a single person in a minimum role: {_tally(places)}."
    return said


def _cost(index: PlanIndex, money: Money) -> Iterator[str]:
    spent = total(index.plan.costs)
    yield f"{money(spent)}, contingency included."
    rows = against_budget(index.plan.costs, index.training_round)
    budget = sum(row.budgeted or 0 for row in rows)
    if budget:
        left = budget - spent
        beside = f"{money(abs(left))} {'less' if left >= 0 else 'more'} than" if left else "as much as"
        yield f"That is {beside} the whole budget of {money(budget)}."
    if over := [row.line.value for row in rows if row.left is not None and row.left < 0]:
        yield f"Over its own budget: {list_words(over)}."
    if budget and (bare := [row.line.value for row in rows if row.budgeted is None and row.planned]):
        yield f"Without a budget: {list_words(bare)}."


def _orders(orders: tuple[OrderLine, ...], money: Money) -> str:
    wanted = [line for line in orders if line.packs]
    if not wanted:
        return "Nothing."
    said = f"{capital(count(len(wanted), 'item'))} for {money(sum(line.amount for line in wanted))}"
    dates = [line.latest_order_date for line in wanted if line.latest_order_date is not None]
    said += f", the first by {long_date(min(dates))}." if dates else "."
    late = sum(line.too_late for line in wanted)
    return said + (f" {capital(numeral(late))} of them cannot arrive in time." if late else "")
