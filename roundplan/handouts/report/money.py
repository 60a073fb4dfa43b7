"""What the report says of money and supplies."""

from __future__ import annotations

from markupsafe import Markup

from roundplan.costs.budget import against_budget, cost_per_session, cost_per_trained_person, over_cap, session_costs
from roundplan.costs.pricing import left_out_lines, total
from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Session
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.charts import Bar, bar_chart
from roundplan.handouts.speech import say
from roundplan.handouts.terms import cost_line, setting_meaning
from roundplan.handouts.words import (
    Money,
    capital,
    dates_words,
    duration,
    full_date,
    quantity,
    short_date,
)
from roundplan.supplies.orders import Assembly, OrderLine


def money_of(index: PlanIndex, orders: tuple[OrderLine, ...]) -> Money:
    """Return how the report writes money; decimals only where an amount has them."""
    settings = index.training_round.settings
    amounts = [entry.amount for entry in index.plan.costs] + [line.amount for line in orders]
    amounts += [row.amount for row in index.training_round.budget]
    amounts += [cap] if (cap := settings.prices.cap) is not None else []
    return Money(settings.round.currency, settings.round.currency_digits, amounts)


def cost_table(index: PlanIndex, money: Money) -> Table:
    """Return each cost line beside its budget line, in words whether it is over, with the total."""
    rows = []
    compared = against_budget(index.plan.costs, index.training_round)
    for row in compared:
        budget = say("none") if row.budgeted is None else money.bare(row.budgeted)
        left = "" if row.left is None else _left_words(row.left, money)
        rows.append((capital(cost_line(row.line.value)), money.bare(row.planned), budget, left))
    budgeted = sum(row.budgeted or 0 for row in compared)
    planned = total(index.plan.costs)
    all_budgets = money.bare(budgeted) if budgeted else say("none")
    all_left = _left_words(budgeted - planned, money) if budgeted else ""
    rows.append((say("Total"), money.bare(planned), all_budgets, all_left))
    heads = (say("Cost line"), say("Planned"), say("Budget"), say("Left or over"))
    caption = say("Amounts in {currency}", currency=money.currency)
    return Table(caption, heads, rows, numbers=frozenset({1, 2, 3}), total=True)


def cost_chart(index: PlanIndex, money: Money) -> Markup:
    """Draw each cost line beside its budget."""
    bars = [
        Bar(
            capital(cost_line(row.line.value)),
            (row.planned / money.scale,),
            money.bare(row.planned),
            None if row.budgeted is None else row.budgeted / money.scale,
        )
        for row in against_budget(index.plan.costs, index.training_round)
    ]
    budgeted = say("budget") if any(bar.mark is not None for bar in bars) else ""
    title = say("Planned cost by line, in {currency}", currency=money.currency)
    return bar_chart("costs", title, (say("planned"),), bars, mark=budgeted)


def _left_words(left: int, money: Money) -> str:
    amount = money.bare(abs(left))
    return say("{amount} over", amount=amount) if left < 0 else say("{amount} left", amount=amount)


def cost_sentences(index: PlanIndex, money: Money) -> tuple[str, ...]:
    """Say the total, per session, per person, beside the cap, and what is left out of it."""
    costs, r = index.plan.costs, index.training_round
    said = [say("The round costs {amount} in all, contingency included.", amount=money(total(costs)))]
    session, person = cost_per_session(costs, index.plan), cost_per_trained_person(costs, index.plan)
    if session is not None and person is not None:
        said.append(
            say(
                "That is about {session} a session and about {person} a trained person, everything shared out.",
                session=_rounded(session, money),
                person=_rounded(person, money),
            )
        )
    cap, over = r.settings.prices.cap, over_cap(costs, r)
    if cap is not None and over:
        said.append(say("The cap is {cap}; the plan is over it by {amount}.", cap=money(cap), amount=money(over)))
    elif cap is not None:
        left = money(cap - total(costs))
        said.append(say("The cap is {cap}; the plan is within it by {amount}.", cap=money(cap), amount=left))
    if left_out := left_out_lines(r):
        said.append(
            say(
                "Left out of the totals on purpose: {lines}.",
                lines="; ".join(_left_out_words(line) for line in left_out),
            )
        )
    return tuple(said)


def _left_out_words(line: str) -> str:
    """Say a line that is left out: which, and what its price would be for."""
    name, _, meaning = line.partition(": ")
    return say("{line}: {meaning}", line=cost_line(name), meaning=setting_meaning(meaning))


def _rounded(amount: int, money: Money) -> str:
    """Write a share of the total in whole units of the currency."""
    return Money(money.currency, 0)(round(amount / money.scale))


def session_cost_table(index: PlanIndex, money: Money) -> Table:
    """Return what each session costs by itself: what is shared by sessions is in the total only."""
    costs = session_costs(index.plan.costs)
    rows: list[tuple[Cell, ...]] = []
    for session in index.sessions_in_order:
        teams = str(len(index.teams_of_session(session.code)))
        place = session_words(index, session)
        rows.append((place, teams, money.bare(costs.get(session.code, 0))))
    caption = say(
        "Each session by itself, in {currency}; journeys, supplies and contingency are shared and not in it",
        currency=money.currency,
    )
    return Table(caption, (say("Session"), say("Teams"), say("Cost")), rows, numbers=frozenset({1, 2}))


def order_table(index: PlanIndex, orders: tuple[OrderLine, ...], money: Money) -> Table:
    """Return what has to be ordered, until when, and from whom."""
    rows: list[tuple[Cell, ...]] = []
    for line in sorted(orders, key=lambda line: (line.latest_order_date or line.needed_by, line.item)):
        if not line.packs:
            continue
        item = index.training_round.item(line.item)
        latest = full_date(line.latest_order_date) if line.latest_order_date else say("cannot be bought")
        when: Cell = (latest, say("too late as things stand")) if line.too_late else latest
        supplier = line.supplier or say("not named")
        rows.append((item.name, when, packs_words(line, item.unit), supplier, money.bare(line.amount)))
    heads = (say("Item"), say("Order by"), say("Packs"), say("Supplier"),
             say("Cost, {currency}", currency=money.currency))  # fmt: skip
    return Table(say("What to order, the most urgent first"), heads, rows, numbers=frozenset({4}))


def packs_words(line: OrderLine, unit: str) -> str:
    """Write how many packs of how much: ``3 × 10 pieces``."""
    return f"{line.packs} × {quantity(line.pack_size, unit)}"


def session_words(index: PlanIndex, session: Session) -> str:
    """Name a session by venue and dates."""
    return say("{venue}, {dates}", venue=index.name(session.venue), dates=dates_words(session.dates))


def assembly_table(walls: tuple[Assembly, ...]) -> Table:
    """Return the walls to assemble before each trip, and the working time."""
    rows = [
        (
            say("{trip}, crew {crew}", trip=row.trip, crew=row.crew),
            short_date(row.date),
            str(row.walls),
            duration(row.minutes * MINUTE),
        )
        for row in walls
        if row.walls
    ]
    heads = (say("Trip"), say("Leaves"), say("Walls"), say("Working time of one person"))
    return Table(say("Walls to assemble before each trip"), heads, rows, numbers=frozenset({2, 3}))
