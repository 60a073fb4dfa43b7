"""The final report as a page: planned beside done; it names nobody and opens with no network."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.closing.done import Standing
from roundplan.closing.figures import Figures, took_place
from roundplan.domain.plan import Plan
from roundplan.handouts.closing.grids import grids, money_of
from roundplan.handouts.page import frame, render_page
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import capital, list_words, span_words


def render(plan: Plan, figures: Figures) -> str:
    """Return the report as HTML.

    Parameters
    ----------
    plan : Plan
        The plan that was announced last, for the name and version of the round.
    """
    money = money_of(figures)
    return render_page(
        "closing.html.j2",
        **frame(plan, say("What the round came to")),
        lede=_lede(figures),
        tables=[(grid.name, grid.table(money)) for grid in grids(figures)],
        open_points=tuple(_open_points(figures)),
        coming=tuple(_coming(figures)),
        notes=tuple(_notes(figures)),
        safety=safety_lines(Reader.MANAGER),
    )


def _open_points(figures: Figures) -> Iterator[str]:
    """Say what is missing from the report, so that nobody takes silence for an answer."""
    silent = sum(s.standing == Standing.NOT_REPORTED for s in figures.sessions)
    if silent:
        yield capital(
            several(
                "{numeral} session without a form: counted as not held.",
                "{numeral} sessions without a form: counted as not held.",
                silent,
            )
        )
    people = sum(s.not_said for s in figures.sessions if s.standing in (Standing.HELD, Standing.PARTLY))
    if people:
        yield capital(
            several(
                "{numeral} person of whom the form does not say whether they came: not counted as trained.",
                "{numeral} people of whom the forms do not say whether they came: not counted as trained.",
                people,
            )
        )
    bare = sum(row.without_receipt for row in figures.lines)
    if bare:
        yield capital(several("{numeral} payment without a receipt.", "{numeral} payments without a receipt.", bare))
    if not any(row.payments for row in figures.lines):
        yield say("No spending was entered.")
    if figures.items and not any(row.sessions for row in figures.items):
        yield say("No consumables were counted; quantities stay as they were.")


def next_name(name: str) -> str:
    """Name the round that follows a round."""
    return say("{round}, next round", round=name)


def _lede(figures: Figures) -> str:
    sessions = figures.sessions
    return say(
        "{held} of {planned} sessions were held; {teams} of {wanted} teams and {people} people are trained.",
        held=took_place(figures),
        planned=len(sessions),
        teams=sum(s.teams_trained for s in sessions),
        wanted=sum(s.teams for s in sessions),
        people=sum(s.trained for s in sessions),
    )


def _notes(figures: Figures) -> Iterator[str]:
    """Say what the counts are made of."""
    yield say("This report names nobody; counts by role and facility stay when all personal data have been removed.")
    if figures.replaced:
        yield capital(
            several(
                "{numeral} person came in place of another.",
                "{numeral} people came in place of others.",
                figures.replaced,
            )
        )
    if figures.besides:
        yield capital(
            several(
                "{numeral} person came whom nobody had expected.",
                "{numeral} people came whom nobody had expected.",
                figures.besides,
            )
        )
    actions = figures.programme_actions + sum(row.actions for row in figures.facilities)
    if actions:
        yield capital(
            several(
                "{numeral} action was agreed; the list of follow-up says by whom and by when.",
                "{numeral} actions were agreed; the list of follow-up says by whom and by when.",
                actions,
            )
        )
    incidents = figures.programme_incidents + sum(row.incidents for row in figures.facilities)
    if incidents:
        yield capital(
            several("{numeral} incident was written down.", "{numeral} incidents were written down.", incidents)
        )


def _coming(figures: Figures) -> Iterator[str]:
    """Say what is proposed for the next round."""
    first, last = date.fromisoformat(figures.next_first), date.fromisoformat(figures.next_last)
    yield say("Dates: {dates}, when everybody trained now may train again.", dates=span_words(first, last))
    if figures.raised:
        names = list_words(figures.raised)
        yield say("One priority higher, as no team of theirs was trained: {facilities}.", facilities=names)
    changed = [row.name for row in figures.items if row.after != row.before]
    if changed:
        yield say("Quantities corrected by real use: {items}.", items=list_words(changed))
    if figures.left:
        yield capital(
            several(
                "{numeral} person who has left is no longer on the staff list.",
                "{numeral} people who have left are no longer on the staff list.",
                figures.left,
            )
        )
    if figures.lifted:
        yield capital(
            several(
                "Of {numeral} trainer or crew the dates of availability are over and were left open.",
                "Of {numeral} trainers and crews the dates of availability are over and were left open.",
                figures.lifted,
            )
        )
    yield say("The tables are a proposal: look through them, then check and plan.")
