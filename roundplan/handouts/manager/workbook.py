"""round.xlsx: the whole plan as sheets, for the programme manager."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

import pandas as pd
from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from roundplan.costs.budget import against_budget
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.manager.columns import heading, shown
from roundplan.handouts.manager.frames import plan_frames
from roundplan.handouts.page import Table, draft_reasons
from roundplan.handouts.paper import sheet_size
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.dates import to_do_table
from roundplan.handouts.report.defaults import common_practice_table
from roundplan.handouts.report.people import thin_shifts, thin_table
from roundplan.handouts.speech import message, say
from roundplan.handouts.terms import cost_line
from roundplan.handouts.words import version_words
from roundplan.handouts.xlsx import WRAPPED, put, save_bytes, write_table
from roundplan.supplies.orders import assembly, order_lines
from roundplan.travel.calendar import WorkingCalendar

SHEETS = {
    "sessions": message("Sessions"),
    "seats": message("Seats"),
    "slots": message("Slots"),
    "cover": message("Cover"),
    "legs": message("Legs"),
    "journeys": message("Participants' journeys"),
    "trainer_days": message("Trainers' days"),
    "supplies": message("Supplies"),
    "costs": message("Costs"),
    "tiers": message("Tiers"),
    "left_out": message("Left out"),
}
"""Sheet by frame, as messages, in the order of the workbook; budget, thin shifts, to-do dates and defaults follow."""

TOTAL_WIDTH = 18
"""Least width of a column of money, its total included."""

_FORMATS = {
    "km": "#,##0.0",
    "factor": "0.00",
    "gap": "0.0%",
    "quantity": "#,##0.##",
    "wheel_minutes": "#,##0",
    "break_minutes": "#,##0",
}
"""Number format by column."""


def render(plan: Plan, training_round: TrainingRound) -> bytes:
    """Return the workbook; the same plan gives the same bytes."""
    index = PlanIndex(plan, training_round)
    frames = plan_frames(plan, training_round)
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    _cover_sheet(workbook, index)
    digits = training_round.settings.round.currency_digits
    money = "#,##0" + ("." + "0" * digits if digits else "")
    for name, title in SHEETS.items():
        _frame_sheet(workbook.create_sheet(say(title)), name, frames[name], money)
    orders, walls = order_lines(plan, training_round), assembly(plan, training_round)
    to_do = to_do_table(index, WorkingCalendar(training_round), orders, walls)
    _budget_sheet(workbook.create_sheet(say("Budget")), index, money)
    _words_sheet(workbook, say("Thin shifts"), thin_table(thin_shifts(index)))
    _words_sheet(workbook, say("To-do dates"), to_do)
    _words_sheet(workbook, say("Defaults in force"), common_practice_table(index))
    return save_bytes(workbook)


def _frame_sheet(sheet: Worksheet, name: str, frame: pd.DataFrame, money: str) -> None:
    """Write a frame: headings and codes in the reader's language, amounts with their total."""
    heads = {column: heading(column) for column in frame.columns}
    formats = {heads[c]: f for c, f in {**_FORMATS, "price": money, "amount": money}.items() if c in heads}
    rows = (shown(name, dict(zip(frame.columns, row, strict=True))) for row in frame_rows(frame))
    last = write_table(sheet, tuple(heads.values()), rows, number_formats=formats)
    _widen(sheet, tuple(heads.values()), {heads[c] for c in ("price", "amount") if c in heads})
    if name == "costs" and len(frame):
        _total(sheet, list(heads).index("amount") + 1, last, money)


def frame_rows(frame: pd.DataFrame) -> Iterator[Sequence[Any]]:
    """Yield a frame's rows with plain values: dates as dates, whole numbers whole, missing as None."""
    for row in frame.astype(object).itertuples(index=False, name=None):
        yield [_plain(value) for value in row]


def _plain(value: Any) -> Any:
    if value is None or value is pd.NaT or (isinstance(value, float) and value != value):
        return None
    if isinstance(value, pd.Timestamp):
        return value.date()
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value.item() if hasattr(value, "item") else value


def _cover_sheet(workbook: Workbook, index: PlanIndex) -> None:
    sheet = workbook.create_sheet(say("About"))
    search, settings = index.plan.search, index.training_round.settings.round
    lines: list[tuple[str, Any]] = [
        (say("Round"), index.plan.round_name),
        (say("Version"), version_words(index.plan)),
        (say("Times"), say("local, {zone}", zone=settings.time_zone)),
        (say("Money"), say("in {currency}", currency=settings.currency)),
        (say("Search"), say("seed {seed}, {mode}, {end}", seed=search.seed, mode=search.mode, end=search.stopped)),
        (say("Made from"), index.plan.fingerprint),
        *((say("Draft") if index.plan.status == "draft" else say("Notes"), r) for r in draft_reasons(index)),
    ]
    for number, (head, value) in enumerate(lines, 1):
        put(sheet.cell(number, 1), head).font = Font(bold=True)
        put(sheet.cell(number, 2), value).alignment = WRAPPED
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 14, 90
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet_size()
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _budget_sheet(sheet: Worksheet, index: PlanIndex, money: str) -> None:
    """Write planned, budgeted and left by cost line, summed up by formulas."""
    scale = 10**index.training_round.settings.round.currency_digits
    compared = against_budget(index.plan.costs, index.training_round)
    amounts = ((cost_line(row.line.value), (row.planned, row.budgeted, row.left), row.note) for row in compared)
    rows = [[line, *(None if a is None else a / scale for a in three), note or None] for line, three, note in amounts]
    heads = (say("line"), say("planned"), say("budget"), say("left"), say("note"))
    last = write_table(sheet, heads, rows, number_formats=dict.fromkeys(heads[1:4], money))
    _widen(sheet, heads, heads[1:4])
    for column in (2, 3) if rows else ():
        _total(sheet, column, last, money)


def _widen(sheet: Worksheet, heads: Sequence[str], money: Collection[str]) -> None:
    """Give amounts room for their total, which is worked out only when the workbook is opened."""
    for number, head in enumerate(heads, 1):
        if head in money:
            room = sheet.column_dimensions[get_column_letter(number)]
            room.width = max(room.width, TOTAL_WIDTH)


def _total(sheet: Any, column: int, last_row: int, money: str) -> None:
    """Write the sum of the column as a formula, under a blank row that keeps it out of the filter."""
    letter = sheet.cell(1, column).column_letter
    put(sheet.cell(last_row + 2, 1), say("Total")).font = Font(bold=True)
    cell = sheet.cell(last_row + 2, column, f"=SUM({letter}2:{letter}{last_row})")
    cell.font, cell.number_format = Font(bold=True), money


def _words_sheet(workbook: Workbook, title: str, table: Table) -> None:
    rows = [[cell if isinstance(cell, str) else "\n".join(cell) for cell in row] for row in table.rows]
    write_table(workbook.create_sheet(title), table.heads, rows)
