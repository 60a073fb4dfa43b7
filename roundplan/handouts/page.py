"""The pages' shared frame: one Jinja2 environment that escapes everything, one quiet style, no scripts."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from roundplan.domain.plan import Plan
from roundplan.handouts import words
from roundplan.handouts.marking import MARK, changes, line_mark, row_mark
from roundplan.handouts.paper import page_size
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import closed, language, locale, say, several, without_marks

_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u202a-\u202e\u2066\u2067\ufeff]")
_LONG_WORD = re.compile("([!-\u024f]{33,})")
_PIECE = re.compile(".{1,16}", re.DOTALL)

FILTERS = ("capital", "dialled")
"""Functions of ``words`` that templates call as filters."""

Cell = str | Sequence[str]
"""Text of a cell, or several lines of it."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of words, drawn by the macro ``table`` of parts.html.j2.

    Attributes
    ----------
    caption : str
        What the table shows; read out and printed above it.
    heads : tuple of str
        Column headings.
    rows : sequence of sequence of Cell
        The first cell of a row is its heading.
    numbers : frozenset of int
        Columns set flush right with figures of equal width.
    grid : bool
        Stays a grid on narrow screens, in a box of its own that scrolls; otherwise rows restack there.
    total : bool
        The last row is a total.
    """

    caption: str
    heads: tuple[str, ...]
    rows: Sequence[Sequence[Cell]]
    numbers: frozenset[int] = frozenset()
    grid: bool = False
    total: bool = False


def printable(value: Any) -> Any:
    """Take control characters and marks that turn the reading direction out of text; leave the rest alone.

    Marks that set names apart (``speech.apart``) stay where each has its end.
    """
    if isinstance(value, str) and not isinstance(value, Markup):
        text = _UNPRINTABLE.sub("", value)
        return text if closed(text) else without_marks(text)
    return value


def breakable(text: str) -> Markup:
    """Let a Latin word of over 32 letters break, so that it cannot push the other columns of a table off the paper."""
    runs = _LONG_WORD.split(printable(text))
    pieces = (_PIECE.findall(run) if place % 2 else [run] for place, run in enumerate(runs))
    return Markup("").join(Markup("<wbr>").join(map(escape, run)) for run in pieces)


@cache
def environment() -> Environment:
    """Return the environment that all pages are made with; names from tables come out as text."""
    made = Environment(
        loader=PackageLoader("roundplan.handouts", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=printable,
    )
    made.globals.update(say=say, several=several, page_size=page_size)
    made.globals.update(row_mark=row_mark, line_mark=line_mark, mark_sign=MARK)
    for name in FILTERS:
        made.filters[name] = getattr(words, name)
    made.filters["breakable"] = breakable
    return made


def render_page(template: str, **context: Any) -> str:
    """Fill a template.

    Parameters
    ----------
    template : str
        File name under ``roundplan/handouts/templates``.
    **context
        What the template names; a name that is missing is an error.
    """
    return environment().get_template(template).render(**context)


def draft_reasons(index: PlanIndex, sessions: Collection[str] | None = None) -> Sequence[str]:
    """Say why a plan is not yet to be acted upon; empty once it is announced and complete.

    Parameters
    ----------
    sessions : collection of str or None
        Codes of the sessions whose seats are counted, those that the reader is told of; None = all.
    """
    said = []
    provisional = index.provisional_seats(sessions)
    if index.plan.status == "draft":
        said.append(say("Nobody has been told yet: this plan has not been announced."))
    if index.placeholders:
        said.append(
            several(
                "Names are still wanted for {numeral} person of the staff lists.",
                "Names are still wanted for {numeral} people of the staff lists.",
                index.placeholders,
            )
        )
    if provisional:
        said.append(
            several(
                "No roster has been seen for the dates of {numeral} seat: provisional until it comes.",
                "No roster has been seen for the dates of {numeral} seats: provisional until it comes.",
                provisional,
            )
        )
    return tuple(said)


def caution(plan: Plan) -> str:
    """Say what stands over the reasons not to act yet: of a draft, or of an announced plan with seats still open."""
    if plan.status == "draft":
        return say("Draft: do not act on it yet")
    return words.capital(say("provisional until the roster comes"))


def frame(plan: Plan, title: str, version: int | None = None) -> dict[str, object]:
    """Return what the base template names on every page.

    Parameters
    ----------
    plan : Plan
        The plan that the page is about.
    title : str
        Title of the page, without the round's name.
    version : int or None
        Version of the document's own last change; None = the plan's.
    """
    return {
        "title": title,
        "round_name": plan.round_name,
        "version": words.version_words(plan, version),
        "changed": changes(),
        "is_draft": plan.status == "draft",
        "lang": language(),
        "direction": locale().text_direction,
    }
