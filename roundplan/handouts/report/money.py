"""What the report says of money and supplies."""

from __future__ import annotations

from roundplan.costs.budget import against_budget, cost_per_session, cost_per_trained_person, over_cap, session_costs
from roundplan.costs.pricing import left_out_lines, total
from roundplan.domain.clock import MINUTE
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import (
    HARD_SPACE,
    Money,
    capital,
    dates_words,
    duration,
    full_date,
    number,
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
        budget = "none" if row.budgeted is None else money.bare(row.budgeted)
        left = "" if row.left is None else _left_words(row.left, money)
        rows.append((capital(row.line.value), money.bare(row.planned), budget, left))
    budgeted = sum(row.budgeted or 0 for row in compared)
    planned = total(index.plan.costs)
    all_budgets = money.bare(budgeted) if budgeted else "none"
    all_left = _left_words(budgeted - planned, money) if budgeted else ""
    rows.append(("Total", money.bare(planned), all_budgets, all_left))
    heads = ("Cost line", "Planned", "Budget", "Left or over")
    caption = f"Amounts in {money.currency}"
    return Table(caption, heads, rows, numbers=frozenset({1, 2, 3}), total=True)


def _left_words(left: int, money: Money) -> str:
    return money.bare(abs(left)) + (" over" if left < 0 else " left")


def cost_sentences(index: PlanIndex, money: Money) -> tuple[str, ...]:
    """Say the total, per session, per person, beside the cap, and what is left out of it."""
    costs, r = index.plan.costs, index.training_round
    said = [f"The round costs {money(total(costs))} in all, contingency included."]
    session, person = cost_per_session(costs, index.plan), cost_per_trained_person(costs, index.plan)
    if session is not None and person is not None:
        said.append(
            f"That is {_rounded(session, money)} a session and {_rounded(person, money)} a trained person, everything "
            "shared out."
        )
    cap, over = r.settings.prices.cap, over_cap(costs, r)
    if cap is not None:
        beside = f"over it by {money(over)}" if over else f"within it by {money(cap - total(costs))}"
        said.append(f"The cap is {money(cap)}; the plan is {beside}.")
    if left_out := left_out_lines(r):
        said.append(f"Left out of the totals on purpose: {'; '.join(left_out)}.")
    return tuple(said)


def _rounded(amount: int, money: Money) -> str:
    """Write a share of the total in whole units of the currency."""
    return f"about {money.currency}{HARD_SPACE}{number(amount / money.scale, 0)}"


def session_cost_table(index: PlanIndex, money: Money) -> Table:
    """Return what each session costs by itself: what is shared by sessions is in the total only."""
    costs = session_costs(index.plan.costs)
    rows: list[tuple[Cell, ...]] = []
    for session in index.sessions_in_order:
        teams = str(len(index.teams_of_session(session.code)))
        place = f"{index.name(session.venue)}, {dates_words(session.dates)}"
        rows.append((place, teams, money.bare(costs.get(session.code, 0))))
    caption = (
        f"Each session by itself, in {money.currency}; journeys, supplies and contingency are shared and not in it"
    )
    return Table(caption, ("Session", "Teams", "Cost"), rows, numbers=frozenset({1, 2}))


def order_table(index: PlanIndex, orders: tuple[OrderLine, ...], money: Money) -> Table:
    """Return what has to be ordered, until when, and from whom."""
    rows: list[tuple[Cell, ...]] = []
    for line in sorted(orders, key=lambda line: (line.latest_order_date or line.needed_by, line.item)):
        if not line.packs:
            continue
        item = index.training_round.item(line.item)
        latest = full_date(line.latest_order_date) if line.latest_order_date else "cannot be bought"
        when: Cell = (latest, "too late as things stand") if line.too_late else latest
        packs = f"{line.packs} × {quantity(line.pack_size, item.unit)}"
        rows.append((item.name, when, packs, line.supplier or "not named", money.bare(line.amount)))
    heads = ("Item", "Order by", "Packs", "Supplier", f"Cost, {money.currency}")
    return Table("What to order, the most urgent first", heads, rows, numbers=frozenset({4}))


def assembly_table(walls: tuple[Assembly, ...]) -> Table:
    """Return the walls to assemble before each trip, and the working time."""
    rows = [
        (f"{row.trip}, crew {row.crew}", short_date(row.date), str(row.walls), duration(row.minutes * MINUTE))
        for row in walls
        if row.walls
    ]
    heads = ("Trip", "Leaves", "Walls", "Working time of one person")
    return Table("Walls to assemble before each trip", heads, rows, numbers=frozenset({2, 3}))
