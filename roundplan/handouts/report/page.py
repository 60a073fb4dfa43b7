"""The programme manager's report: one page that opens with no network and prints on paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from roundplan.domain.plan import Plan
from roundplan.domain.saying import Notice
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.page import draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.dates import first_task, to_do_table
from roundplan.handouts.report.defaults import common_practice_table
from roundplan.handouts.report.gathered import gathered
from roundplan.handouts.report.glance import glance
from roundplan.handouts.report.money import (
    assembly_table,
    cost_chart,
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
from roundplan.handouts.report.refreshers import district_chart, refresher_table, role_chart
from roundplan.handouts.report.risks import Risk, risks
from roundplan.handouts.report.scores import scorecard
from roundplan.handouts.report.timeline import timeline_table, timeline_weeks
from roundplan.handouts.report.trainers import load_chart, load_table, trainer_loads
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import message, say, several
from roundplan.handouts.words import capital, list_words, long_date, span_words
from roundplan.supplies.orders import OrderLine, assembly, order_lines
from roundplan.travel.calendar import WorkingCalendar

SECTIONS = {
    "scores": message("What the plan reaches"),
    "glance": message("At a glance"),
    "coverage": message("Coverage by district and role"),
    "timeline": message("Timeline"),
    "trainers": message("Trainers"),
    "left-out": message("Who is not trained, and why"),
    "costs": message("Costs"),
    "supplies": message("Supplies"),
    "to-do": message("What to do by when"),
    "risks": message("Risks"),
    "cover": message("Who stays: cover by facility"),
    "warnings": message("Warnings"),
    "practice": message("Common practice in force"),
    "safety": message("Safety"),
}
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
    return render_page(
        "report.html.j2",
        **frame(plan, say("Plan of the round"), version),
        sections={anchor: say(words) for anchor, words in SECTIONS.items()},
        lede=lede(index),
        draft=draft_reasons(index),
        **_money_and_dates(index, calendar, orders, risks(index, orders)),
        **_people(index),
        timeline=timeline_weeks(index),
        timeline_table=timeline_table(index),
        warnings=[*gathered(warnings), *_holidays(calendar)],
        practice=common_practice_table(index),
        safety=safety_lines(Reader.MANAGER),
        search=_search_words(plan),
    )


def _money_and_dates(
    index: PlanIndex, calendar: WorkingCalendar, orders: tuple[OrderLine, ...], found: tuple[Risk, ...]
) -> dict[str, Any]:
    """Return scores, costs, supplies, dates, risks, and the lines that lead to them."""
    walls = assembly(index.plan, index.training_round)
    money, thin = money_of(index, orders), thin_shifts(index)
    return {
        "scores": scorecard(index, money),
        "glance": glance(index, money, orders, first_task(index, calendar, orders, walls), thin, found),
        "thin": thin_table(thin),
        "cost_sentences": cost_sentences(index, money),
        "cost_chart": cost_chart(index, money),
        "cost_table": cost_table(index, money),
        "session_costs": session_cost_table(index, money),
        "orders": order_table(index, orders, money),
        "assembly": assembly_table(walls),
        "to_do": to_do_table(index, calendar, orders, walls),
        "risks": found,
    }


def _people(index: PlanIndex) -> dict[str, Any]:
    """Return who is trained, who is not, who stays, and what trainers give."""
    loads = tuple(trainer_loads(index))
    return {
        "coverage": coverage(index),
        "coverage_table": coverage_table(index),
        "district_chart": district_chart(index),
        "role_chart": role_chart(index),
        "refreshers": refresher_table(index),
        "not_trained": not_trained_table(index),
        "load_chart": load_chart(loads),
        "loads": load_table(loads),
        "covers": facility_covers(index),
        "shifts": shifts_covered(index),
    }


def lede(index: PlanIndex) -> str:
    """Say the round in one sentence."""
    plan, dates = index.plan, sorted({day for session in index.plan.sessions for day in session.dates})
    if not dates:
        return say("No session could be planned.")
    facilities = len({team.facility for team in plan.teams})
    venues = len({session.venue for session in plan.sessions})
    said = say(
        "{teams} from {facilities}: {sessions} at {venues}, {dates}, with {crews}.",
        teams=several("{numeral} team", "{numeral} teams", len(plan.teams)),
        facilities=several("{numeral} facility", "{numeral} facilities", facilities),
        sessions=several("{numeral} session", "{numeral} sessions", len(plan.sessions)),
        venues=several("{numeral} venue", "{numeral} venues", venues),
        dates=span_words(dates[0], dates[-1]),
        crews=several("{numeral} crew", "{numeral} crews", len(index.crews_used())),
    )
    return capital(said)


def _holidays(calendar: WorkingCalendar) -> list[str]:
    found = [say("{holiday}, {date}", holiday=name, date=long_date(day)) for day, name in calendar.estimated_holidays()]
    if not found:
        return []
    return [say("Dates of holidays that are estimates: {holidays}.", holidays=list_words(found))]


def _search_words(plan: Plan) -> str:
    """Say how the plan was found, so that it can be found again."""
    found = {"seed": plan.search.seed, "mode": plan.search.mode, "stopped": plan.search.stopped}
    if plan.search.reproducible:
        return say(
            "Found by the search with seed {seed} ({mode}, {stopped}); the same tables give the same plan.", **found
        )
    return say("Found by the search with seed {seed} ({mode}, {stopped}); a new search may find another plan.", **found)
