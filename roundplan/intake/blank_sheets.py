"""Empty sheets with headings, comments and drop-downs; guidance stays out of the data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from roundplan.intake.cleaning import guard
from roundplan.intake.table import Column, Table

if TYPE_CHECKING:
    from openpyxl.workbook.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

LAST_ROW = 2000
"""Drop-downs reach so far down; rows below it are read all the same."""
_LONGEST_LIST = 255
_WIDEST = 44


def put(cell: Any, text: str) -> None:
    """Write text into a cell so that it stays text, even if it starts like a formula, and reads as itself."""
    cell.value = guard(text) if text.startswith("'") else text
    cell.data_type = "s"
    if text[:1] in ("=", "+", "-", "@", "'"):
        cell.quotePrefix = True


def add_table(book: Workbook, table: Table, *, without: frozenset[str] = frozenset()) -> Worksheet:
    """Add the empty sheet of a table.

    Parameters
    ----------
    book : Workbook
        Grows.
    table : Table
        The table.
    without : frozenset of str
        Columns to leave out.
    """
    from openpyxl.comments import Comment
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    sheet: Worksheet = book.create_sheet(table.name)
    columns = [column for column in table.columns if column.name not in without]
    for number, column in enumerate(columns, start=1):
        cell = sheet.cell(1, number)
        put(cell, column.name)
        cell.font = Font(bold=column.required, italic=not column.required)
        cell.fill = PatternFill("solid", fgColor="E3EBF1" if column.required else "F5F5F2")
        note = Comment(_note(column), "roundplan", height=120, width=280)
        cell.comment = note
        letter = get_column_letter(number)
        sheet.column_dimensions[letter].width = min(_WIDEST, max(12, len(column.name) + 3, len(column.example) + 2))
        sheet.column_dimensions[letter].number_format = _format(column)
        _add_drop_down(sheet, column, letter)
    sheet.freeze_panes = "B2"
    return sheet


def _note(column: Column) -> str:
    need = "required" if column.required else "may stay blank"
    return f"{column.meaning}\n{column.kind.words}; {need}\nexample: {column.example}"


def _format(column: Column) -> str:
    if column.kind.form == "date":
        return "yyyy-mm-dd"
    return "General" if column.kind.form == "number" else "@"


def _add_drop_down(sheet: Worksheet, column: Column, letter: str) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    choices = ",".join(column.kind.choices)
    if column.kind.choices and len(choices) <= _LONGEST_LIST:
        rule = DataValidation("list", formula1=f'"{choices}"', allow_blank=True, showErrorMessage=True)
        rule.error = "Choose one of: " + ", ".join(column.kind.choices)
        rule.errorTitle = column.name
    elif len(column.refers) == 1 and column.kind.form == "text":
        where = f"{column.refers[0]}!$A$2:$A${LAST_ROW}"  # the code of a table is its first column
        rule = DataValidation("list", formula1=where, allow_blank=True, showErrorMessage=False)
    else:
        return
    sheet.add_data_validation(rule)
    rule.add(f"{letter}2:{letter}{LAST_ROW}")


def add_rows(sheet: Worksheet, rows: Iterable[Mapping[str, str]]) -> None:
    """Write rows of text below the heading."""
    names = [str(cell.value) for cell in sheet[1]]
    for number, row in enumerate(rows, start=2):
        for at, name in enumerate(names, start=1):
            if row.get(name):
                put(sheet.cell(number, at), row[name])
