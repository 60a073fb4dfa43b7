"""A form as a workbook: locked but for the cells to fill in, with drop-downs, readable by a program."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from roundplan.attendance.form import Choices, Form, FormSheet
from roundplan.attendance.layout import (
    FIRST_ROW,
    HEAD_ROW,
    KEY_ROW,
    LAYOUT,
    LISTS_SHEET,
    MARKS_SHEET,
    ROW,
    SESSION,
    SIMULATION,
    Column,
    Mark,
)
from roundplan.attendance.reading import code_text
from roundplan.handouts.attendance.forms import office_form, session_form
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.words import version_words

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

WIDTHS = {
    Column.BEFORE: 12, Column.NAME: 22, Column.ROLE: 17, Column.TEAM: 24, Column.CAME: 10, Column.INSTEAD: 26,
    Column.WHY: 18, Column.DATE: 18, Column.HELD: 13, Column.CAUSE: 20, Column.REMARK: 26, Column.TIME: 13,
    Column.STATION: 8, Column.CASE: 20, Column.PLANNED_WALL: 13, Column.RUN: 9, Column.OTHER_TEAM: 16,
    Column.OTHER_CASE: 16, Column.WALL: 8, Column.WALL_END: 8, Column.ITEM: 34, Column.UNIT: 10, Column.PLANNED: 12,
    Column.USED: 10, Column.LEFT: 11, Column.KIND: 17, Column.FACILITY: 22, Column.WHAT: 40, Column.OWNER: 24,
    Column.DUE: 14, Column.LINE: 20, Column.AMOUNT: 14, Column.RECEIPT: 17, Column.PAID_ON: 14, Column.PLACE: 22,
    Column.COUNTED: 12, Column.GONE: 12,
}  # fmt: skip
"""Widths of columns in letters; those of simulations have ``SIMULATION_WIDTH``."""

SIMULATION_WIDTH = 12
LINE_HEIGHT, ROW_HEIGHT = 15.0, 21.0
"""Height of a line, and least height of a row that a finger or a pen can hit, in points."""

_TEXT = frozenset({Column.REMARK, Column.WHAT, Column.OWNER, Column.RECEIPT, Column.NAME})
_DATES = frozenset({Column.DUE, Column.PAID_ON})


def render_session(index: PlanIndex, code: str, *, version: int | None = None) -> bytes:
    """Return a session's form as an .xlsx file.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    code : str
        Code of the session.
    version : int or None
        Version of this form's own last change; None = the plan's.
    """
    return _render(index, session_form(index, code), version)


def render_office(index: PlanIndex, *, version: int | None = None) -> bytes:
    """Return the programme manager's form as an .xlsx file."""
    return _render(index, office_form(index), version)


def _render(index: PlanIndex, form: Form, version: int | None) -> bytes:
    from openpyxl import Workbook
    from openpyxl.workbook.protection import WorkbookProtection

    from roundplan.handouts.xlsx import save_bytes, write_changes

    workbook = Workbook()
    if workbook.active is not None:
        workbook.remove(workbook.active)
    lists = Lists()
    about = f"{index.plan.round_name}, {version_words(index.plan, version)}"
    for sheet in form.sheets:
        _write_sheet(workbook.create_sheet(sheet.name[:31]), sheet, form, about, lists)
    lists.write(workbook)
    _write_marks(workbook, index, form, version)
    workbook.security = WorkbookProtection(lockStructure=True)
    workbook.active = 0
    write_changes(workbook)
    return save_bytes(workbook)


class Lists:
    """Collects what drop-downs offer; equal lists are written once, on a hidden sheet."""

    def __init__(self) -> None:
        self._columns: dict[tuple[str, ...], int] = {}

    def range_of(self, choices: Choices) -> str | None:
        """Return where a drop-down finds its labels; None where nothing is offered."""
        from openpyxl.utils import get_column_letter

        labels = tuple(label for label, _ in choices.offered)
        if not labels:
            return None
        letter = get_column_letter(self._columns.setdefault(labels, len(self._columns) + 1))
        return f"'{LISTS_SHEET}'!${letter}$1:${letter}${len(labels)}"

    def write(self, workbook: Workbook) -> None:
        """Add the hidden sheet to a workbook."""
        from roundplan.handouts.xlsx import put

        sheet = workbook.create_sheet(LISTS_SHEET)
        sheet.sheet_state = "hidden"
        sheet.protection.sheet = True
        for labels, column in self._columns.items():
            for row, label in enumerate(labels, start=1):
                put(sheet.cell(row, column), label)


def _write_sheet(sheet: Worksheet, layout: FormSheet, form: Form, about: str, lists: Lists) -> None:
    from openpyxl.worksheet.page import PageMargins

    from roundplan.handouts.xlsx import put, write_table

    columns = (SESSION, ROW, *layout.columns)
    rows = [[form.session, code_text(r.code), *(r.values.get(c) for c in layout.columns)] for r in layout.rows]
    write_table(sheet, [SESSION, ROW, *(layout.heads[c] for c in layout.columns)], rows, first_row=HEAD_ROW)
    _write_head(sheet, len(columns), f"{about}: {form.title}", layout)
    for number, column in enumerate(columns, start=1):
        put(sheet.cell(KEY_ROW, number), column)
    sheet.row_dimensions[KEY_ROW].hidden = True
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 4).coordinate
    sheet.auto_filter.ref = None
    sheet.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.7, header=0.3, footer=0.35)
    _set_widths(sheet, layout)
    _open_cells(sheet, layout, lists)
    sheet.protection.sheet = True
    sheet.protection.formatColumns = False
    sheet.protection.formatRows = False


def _write_head(sheet: Worksheet, last: int, title: str, layout: FormSheet) -> None:
    """Write title and what to do across the columns, broken into lines so that they do not widen the page."""
    from openpyxl.styles import Font

    from roundplan.handouts.xlsx import WRAPPED, put

    room = sum(_width(column) for column in layout.columns)
    for row, text, size in ((1, title, 13), (2, layout.to_do, 11)):
        cell = put(sheet.cell(row, 3), text)
        cell.font, cell.alignment = Font(bold=row == 1, size=size), WRAPPED
        sheet.merge_cells(start_row=row, start_column=3, end_row=row, end_column=last)
        sheet.row_dimensions[row].height = LINE_HEIGHT * size / 10 * math.ceil(0.1 * size * len(text) / room)


def _width(column: str) -> int:
    return SIMULATION_WIDTH if column.startswith(SIMULATION) else WIDTHS[column]


def _set_widths(sheet: Worksheet, layout: FormSheet) -> None:
    from openpyxl.utils import get_column_letter

    for letter in ("A", "B"):
        sheet.column_dimensions[letter].hidden = True
    widths = {column: _width(column) for column in layout.columns}
    for number, column in enumerate(layout.columns, start=3):
        sheet.column_dimensions[get_column_letter(number)].width = widths[column]
    for number, texts in enumerate((layout.heads, *(row.values for row in layout.rows)), start=HEAD_ROW):
        wide = 1.45 if number == HEAD_ROW else 1.15  # headings are bold
        lines = max(math.ceil(wide * len(str(texts.get(c) or "")) / widths[c]) for c in layout.columns)
        sheet.row_dimensions[number].height = max(ROW_HEIGHT, LINE_HEIGHT * lines)


def _open_cells(sheet: Worksheet, layout: FormSheet, lists: Lists) -> None:
    """Unlock the cells to fill in, frame them, and give them their drop-downs."""
    from openpyxl.styles import Border, PatternFill, Protection, Side

    line, hair = Side(style="thin", color="FF5C6878"), Side(style="hair", color="FF8C98A8")
    made: dict[tuple[str, bool], DataValidation] = {}
    for number, row in enumerate(layout.rows, start=FIRST_ROW):
        for place, column in enumerate(layout.columns, start=3):
            cell = sheet.cell(number, place)
            if column not in row.open:
                cell.border = Border(bottom=hair)
                continue
            cell.protection = Protection(locked=False)
            cell.fill = PatternFill("solid", fgColor="FFFFFBEF")
            cell.border = Border(left=line, right=line, top=line, bottom=line)
            if column in _TEXT:
                cell.number_format = "@"
            if column in _DATES:
                cell.number_format = "yyyy-mm-dd"
            choices = row.choices.get(column)
            offers = lists.range_of(choices) if choices is not None else None
            if choices is None or offers is None:
                continue
            key = (offers, choices.strict)
            if key not in made:
                made[key] = _drop_down(offers, choices.strict)
                sheet.add_data_validation(made[key])
            made[key].add(cell)


def _drop_down(offers: str, strict: bool) -> DataValidation:
    from openpyxl.worksheet.datavalidation import DataValidation

    made = DataValidation(type="list", formula1=offers, allow_blank=True, showErrorMessage=True)
    if strict:
        made.errorTitle, made.error = say("Answer"), say("Please choose one of the answers of the list.")
    else:
        made.errorStyle = "warning"
        made.errorTitle = say("Name")
        made.error = say("This name is not on the list. Keep it all the same?")
    return made


def _write_marks(workbook: Workbook, index: PlanIndex, form: Form, version: int | None) -> None:
    from roundplan.handouts.xlsx import put

    marks: dict[Mark, str | int] = {
        Mark.LAYOUT: LAYOUT,
        Mark.ROUND: index.plan.round_name,
        Mark.SESSION: form.session,
        Mark.VERSION: index.plan.version if version is None else version,
        Mark.STATUS: "draft" if index.plan.status == "draft" else "announced",
        Mark.LANGUAGE: form.language,
    }
    sheet = workbook.create_sheet(MARKS_SHEET)
    sheet.sheet_state = "hidden"
    sheet.protection.sheet = True
    for row, (key, value) in enumerate(marks.items(), start=1):
        put(sheet.cell(row, 1), key.value)
        put(sheet.cell(row, 2), value)
