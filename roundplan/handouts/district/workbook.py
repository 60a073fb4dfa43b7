"""A district's sheet as a workbook: protected but for the reply cells, with drop-downs to reply."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from roundplan.domain.facility import Facility
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.district.rows import REPLY_HEADS, cover_rows_by_person, facilities_of, seat_rows
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import message, say
from roundplan.handouts.words import version_words

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

SEATS_SHEET, COVER_SHEET, NAMES_SHEET = message("Who goes"), message("Who stays"), message("Names")
"""Names of the sheets, as messages to be said; the last holds the names for the drop-downs."""

HEAD_ROW = 4
"""Row of the headings; title, version and what to do stand above."""

REMARK = message("Remark")
SEAT_HEADS = (
    message("Facility"), message("Team"), message("Person code"), message("Name"), message("Role"), message("Dates"),
    message("Venue"), message("Leaves"), message("Is back"), message("Slots"), message("Standby"), message("Notes"),
    *REPLY_HEADS, REMARK,
)  # fmt: skip
COVER_HEADS = (
    message("Facility"), message("Date"), message("Shift"), message("For what"), message("Person code"),
    message("Name"), message("Role"), *REPLY_HEADS, REMARK,
)  # fmt: skip
REPLY_COLUMNS = 3
"""Columns at the end of each sheet that are open to be filled in."""

REPLY_WIDTHS = {REPLY_HEADS[0]: 11, REPLY_HEADS[1]: 24, REMARK: 20}
"""Widths of the reply columns, in letters; other columns are as wide as their text, up to 20."""

LINE_HEIGHT = 15.0
"""Height of a line in points."""


def render(plan: Plan, training_round: TrainingRound, district: str, *, version: int | None = None) -> bytes:
    """Return a district's sheet as an .xlsx file.

    Parameters
    ----------
    district : str
        Name of the district as in the facilities table.
    version : int or None
        Version of this sheet's own last change; None = the plan's.
    """
    from openpyxl import Workbook

    from roundplan.handouts.xlsx import save_bytes

    index = PlanIndex(plan, training_round)
    facilities = facilities_of(index, district)
    workbook = Workbook()
    ranges = _names(workbook, index, facilities)
    title = say(
        "{round}, {version}: {district}",
        round=plan.round_name,
        version=version_words(plan, version),
        district=district,
    )
    seats = [(f, row) for f in facilities for row in seat_rows(index, f.code)]
    cover = [(f, row) for f in facilities for row in cover_rows_by_person(index, f.code)]
    rows_of_seats = [
        (
            f.name, r.team, r.person, r.name, r.role, r.dates, r.venue, r.leaves, r.returns, r.slots, r.standby,
            "; ".join(part for part in (r.what, r.notes) if part), None, None, None,
        )
        for f, r in seats
    ]  # fmt: skip
    rows_of_cover = [(f.name, r.date, r.shift, r.why, r.person, r.name, r.role, None, None, None) for f, r in cover]
    first = workbook.active
    if first is not None:
        workbook.remove(first)
    _sheet(workbook, SEATS_SHEET, title, SEAT_HEADS, rows_of_seats, [ranges[f.code] for f, _ in seats])
    _sheet(workbook, COVER_SHEET, title, COVER_HEADS, rows_of_cover, [ranges[f.code] for f, _ in cover])
    workbook.move_sheet(say(NAMES_SHEET), offset=2)
    workbook.active = 0
    return save_bytes(workbook)


def _names(workbook: Workbook, index: PlanIndex, facilities: Sequence[Facility]) -> Mapping[str, str]:
    """Write the staff of each facility into a hidden sheet, and return the range of each for the drop-downs."""
    from openpyxl.utils import get_column_letter, quote_sheetname

    from roundplan.handouts.xlsx import put

    sheet = workbook.create_sheet(say(NAMES_SHEET))
    sheet.sheet_state = "hidden"
    sheet.protection.sheet = True
    ranges = {}
    for column, facility in enumerate(facilities, start=1):
        put(sheet.cell(1, column), facility.code)
        staff = index.training_round.staff_of(facility.code)
        for row, person in enumerate(staff, start=2):
            put(sheet.cell(row, column), f"{person.name} [{person.code}]")
        letter = get_column_letter(column)
        ranges[facility.code] = f"{quote_sheetname(sheet.title)}!${letter}$2:${letter}${max(2, len(staff) + 1)}"
    return ranges


def _sheet(
    workbook: Workbook,
    name: str,
    title: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[Any]],
    ranges: Sequence[str],
) -> None:
    """Write one sheet: title, headings, rows, drop-downs, protection."""
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.page import PageMargins

    from roundplan.handouts.xlsx import put, write_table

    sheet = workbook.create_sheet(say(name))
    said = tuple(say(head) for head in heads)
    put(sheet["A1"], title).font = Font(bold=True, size=14)
    put(
        sheet["A2"],
        say("Fill in the last three columns only: reply yes or no, and after a no who comes or stays instead."),
    )
    last = write_table(sheet, said, rows, first_row=HEAD_ROW)
    sheet.freeze_panes = sheet.cell(HEAD_ROW + 1, 1)
    for row, values in enumerate((said, *rows), start=HEAD_ROW):
        sheet.row_dimensions[row].height = LINE_HEIGHT * _lines(sheet, values)
    sheet.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    if rows:
        _open_replies(sheet, len(heads), last, ranges)
    for column, head in enumerate(heads, start=1):
        width = sheet.column_dimensions[get_column_letter(column)]
        width.width = REPLY_WIDTHS.get(head, min(width.width, 20))
    sheet.protection.sheet = True
    sheet.protection.autoFilter = False
    sheet.protection.formatColumns = False


def _lines(sheet: Worksheet, values: Sequence[Any]) -> int:
    """Return the lines that a row takes at the widths of its columns."""
    from openpyxl.utils import get_column_letter

    lines = [1]
    for column, value in enumerate(values, start=1):
        if isinstance(value, str):
            width = sheet.column_dimensions[get_column_letter(column)].width
            lines.append(math.ceil(1.15 * len(value) / width))
    return max(lines)


def _open_replies(sheet: Worksheet, columns: int, last: int, ranges: Sequence[str]) -> None:
    """Unlock the reply cells and give them their drop-downs."""
    from openpyxl.styles import Border, PatternFill, Protection, Side
    from openpyxl.worksheet.datavalidation import DataValidation

    line = Side(style="thin", color="FF8C98A8")
    choice = f'"{say("yes")},{say("no")}"'
    answers = DataValidation(type="list", formula1=choice, allow_blank=True, showErrorMessage=True)
    answers.errorTitle, answers.error = say("Reply"), say("Please choose yes or no.")
    sheet.add_data_validation(answers)
    staff: dict[str, DataValidation] = {}
    for row in range(HEAD_ROW + 1, last + 1):
        for column in range(columns - REPLY_COLUMNS + 1, columns + 1):
            cell = sheet.cell(row, column)
            cell.protection = Protection(locked=False)
            cell.fill = PatternFill("solid", fgColor="FFFFFBEF")
            cell.border = Border(left=line, right=line, top=line, bottom=line)
        answers.add(sheet.cell(row, columns - 2))
        names = ranges[row - HEAD_ROW - 1]
        if names not in staff:
            staff[names] = DataValidation(
                type="list", formula1=names, allow_blank=True, showErrorMessage=True, errorStyle="warning"
            )
            staff[names].errorTitle, staff[names].error = say("Replaced by"), say("This name is not on the staff list.")
            sheet.add_data_validation(staff[names])
        staff[names].add(sheet.cell(row, columns - 1))
