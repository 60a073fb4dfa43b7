"""A slip that came back, read by the grammar of :mod:`roundplan.slips.layout`, from plain rows of cells.

Any library that gives a workbook's sheets as rows will do. Cells may be left out at the end of a row, and a visible
sheet may have another name than it had: some programs drop the lock on names, so its hidden keys tell which it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from roundplan.slips.layout import (
    FIRST_ROW,
    HIDDEN_COLUMNS,
    KEY_ROW,
    LAYOUT,
    MARKS_SHEET,
    NAMES_SHEET,
    OPEN_COLUMNS,
    SHEETS,
    Column,
    Mark,
    Sheet,
)
from roundplan.slips.reply_code import Word, reply_word

Rows = Sequence[Sequence[Any]]
NO_NAMES: Mapping[str, str] = {}


class NotASlip(ValueError):
    """A workbook that is no slip, or of a layout that this version does not read; the text says why."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One row, whether or not somebody wrote in it.

    Attributes
    ----------
    sheet : Mark
        ``sheet seats``, ``sheet cover`` or ``sheet confirmations``.
    code : str
        Reply code of the row.
    key : mapping of Column to str
        The hidden codes of the row: facility, team, person, role, dates, shift, kind.
    word : Word or None
        What was replied, in whichever language; None = nothing that is a reply.
    substitute : str or None
        Code of the person chosen from the drop-down; None where nobody, or a name off the list, was written.
    written : mapping of Column to str
        What stands in the open cells, as it was written.
    locked : mapping of Column to str
        What stands in the visible cells that were not to be written in.
    title : str
        Name of its sheet as it came back.
    row : int
        Number of the row on its sheet.
    """

    sheet: Mark
    code: str
    key: Mapping[Column, str]
    word: Word | None
    substitute: str | None
    written: Mapping[Column, str]
    locked: Mapping[Column, str]
    title: str
    row: int

    @property
    def dates(self) -> tuple[date, ...]:
        """Dates that the row is about."""
        return tuple(date.fromisoformat(text) for text in self.key[Column.DATES_CODE].split(";"))


@dataclass(frozen=True, slots=True)
class Returned:
    """A slip that came back.

    Attributes
    ----------
    scope : str
        Code of the facility, or name of the district.
    status : str
        Status of the plan that it was written for.
    rows : tuple of Answer
        Every row that holds anything.
    """

    round_name: str
    scope: str
    version: int
    status: str
    language: str
    rows: tuple[Answer, ...]

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The rows that somebody wrote in."""
        return tuple(row for row in self.rows if row.written)


def read_slip(sheets: Mapping[str, Rows]) -> Returned:
    """Read a slip.

    Parameters
    ----------
    sheets : mapping of str to rows
        Every sheet of the workbook, hidden ones too, by name; a cell without content is None or empty text.

    Raises
    ------
    NotASlip
        If the hidden marks or a sheet that they name are missing, or the layout is not known.
    """
    if MARKS_SHEET not in sheets or NAMES_SHEET not in sheets:
        raise NotASlip("this workbook is no slip: its hidden sheets are missing")
    marks = {_text(row[0]): _text(row[1]) for row in sheets[MARKS_SHEET] if len(row) > 1}
    if marks.get(Mark.LAYOUT) != str(LAYOUT):
        raise NotASlip(f"this slip has layout {marks.get(Mark.LAYOUT, 'none')}; this program reads layout {LAYOUT}")
    missing = [mark for mark in Mark if mark not in marks]
    if missing:
        raise NotASlip(f"this slip lacks: {', '.join(missing)}")
    names = {_text(row[0]): _text(row[1]) for row in sheets[NAMES_SHEET] if len(row) > 1 and _text(row[0])}
    if not re.fullmatch(r"[0-9]{1,6}", marks[Mark.VERSION]):
        raise NotASlip("this slip does not say which version it is of")
    return Returned(
        round_name=marks[Mark.ROUND],
        scope=marks[Mark.SCOPE],
        version=int(marks[Mark.VERSION]),
        status=marks[Mark.STATUS],
        language=marks[Mark.LANGUAGE],
        rows=tuple(row for sheet in SHEETS for row in read_rows(sheet, *_found(sheet, sheets), names)),
    )


def _found(sheet: Sheet, sheets: Mapping[str, Rows]) -> tuple[str, Rows]:
    """Return name and rows of the sheet that has this layout's keys."""
    wanted = {column.value for column in sheet.columns}
    for title, rows in sheets.items():
        if len(rows) >= KEY_ROW and {_text(key) for key in rows[KEY_ROW - 1]} - {""} == wanted:
            return title, rows
    raise NotASlip(f"this slip lacks a sheet, or the hidden keys of its columns: {sheet.mark}")


def read_rows(
    sheet: Sheet,
    title: str,
    rows: Rows,
    names: Mapping[str, str] = NO_NAMES,
    *,
    key_row: int = KEY_ROW,
    first_row: int = FIRST_ROW,
) -> Iterator[Answer]:
    """Yield the rows of one visible sheet that hold anything.

    Parameters
    ----------
    title : str
        Name of the sheet.
    rows : sequence of rows
        All of the sheet, from its first row on; a column whose key is not in ``key_row`` is taken for empty.
    names : mapping of str to str
        Codes behind the names that drop-downs offer.
    key_row, first_row : int
        Rows of the keys and of the first reply, from 1.
    """
    places = {_text(key): place for place, key in enumerate(rows[key_row - 1])}
    for number, row in enumerate(rows[first_row - 1 :], start=first_row):
        values = {c: _cell(row, places.get(c.value)) for c in sheet.columns}
        if not any(values.values()):
            continue
        written = {column: values[column] for column in sheet.columns if column in OPEN_COLUMNS and values[column]}
        yield Answer(
            sheet=sheet.mark,
            code=values[Column.CODE],
            key={column: text for column, text in values.items() if column in HIDDEN_COLUMNS},
            word=reply_word(written.get(Column.REPLY, "")),
            substitute=names.get(written.get(Column.REPLACED_BY, "")),
            written=written,
            locked={c: text for c, text in values.items() if c not in HIDDEN_COLUMNS and c not in OPEN_COLUMNS},
            title=title,
            row=number,
        )


def _cell(row: Sequence[Any], place: int | None) -> str:
    return _text(row[place]) if place is not None and place < len(row) else ""


def _text(value: Any) -> str:
    """Return a cell's content as text; whole numbers without a decimal point, as programs differ in that."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return "" if value is None else str(value).strip()
