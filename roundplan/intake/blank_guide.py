"""The guide sheet: every table, column and key with its meaning, made from where each is defined."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from roundplan.domain.settings import setting_rows
from roundplan.intake.blank_sheets import put
from roundplan.intake.blank_toml import default_text
from roundplan.intake.columns import TABLES
from roundplan.intake.table import Table

if TYPE_CHECKING:
    from openpyxl.workbook.workbook import Workbook

GUIDE = "guide"
_INTRODUCTION = (
    "Fill in the sheets; the headings of required columns are bold.",
    "Row 1 is the heading, each further row is one entry.",
    "Lists are separated by semicolons. Dates are year-month-day. Amounts are in the currency of round.toml.",
    "The settings of the round stand in round.toml beside this workbook. This sheet is not read.",
    "Then run: roundplan check FOLDER",
)
Row = tuple[str, ...]


def add_guide(book: Workbook, tables: Iterable[Table] = TABLES, *, settings: bool = True) -> None:
    """Add the guide as the last sheet."""
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet(GUIDE)
    for cells, bold in _rows(tables, settings):
        number = sheet.max_row + 1 if sheet["A1"].value is not None else 1
        for at, text in enumerate(cells, start=1):
            cell = sheet.cell(number, at)
            put(cell, text)
            cell.font = Font(bold=bold)
            cell.alignment = Alignment(vertical="top", wrap_text=len(cells) > 1)
    for letter, width in zip("ABCDEF", (18, 24, 56, 34, 14, 44), strict=True):
        sheet.column_dimensions[letter].width = width


def _rows(tables: Iterable[Table], settings: bool) -> Iterator[tuple[Row, bool]]:
    for line in _INTRODUCTION:
        yield (line,), False
    yield ("table", "column", "meaning", "what a cell holds", "required", "example"), True
    for table in tables:
        yield (table.name, "", table.meaning, "", "yes" if table.required else "no", ""), True
        for column in table.columns:
            need = "yes" if column.required else "no"
            yield (table.name, column.name, column.meaning, column.kind.words, need, column.example), False
    if settings:
        yield ("section", "key", "meaning", "unit", "default", "source"), True
        for row in setting_rows():
            yield (row.section, row.key, row.meaning, row.unit, default_text(row) or "blank", row.source), False
