"""An attendance form that came back, read by the grammar of :mod:`roundplan.attendance.layout`."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from roundplan.attendance.layout import FIRST_ROW, KEY_ROW, LAYOUT, MARKS_SHEET, ROW, SESSION, TOLD_BY, Mark, Part
from roundplan.slips.layout import MARKS_SHEET as SLIPS_SHEET

Rows = Sequence[Sequence[Any]]

_LONGEST_CODE = 2_000  # letters of a row's hidden code


class NotAForm(ValueError):
    """A workbook that is no attendance form, or of a layout that this version does not read; the text says why."""


@dataclass(frozen=True, slots=True)
class Written:
    """One row that holds anything.

    Attributes
    ----------
    session : str
        Key of the session, or ``round``.
    code : tuple of str
        What the row is about; empty where that cannot be read.
    cells : mapping of str to str
        Text of every visible cell that is not blank, by column.
    title : str
        Name of its sheet as it came back.
    number : int
        Number of the row on its sheet.
    """

    part: Part
    session: str
    code: tuple[str, ...]
    cells: Mapping[str, str]
    title: str
    number: int


@dataclass(frozen=True, slots=True)
class Returned:
    """A form that came back whole."""

    round_name: str
    session: str
    version: int
    status: str
    language: str
    rows: tuple[Written, ...]


def read_form(sheets: Mapping[str, Rows]) -> Returned:
    """Read a form.

    Parameters
    ----------
    sheets : mapping of str to rows
        Every sheet of the workbook, hidden ones too, by name; a cell without content is None or empty text.

    Raises
    ------
    NotAForm
        If the hidden marks or all visible sheets are missing, or the layout is not known.
    """
    if MARKS_SHEET not in sheets:
        if SLIPS_SHEET in sheets:
            raise NotAForm("this is a slip of replies; take it in with: roundplan replies")
        raise NotAForm("this workbook is no attendance form: its hidden sheet is missing")
    marks = {cell_text(row[0]): cell_text(row[1]) for row in sheets[MARKS_SHEET] if len(row) > 1}
    if marks.get(Mark.LAYOUT) != str(LAYOUT):
        raise NotAForm(f"this form has layout {marks.get(Mark.LAYOUT, 'none')}; this program reads layout {LAYOUT}")
    missing = [mark for mark in Mark if mark not in marks]
    if missing or not re.fullmatch(r"[0-9]{1,6}", marks[Mark.VERSION]):
        raise NotAForm(f"this form lacks: {', '.join(missing) or Mark.VERSION}")
    found = [(title, part_of(rows), rows) for title, rows in sheets.items() if title != MARKS_SHEET]
    rows = tuple(row for title, part, held in found if part is not None for row in read_rows(part, title, held))
    if not any(part for _, part, _ in found):
        raise NotAForm("this form has lost the hidden keys of its columns")
    return Returned(
        round_name=marks[Mark.ROUND],
        session=marks[Mark.SESSION],
        version=int(marks[Mark.VERSION]),
        status=marks[Mark.STATUS],
        language=marks[Mark.LANGUAGE],
        rows=rows,
    )


def part_of(rows: Rows, key_row: int = KEY_ROW) -> Part | None:
    """Return which sheet of a form some rows are; None if they are none."""
    if len(rows) < key_row:
        return None
    keys = {cell_text(key).casefold() for key in rows[key_row - 1]}
    if not {SESSION, ROW} <= keys:
        return None
    return next((part for part, column in TOLD_BY.items() if column in keys), None)


def read_rows(
    part: Part, title: str, rows: Rows, *, key_row: int = KEY_ROW, first_row: int = FIRST_ROW
) -> Iterator[Written]:
    """Yield the rows of one sheet that hold anything in a visible cell.

    Parameters
    ----------
    title : str
        Name of the sheet.
    rows : sequence of rows
        All of the sheet, from its first row on.
    key_row, first_row : int
        Rows of the keys and of the first row, from 1.
    """
    keys = [cell_text(key).casefold() for key in rows[key_row - 1]]
    for number, row in enumerate(rows[first_row - 1 :], start=first_row):
        texts = {key: cell_text(value) for key, value in zip(keys, row, strict=False) if key}
        cells = {key: text for key, text in texts.items() if text and key not in (SESSION, ROW)}
        if cells:
            yield Written(part, texts.get(SESSION, ""), row_code(texts.get(ROW, "")), cells, title, number)


def row_code(text: str) -> tuple[str, ...]:
    """Return what a row's hidden code says; empty where it says nothing that can be read."""
    if len(text) > _LONGEST_CODE:
        return ()
    try:
        parts = json.loads(text)
    except (ValueError, RecursionError):
        return ()
    return tuple(parts) if isinstance(parts, list) and all(isinstance(part, str) for part in parts) else ()


def code_text(code: Sequence[str]) -> str:
    """Return the text of a row's hidden code."""
    return json.dumps(list(code), ensure_ascii=False)


def cell_text(value: Any) -> str:
    """Return a cell's content as text: whole numbers without a decimal point, dates as ISO 8601."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, datetime.datetime):
        value = value.date()
    return "" if value is None else " ".join(str(value).split())
