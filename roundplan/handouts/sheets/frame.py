"""What all sheets are made of: sections of text, tables and ruled lines, set so that they fit one side of paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roundplan.domain.plan import Plan
from roundplan.handouts.marking import Changes, changes, marked_line, marked_rows
from roundplan.handouts.page import Table, frame, render_page
from roundplan.handouts.sheets.fit import LANDSCAPE, PORTRAIT, SIZES_PT, Paper, Part, Rows, Space, Text, fits, type_size
from roundplan.handouts.speech import say

ROW_MM = 5.6
"""Least height of a row in which a word or two are written by hand."""

SIGNED_MM = 8.0
"""Least height of a row in which somebody signs."""

RULED_MM = 7.0
"""Height of a ruled line to write on."""

LONG_ROWS = 12
"""A table with more rows may go over to a second side; a shorter one is kept together."""


@dataclass(frozen=True, slots=True)
class Section:
    """One section of a sheet.

    Attributes
    ----------
    minor : bool
        Set under the section before it, with a smaller heading.
    shares : tuple of float
        Each column's share of the width.
    row_mm : float
        Least height of a row in mm; 0 = as its text.
    ruled : int
        Ruled lines after the table.
    """

    heading: str = ""
    lines: tuple[str, ...] = ()
    table: Table | None = None
    shares: tuple[float, ...] = ()
    minor: bool = False
    row_mm: float = 0.0
    ruled: int = 0

    @property
    def scope(self) -> str:
        """What the rows of its table are about, where they are told from those of an earlier version."""
        return self.heading or (self.table.caption if self.table else "")

    @property
    def long(self) -> bool:
        """Whether the section may go over to a second side."""
        return self.table is not None and len(self.table.rows) > LONG_ROWS


def draft_line(plan: Plan) -> str:
    """Say that a sheet is a draft; empty once the plan is announced."""
    return say("This is a draft; do not act on it yet.") if plan.status == "draft" else ""


def render_sheet(
    plan: Plan,
    title: str,
    lede: str,
    sections: Sequence[Section],
    *,
    sign: Sequence[str] = (),
    version: int | None = None,
    landscape: bool = False,
) -> str:
    """Return a sheet as HTML, its type as large as fits one side of A4 and of US letter.

    Parameters
    ----------
    plan : Plan
        The plan that the sheet is about.
    title, lede : str
        Heading, and the line below it that says what the sheet is.
    sections : sequence of Section
        In order.
    sign : sequence of str
        Labels of the lines to sign at the end.
    version : int or None
        Version of the sheet's own last change; None = the plan's.
    """
    parts: list[Part] = [Text(title, 1.8), Text(lede, 1.0, 2.0), Space(14 if sign else 6)]
    for section in sections:
        parts += _parts(section)
    paper = LANDSCAPE if landscape else PORTRAIT
    told, said = _changes(parts, paper)
    return render_page(
        "sheet.html.j2",
        **(frame(plan, title, version) | {"changed": told}),
        lede=lede,
        draft=draft_line(plan),
        landscape=landscape,
        size=type_size([*parts, *said], paper),
        ruled_height=RULED_MM,
        sections=list(sections),
        sign=tuple(sign),
    )


def _changes(parts: Sequence[Part], paper: Paper) -> tuple[Changes | None, list[Part]]:
    """Return the list of changes, cut where the sheet would run over for it, and the room that it takes."""
    found = changes()
    if found is None:
        return None, []
    for lines in range(len(found.lines), -1, -1):
        told = found.shortened(lines)
        said: list[Part] = [Text(told.title, 1.15), *map(Text, told.told()), Space(6)]
        if fits([*parts, *said], SIZES_PT[-1], paper):
            break
    return told, said


def _parts(section: Section) -> list[Part]:
    parts: list[Part] = [Text(section.heading, 1.1 if section.minor else 1.25, 0.6)] if section.heading else []
    parts += [Text(marked_line(section.heading, line)) for line in section.lines]
    if section.table is not None and section.table.rows:
        parts.append(Rows(marked_rows(section.scope, section.table.rows), section.shares, section.row_mm))
    if section.ruled:
        parts.append(Space(RULED_MM * section.ruled))
    return parts
