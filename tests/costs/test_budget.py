"""A plan's cost against its budget; amounts as in ``test_pricing``."""

from __future__ import annotations

from hand_plans import hand_plan, hand_round
from rounds import settings

from roundplan.costs.budget import (
    BudgetComparison,
    against_budget,
    cost_per_session,
    cost_per_trained_person,
    over_cap,
    session_costs,
    trained_people,
)
from roundplan.costs.pricing import price_plan
from roundplan.domain.decision import BudgetLine, CostLine
from roundplan.domain.plan import Plan

ENTRIES = price_plan(hand_plan(), hand_round())
TOTAL = 1407


def test_each_line_stands_beside_its_budget() -> None:
    budget = (
        BudgetLine(line=CostLine.TRAINERS, amount=90),
        BudgetLine(line=CostLine.CREW_TRAVEL, amount=800, note="fuel and wear"),
    )
    rows = against_budget(ENTRIES, hand_round(budget=budget))
    assert [row.line for row in rows] == list(CostLine)
    assert rows[0] == BudgetComparison(line=CostLine.CREW_TRAVEL, planned=708, budgeted=800, note="fuel and wear")
    assert rows[0].left == 92
    trainers = next(row for row in rows if row.line is CostLine.TRAINERS)
    assert (trainers.planned, trainers.left) == (95, -5)
    venues = next(row for row in rows if row.line is CostLine.VENUES)
    assert (venues.budgeted, venues.left) == (None, None)


def test_budgeted_lines_without_cost_are_kept_and_others_left_out() -> None:
    rows = against_budget((), hand_round(budget=(BudgetLine(line=CostLine.PRINTING, amount=5),)))
    assert [(row.line, row.planned, row.left) for row in rows] == [(CostLine.PRINTING, 0, 5)]


def test_cap() -> None:
    def over(cap: int | None) -> int:
        return over_cap(ENTRIES, hand_round(settings=settings(prices={"cap": cap})))

    assert [over(None), over(TOTAL), over(TOTAL - 1), over(1000)] == [0, 0, 1, 407]


def test_costs_of_a_session_by_itself() -> None:
    """Participants 30, their travel 180 and lodging 18, venue 40, lunches 16, printing 6."""
    assert session_costs(ENTRIES) == {"S1": 290}


def test_shares_of_the_whole() -> None:
    assert trained_people(hand_plan()) == 6
    assert cost_per_session(ENTRIES, hand_plan()) == TOTAL
    assert cost_per_trained_person(ENTRIES, hand_plan()) == 234  # 1,407 ÷ 6 = 234.5, the even one


def test_no_shares_of_nothing() -> None:
    empty = Plan(round_name="Tiny")
    assert cost_per_session((), empty) is None
    assert cost_per_trained_person((), empty) is None
