"""The programme manager's report: one page that opens with no network and prints on A4."""

from __future__ import annotations

from collections.abc import Sequence

from roundplan.domain.plan import Plan
from roundplan.domain.saying import Notice
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.page import draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.dates import common_practice_table, first_task, to_do_table
from roundplan.handouts.report.gathered import gathered
from roundplan.handouts.report.glance import glance
from roundplan.handouts.report.money import (
    assembly_table,
    cost_sentences,
    cost_table,
    money_of,
    order_table,
    session_cost_table,
)
from roundplan.handouts.report.people import (
    coverage,
    coverage_table,
    facility_covers,
    not_trained_table,
    shifts_covered,
    thin_shifts,
    thin_table,
)
from roundplan.handouts.report.scores import scorecard
from roundplan.handouts.report.timeline import timeline_svg, timeline_table
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.words import capital, count, long_date, span_words
from roundplan.supplies.orders import assembly, order_lines
from roundplan.travel.calendar import WorkingCalendar

SECTIONS = (
    ("scores", "What the plan reaches"),
    ("coverage", "Coverage by district and role"),
    ("timeline", "Timeline"),
    ("left-out", "Who is not trained, and why"),
    ("costs", "Costs"),
    ("supplies", "Supplies"),
    ("to-do", "What to do by when"),
    ("cover", "Who stays: cover by facility"),
    ("warnings", "Warnings"),
    ("practice", "Common practice in force"),
    ("safety", "Safety"),
)
"""Sections of the report in order: anchor and heading."""


def render(
    plan: Plan, training_round: TrainingRound, *, warnings: Sequence[Notice] = (), version: int | None = None
) -> str:
    """Return the report as HTML.

    Parameters
    ----------
    warnings : sequence of Notice
        Warnings about the inputs, in plain words.
    version : int or None
        Version of the report's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    calendar = WorkingCalendar(training_round)
    orders = order_lines(plan, training_round, calendar)
    thin = thin_shifts(index)
    walls = assembly(plan, training_round)
    money = money_of(index, orders)
    tasks = to_do_table(index, calendar, orders, walls)
    holidays = [f"{name}, {long_date(day)}, is an estimate." for day, name in calendar.estimated_holidays()]
    return render_page(
        "report.html.j2",
        **frame(plan, "Plan of the round", version),
        sections=SECTIONS,
        lede=_lede(index),
        draft=draft_reasons(index),
        glance=glance(index, money, orders, first_task(index, calendar, orders, walls), thin),
        scores=scorecard(index, money),
        coverage=coverage(index),
        coverage_table=coverage_table(index),
        timeline=timeline_svg(index),
        timeline_table=timeline_table(index),
        not_trained=not_trained_table(index),
        covers=facility_covers(index),
        shifts=shifts_covered(index),
        thin=thin_table(thin),
        cost_sentences=cost_sentences(index, money),
        cost_table=cost_table(index, money),
        session_costs=session_cost_table(index, money),
        orders=order_table(index, orders, money),
        assembly=assembly_table(walls),
        to_do=tasks,
        warnings=[*gathered(warnings), *holidays],
        practice=common_practice_table(index),
        safety=safety_lines(Reader.MANAGER),
        search=_search_words(plan),
    )


def _lede(index: PlanIndex) -> str:
    """Say the round in one sentence."""
    plan, dates = index.plan, sorted({day for session in index.plan.sessions for day in session.dates})
    if not dates:
        return "No session could be planned."
    sites = {session.venue for session in plan.sessions}
    return (
        f"{capital(count(len(plan.teams), 'team'))} from {count(len({t.facility for t in plan.teams}), 'facility')} in "
        f"{count(len(plan.sessions), 'session')} at {count(len(sites), 'venue')}, {span_words(dates[0], dates[-1])}, "
        f"with {count(len(index.crews_used()), 'crew')}."
    )


def _search_words(plan: Plan) -> str:
    """Say how the plan was found, so that it can be found again."""
    again = "the same tables give the same plan" if plan.search.reproducible else "a new search may find another plan"
    return f"Found by the search with seed {plan.search.seed} ({plan.search.mode}, {plan.search.stopped}); {again}."
