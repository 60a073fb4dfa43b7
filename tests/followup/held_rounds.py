"""Attendance forms of the hand-worked round, filled in as trainers and the programme manager would."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import openpyxl

from roundplan import workflow
from roundplan.followup.clock import held_at

AFTER = datetime(2026, 6, 8, 8, tzinfo=UTC)
"""The Monday after the round."""

Form = Mapping[str, Mapping[tuple[int, str], object]]
"""What is written in a form: by sheet, row and key of the column."""

ALL_CAME: Form = {
    "Held": {(5, "held"): "yes"},
    "Who came": {(row, "came"): "yes" for row in range(5, 12)},
}
"""Session S1 at Alfa as planned: rows 5 to 8 are Alfa's team, 9 to 11 Gama's with its guest from Delt in row 10."""

HALL_CAME: Form = {"Held": {(5, "held"): "yes"}, "Who came": {(row, "came"): "yes" for row in range(5, 8)}}
"""Session S2 at the hall as planned."""

NO_ROAD: Form = {"Held": {(5, "held"): "no", (5, "cause"): "road"}}


def fill(form: Path, target: Path, cells: Form) -> Path:
    """Write into a form and save it elsewhere."""
    book = openpyxl.load_workbook(form)
    for sheet, values in cells.items():
        page = book[sheet]
        keys = {page.cell(3, column).value: column for column in range(1, page.max_column + 1)}
        for (row, key), value in values.items():
            page.cell(row, keys[key]).value = value  # type: ignore[union-attr]
    book.save(target)
    return target


def with_cells(form: Form, more: Form) -> Form:
    """Return a form with more cells, or others, filled in."""
    return {
        sheet: {**form.get(sheet, {}), **more.get(sheet, {})} for sheet in (*form, *(s for s in more if s not in form))
    }


def close(out: Path, *files: Path, now: datetime = AFTER, **options: object) -> workflow.Closed:
    """Take forms in at a moment."""
    with held_at(now):
        return workflow.close(out, files, who="Anna", **options)  # type: ignore[arg-type]
