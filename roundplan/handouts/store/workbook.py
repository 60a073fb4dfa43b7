"""supplies.xlsx: for the store: what each trip takes, what to order from whom by when, walls, labels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from textwrap import wrap
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.paper import sheet_size
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.store.labels import TRAINING_ONLY, box_labels
from roundplan.handouts.store.orders import (
    need_heads,
    need_rows,
    order_heads,
    order_rows,
    supplier_heads,
    supplier_rows,
)
from roundplan.handouts.store.picks import load_heads, load_rows, pick_heads, pick_rows, picks
from roundplan.handouts.words import version_words
from roundplan.handouts.xlsx import put, save_bytes, write_changes, write_table
from roundplan.supplies.orders import assembly

_LABELS_ACROSS = 2
DATE_WIDTH = 16
LINE_HEIGHT = 15
"""Points of a line of text at the usual size of letters."""


def render(plan: Plan, training_round: TrainingRound, *, version: int | None = None) -> bytes:
    """Return the workbook; the same plan gives the same bytes.

    Parameters
    ----------
    version : int or None
        Version of the workbook's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    _pick_list(workbook.create_sheet(say("Pick list")), index)
    loads = workbook.create_sheet(say("Loads of trips"))
    write_table(loads, load_heads(), load_rows(index), scope=loads.title)
    _narrowed(loads, load_heads(), dict.fromkeys(load_heads(), DATE_WIDTH))
    _orders(workbook.create_sheet(say("Order list")), index)
    _suppliers(workbook.create_sheet(say("Suppliers")), index)
    needs = workbook.create_sheet(say("Stock and needs"))
    write_table(needs, need_heads(), need_rows(index), scope=needs.title)
    _narrowed(
        needs,
        need_heads(),
        {
            say("name"): 34,
            say("remark"): 24,
            say("latex"): 10,
            say("trip starts on"): DATE_WIDTH,
            say("stock: use by"): DATE_WIDTH,
        },
    )
    heads = (say("trip"), say("crew"), say("before"), say("walls"), say("minutes of work"))
    walls = workbook.create_sheet(say("Walls to assemble"))
    write_table(walls, heads, _walls(index), scope=walls.title)
    _labels(workbook.create_sheet(say("Labels")), index)
    write_changes(workbook)
    for sheet in workbook.worksheets:
        if sheet.oddHeader is not None:
            title = say("{round}, {version}", round=plan.round_name, version=version_words(plan, version))
            sheet.oddHeader.center.text = _header_text(title)
    return save_bytes(workbook)


def _narrowed(sheet: Worksheet, heads: Sequence[str], widest: Mapping[str, int]) -> None:
    """Let long text wrap, so that the sheet stays readable on paper; rows grow with their longest cell."""
    widths = []
    for column, head in enumerate(heads, 1):
        dimension = sheet.column_dimensions[get_column_letter(column)]
        dimension.width = min(dimension.width, widest.get(head, dimension.width))
        widths.append(max(int(dimension.width) - 1, 1))
    for number, row in enumerate(sheet.iter_rows(min_row=1), 1):
        texts = ((cell.value, width) for cell, width in zip(row, widths, strict=True) if isinstance(cell.value, str))
        lines = max((len(wrap(text, width)) for text, width in texts), default=1)
        sheet.row_dimensions[number].height = LINE_HEIGHT * max(lines, 1)


def _pick_list(sheet: Worksheet, index: PlanIndex) -> None:
    """Write what each trip takes, a page a trip, with columns to tick."""
    heads = pick_heads()
    formats = dict.fromkeys((say("quantity"), *_amounts()), "#,##0.##")
    write_table(sheet, heads, pick_rows(index), number_formats=formats, scope=sheet.title)
    narrow = {say("at"): 25, say("name"): 28, say("item"): 14, say("remark"): 14, say("crew"): 12}
    narrow |= dict.fromkeys((say("on date"), say("use by")), DATE_WIDTH)
    narrow |= _slim(*_amounts(), say("latex"), say("picked"), say("came back"))
    _narrowed(sheet, heads, narrow)
    trips = [pick.trip.code for pick in picks(index)]
    for row, (trip, following) in enumerate(pairwise(trips), 2):
        if trip != following:
            sheet.row_breaks.append(Break(id=row))


def _amounts() -> tuple[str, str]:
    return say("weight, kg"), say("volume, litres")


def _slim(*heads: str) -> dict[str, int]:
    return dict.fromkeys(heads, 10)


def _money_formats(index: PlanIndex, *heads: str) -> dict[str, str]:
    digits = index.training_round.settings.round.currency_digits
    money = "#,##0" + ("." + "0" * digits if digits else "")
    return dict.fromkeys(heads, money) | dict.fromkeys(_amounts(), "#,##0.##")


def _orders(sheet: Worksheet, index: PlanIndex) -> None:
    """Write what has to be ordered by supplier, the most urgent first."""
    heads = order_heads(index)
    currency = index.training_round.settings.round.currency
    price, cost = say("price a pack in {currency}", currency=currency), say("cost in {currency}", currency=currency)
    write_table(sheet, heads, order_rows(index), number_formats=_money_formats(index, price, cost), scope=sheet.title)
    slim = _slim(*_amounts(), say("latex"), say("packs to order"), say("units a pack"))
    dates = dict.fromkeys((say("order at the latest on"), say("has to be there by"), say("trip starts on")), DATE_WIDTH)
    wide = {say("supplier"): 20, say("name"): 28, say("item"): 14, say("remark"): 18, price: 13, cost: 13}
    _narrowed(sheet, heads, wide | dates | slim)


def _suppliers(sheet: Worksheet, index: PlanIndex) -> None:
    """Write what each supplier gets in all."""
    cost = say("cost in {currency}", currency=index.training_round.settings.round.currency)
    write_table(
        sheet,
        supplier_heads(index),
        supplier_rows(index),
        number_formats=_money_formats(index, cost),
        scope=sheet.title,
    )


def _walls(index: PlanIndex) -> Iterator[list[Any]]:
    for row in assembly(index.plan, index.training_round):
        yield [row.trip, row.crew, row.date, row.walls, row.minutes]


def _labels(sheet: Worksheet, index: PlanIndex) -> None:
    """Lay labels out two across, each with the marking, the trip and how many there are of them."""
    edge = Border(*(Side(style="dashed", color="FF888888"),) * 4)
    for number, text in enumerate(_label_texts(index)):
        row, column = divmod(number, _LABELS_ACROSS)
        cell = put(sheet.cell(row + 1, column + 1), text)
        cell.alignment = Alignment(wrap_text=True, vertical="center", horizontal="center")
        cell.font, cell.border = Font(size=13, bold=True), edge
        sheet.row_dimensions[row + 1].height = 92
    for letter in "AB":
        sheet.column_dimensions[letter].width = 46
    sheet.page_setup.paperSize = sheet_size()
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _label_texts(index: PlanIndex) -> Iterator[str]:
    for label in box_labels(index):
        yield f"{say(TRAINING_ONLY)}\n{label.what}\n{label.owner}"


def _header_text(text: str) -> str:
    """Return text for a printed heading, where ``&`` starts a command; the file format takes up to 255 characters."""
    return text.replace("&", "&&")[:200]
