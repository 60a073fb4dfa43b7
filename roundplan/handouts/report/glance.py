"""What the manager has to see early: a few lines below the scorecard, each with a way to its section."""

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
from roundplan.handouts.report.risks import Risk
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import cost_line
from roundplan.handouts.words import Money, capital, list_words, long_date, span_words
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
    risks: tuple[Risk, ...] = (),
) -> tuple[Glance, ...]:
    """Return the lines that lead into the report.

    Parameters
    ----------
    orders : tuple of OrderLine
        All lines of supplies.
    first_task : tuple of date and int, or None
        The first date by which something has to be done, and how many tasks there are.
    thin : tuple of ThinShift
        Shifts left with one person in a minimum role.
    risks : tuple of Risk
        What could undo the plan.
    """
    if not index.plan.sessions:
        return ()
    lines = [
        Glance(say("Crews"), " ".join(_crews(index)), "timeline"),
        Glance(say("Left out"), " ".join(_left_out(index)), "left-out"),
        Glance(say("Stays thin"), _thin(thin), "cover"),
        Glance(say("Cost"), " ".join(_cost(index, money)), "costs"),
        Glance(say("To order"), " ".join(_orders(orders, money)), "supplies"),
    ]
    if first_task is not None:
        first, tasks = first_task
        said = several(
            "{numeral} task, by {date}.", "{numeral} tasks, the first by {date}.", tasks, date=long_date(first)
        )
        lines.append(Glance(say("To do"), capital(said), "to-do"))
    found = [risk for risk in risks if risk.count]
    if found:
        lines.append(Glance(say("Risks"), " ".join(risk.words for risk in found), "risks"))
    return tuple(lines)


def _crews(index: PlanIndex) -> Iterator[str]:
    for crew in index.crews_used():
        days = [day for trip in index.trips_of(crew) for day in trip.days]
        held = {code for day in days for code in day.sessions}
        yield several(
            "{crew}, {dates}, {numeral} session.",
            "{crew}, {dates}, {numeral} sessions.",
            len(held),
            crew=crew,
            dates=span_words(min(day.date for day in days), max(day.date for day in days)),
        )


def _left_out(index: PlanIndex) -> Iterator[str]:
    made, r = Counter(team.facility for team in index.plan.teams), index.training_round
    missing = {f.name: f.teams_wanted - made[f.code] for f in r.facilities if 0 < made[f.code] < f.teams_wanted}
    none = [f.name for f in r.facilities if f.teams_wanted and not made[f.code]]
    if none:
        yield say("Without any team: {facilities}.", facilities=list_words(none))
    else:
        yield say("No facility is without a team.")
    if missing:
        yield capital(
            several(
                "{numeral} team fewer than wanted: {facilities}.",
                "{numeral} teams fewer than wanted: {facilities}.",
                sum(missing.values()),
                facilities=_tally(missing),
            )
        )
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    if named := [p.name for p in r.people if p.include is Include.MUST and p.code not in seated]:
        yield say("Named as a must and not seated: {people}.", people=list_words(named))


def _tally(counts: Mapping[str, int]) -> str:
    """Name places, the number behind where it is more than one; of a great many only the first."""
    said = [f"{name} ({number})" if number > 1 else name for name, number in Counter(counts).most_common()]
    left = len(said) - MOST_NAMES
    more = [several("{number} more", "{number} more", left)] if left > 1 else []
    return list_words([*said[:MOST_NAMES], *more] if more else said)


def _thin(thin: tuple[ThinShift, ...]) -> str:
    if not thin:
        return say("No shift is left with a single person in a minimum role.")
    return capital(
        several(
            "{numeral} shift is left with a single person in a minimum role: {facilities}.",
            "{numeral} shifts are left with a single person in a minimum role: {facilities}.",
            len(thin),
            facilities=_tally(Counter(shift.facility for shift in thin)),
        )
    )


def _cost(index: PlanIndex, money: Money) -> Iterator[str]:
    spent = total(index.plan.costs)
    yield say("{amount}, contingency included.", amount=money(spent))
    rows = against_budget(index.plan.costs, index.training_round)
    budget = sum(row.budgeted or 0 for row in rows)
    if budget > spent:
        yield say("That is {amount} less than the whole budget of {budget}.", amount=money(budget - spent),
                  budget=money(budget))  # fmt: skip
    elif budget and budget < spent:
        yield say("That is {amount} more than the whole budget of {budget}.", amount=money(spent - budget),
                  budget=money(budget))  # fmt: skip
    elif budget:
        yield say("That is as much as the whole budget.")
    if over := [cost_line(row.line.value) for row in rows if row.left is not None and row.left < 0]:
        yield say("Over its own budget: {lines}.", lines=list_words(over))
    if budget and (bare := [cost_line(row.line.value) for row in rows if row.budgeted is None and row.planned]):
        yield say("Without a budget: {lines}.", lines=list_words(bare))


def _orders(orders: tuple[OrderLine, ...], money: Money) -> Iterator[str]:
    wanted = [line for line in orders if line.packs]
    if not wanted:
        yield say("Nothing.")
        return
    amount = money(sum(line.amount for line in wanted))
    dates = [line.latest_order_date for line in wanted if line.latest_order_date is not None]
    if dates:
        yield capital(
            several(
                "{numeral} item for {amount}, by {date}.",
                "{numeral} items for {amount}, the first by {date}.",
                len(wanted),
                amount=amount,
                date=long_date(min(dates)),
            )
        )
    else:
        yield capital(
            several("{numeral} item for {amount}.", "{numeral} items for {amount}.", len(wanted), amount=amount)
        )
    late = sum(line.too_late for line in wanted)
    if late:
        yield capital(
            several("{numeral} of them cannot arrive in time.", "{numeral} of them cannot arrive in time.", late)
        )
