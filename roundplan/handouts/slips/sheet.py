"""One visible sheet of a slip's workbook: title, hidden keys, headings, rows, drop-downs, protection, print set-up."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from roundplan.handouts.slips.words_of import heads, reply_said
from roundplan.handouts.speech import say
from roundplan.slips.layout import FIRST_ROW, HEAD_ROW, HIDDEN_COLUMNS, KEY_ROW, OPEN_COLUMNS, Column, Sheet
from roundplan.slips.reply_code import Word

if TYPE_CHECKING:
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

WIDTHS = {
    Column.CODE: 8, Column.NAME: 20, Column.ROLE: 18, Column.DATES: 18, Column.LEAVES: 16, Column.RETURNS: 16,
    Column.SLOTS: 14, Column.NOTES: 20, Column.SHIFT: 27, Column.WHY: 26, Column.WHO_STAYS: 44, Column.REPLY: 13,
    Column.REPLACED_BY: 26, Column.CONFIRMED_BY: 24, Column.CONFIRMED_WHEN: 20, Column.REMARK: 24,
}  # fmt: skip
"""Widths of columns in letters; all others have ``USUAL_WIDTH``."""

USUAL_WIDTH = 15
LINE_HEIGHT = 15.0
"""Height of a line in points."""


@dataclass(frozen=True, slots=True)
class Filled:
    """One row: its values by column, and what its drop-down for a name offers.

    Attributes
    ----------
    names : str or None
        Range of the names offered; None = none, the cell takes any text.
    open : bool
        Whether the row is to be replied to.
    """

    values: Mapping[Column, Any]
    names: str | None
    open: bool = True


def write_sheet(
    sheet: Worksheet,
    layout: Sheet,
    head: tuple[str, str, str],
    rows: Sequence[Filled],
    hidden: frozenset[Column] = HIDDEN_COLUMNS,
) -> None:
    """Write one visible sheet.

    Parameters
    ----------
    sheet : Worksheet
        An empty one.
    layout : Sheet
        Its columns.
    head : tuple of three str
        Round, version and whose slip it is; what to fill in; where to send it.
    rows : sequence of Filled
        In the order to be printed.
    hidden : frozenset of Column
        Columns that are not shown.
    """
    from openpyxl.styles import Font
    from openpyxl.worksheet.page import PageMargins

    from roundplan.handouts.xlsx import put, write_table

    first_shown = next(n for n, column in enumerate(layout.columns, start=1) if column not in hidden)
    for number, line in enumerate(head, start=1):
        put(sheet.cell(number, first_shown), line)
    sheet.cell(1, first_shown).font = Font(bold=True, size=14)
    said = heads()
    shown = [said.get(column, column.value) for column in layout.columns]
    write_table(sheet, shown, [[row.values.get(c) for c in layout.columns] for row in rows], first_row=HEAD_ROW)
    for number, column in enumerate(layout.columns, start=1):
        put(sheet.cell(KEY_ROW, number), column.value)
    sheet.row_dimensions[KEY_ROW].hidden = True
    sheet.freeze_panes = sheet.cell(FIRST_ROW, first_shown + 1).coordinate
    sheet.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.75, header=0.3, footer=0.35)
    _set_widths(sheet, layout, rows, hidden)
    _open_replies(sheet, layout, rows)
    _lock(sheet)


def _lock(sheet: Worksheet) -> None:
    """Lock all cells that are not open; filters and the sizes of columns and rows can still be changed."""
    sheet.protection.sheet = True
    sheet.protection.autoFilter = False
    sheet.protection.formatColumns = False
    sheet.protection.formatRows = False


def _set_widths(sheet: Worksheet, layout: Sheet, rows: Sequence[Filled], hidden: frozenset[Column]) -> None:
    """Set the widths of the columns, hide those of codes, and make each row as high as its text."""
    from openpyxl.utils import get_column_letter

    shown = [column for column in layout.columns if column not in hidden]
    said = heads()
    for number, column in enumerate(layout.columns, start=1):
        dimension = sheet.column_dimensions[get_column_letter(number)]
        dimension.width = WIDTHS.get(column, USUAL_WIDTH)
        dimension.hidden = column in hidden
    texts = [{column: said[column] for column in shown}, *(row.values for row in rows)]
    for number, values in enumerate(texts, start=HEAD_ROW):
        lines = (math.ceil(1.15 * len(str(values.get(c) or "")) / WIDTHS.get(c, USUAL_WIDTH)) for c in shown)
        sheet.row_dimensions[number].height = LINE_HEIGHT * max(1, *lines)


def _open_replies(sheet: Worksheet, layout: Sheet, rows: Sequence[Filled]) -> None:
    """Unlock the cells to reply in, frame them, and give them their drop-downs."""
    from openpyxl.styles import Border, PatternFill, Protection, Side

    line = Side(style="thin", color="FF5C6878")
    lists: dict[str, DataValidation] = {}
    for number, row in enumerate(rows, start=FIRST_ROW):
        for place, column in enumerate(layout.columns, start=1):
            if column not in OPEN_COLUMNS or not row.open:
                continue
            cell = sheet.cell(number, place)
            cell.protection = Protection(locked=False)
            cell.fill = PatternFill("solid", fgColor="FFFFFBEF")
            cell.border = Border(left=line, right=line, top=line, bottom=line)
            if column in (Column.CONFIRMED_BY, Column.CONFIRMED_WHEN, Column.REMARK):
                cell.number_format = "@"
            offers = {Column.REPLY: _answers(), Column.REPLACED_BY: row.names}.get(column)
            if offers is not None:
                if offers not in lists:
                    lists[offers] = _drop_down(offers, column)
                    sheet.add_data_validation(lists[offers])
                lists[offers].add(cell)


def _answers() -> str:
    return '"' + ",".join(reply_said(word) for word in Word) + '"'


def _drop_down(offers: str, column: Column) -> DataValidation:
    from openpyxl.worksheet.datavalidation import DataValidation

    made = DataValidation(type="list", formula1=offers, allow_blank=True, showErrorMessage=True)
    if column is Column.REPLY:
        made.errorTitle, made.error = say("Reply"), say("Please choose one of the replies of the list.")
    else:
        made.errorStyle = "warning"
        made.errorTitle = say("Replaced by")
        made.error = say(
            "This name is not among those who can take this place by the staff list. Keep it all the same?"
        )
    return made
