"""supplies.xlsx: for the store: what each trip takes, what to order by when, walls to assemble, labels."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import message, say
from roundplan.handouts.words import span_words, version_words
from roundplan.handouts.xlsx import put, save_bytes, write_table
from roundplan.supplies.orders import assembly, order_lines

TRAINING_ONLY = message("TRAINING ONLY – NOT FOR PATIENTS")
"""The marking that every kit and every bag carries, as a message to be said."""

_LABELS_ACROSS = 2


def render(plan: Plan, training_round: TrainingRound) -> bytes:
    """Return the workbook; the same plan gives the same bytes."""
    index = PlanIndex(plan, training_round)
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    _pick_list(workbook.create_sheet(say("Pick list")), index)
    _orders(workbook.create_sheet(say("Order list")), index)
    heads = (say("trip"), say("crew"), say("before"), say("walls"), say("minutes of work"))
    write_table(workbook.create_sheet(say("Walls to assemble")), heads, _walls(index))
    _labels(workbook.create_sheet(say("Labels")), index)
    for sheet in workbook.worksheets:
        if sheet.oddHeader is not None:
            title = say("{round}, {version}", round=plan.round_name, version=version_words(plan))
            sheet.oddHeader.center.text = _header_text(title)
    return save_bytes(workbook)


def _pick_list(sheet: Worksheet, index: PlanIndex) -> None:
    """Write what each trip takes, with columns to tick."""
    quantity = say("quantity")
    heads = (say("trip"), say("crew"), say("on date"), say("at"), say("item"), say("name"), quantity, say("unit"),
             say("latex"), say("picked"), say("came back"))  # fmt: skip
    write_table(sheet, heads, _picks(index), number_formats={quantity: "#,##0.##"})


def _picks(index: PlanIndex) -> Iterator[list[Any]]:
    for crew in index.crews_used():
        for trip in index.trips_of(crew):
            for load in sorted(trip.loads, key=lambda load: (load.date, load.place, load.item)):
                item = index.training_round.item(load.item)
                latex = say("contains latex") if item.latex else None
                yield [trip.code, crew, load.date, index.name(load.place), load.item, item.name, load.quantity,
                       item.unit, latex, None, None]  # fmt: skip


def _orders(sheet: Worksheet, index: PlanIndex) -> None:
    """Write what has to be ordered, the most urgent first, then what is there already."""
    settings = index.training_round.settings.round
    money = "#,##0" + ("." + "0" * settings.currency_digits if settings.currency_digits else "")
    cost = say("cost in {currency}", currency=settings.currency)
    heads = (say("item"), say("name"), say("unit"), say("needed"), say("spare"), say("in stock"), say("due"),
             say("short"), say("packs to order"), say("units a pack"), say("supplier"), say("order at the latest on"),
             say("needed by"), cost, say("remark"))  # fmt: skip
    rows = []
    lines = order_lines(index.plan, index.training_round)
    for line in sorted(lines, key=lambda line: (not line.packs, line.latest_order_date or line.needed_by)):
        item = index.training_round.item(line.item)
        amount = line.amount / 10**settings.currency_digits
        remark = say("cannot arrive in time: find another source") if line.too_late else None
        rows.append([line.item, item.name, item.unit, line.need, line.spare, line.in_stock, line.due, line.short,
                     line.packs, line.pack_size, line.supplier, line.latest_order_date, line.needed_by, amount,
                     remark])  # fmt: skip
    write_table(sheet, heads, rows, number_formats={cost: money})


def _walls(index: PlanIndex) -> Iterator[list[Any]]:
    crews = {trip.code: trip.crew for trip in index.plan.trips}
    for row in assembly(index.plan, index.training_round):
        yield [row.trip, crews[row.trip], row.date, row.walls, row.minutes]


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
    sheet.page_setup.paperSize = 9  # A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _label_texts(index: PlanIndex) -> Iterator[str]:
    for crew in index.crews_used():
        for trip in index.trips_of(crew):
            span = span_words(trip.days[0].date, trip.days[-1].date)
            head = f"{say(TRAINING_ONLY)}\n{say('Crew {crew}, trip {trip}', crew=crew, trip=trip.code)}"
            for box in range(1, trip.box_models + 1):
                yield f"{head}\n{say('Box model {box} of {boxes}', box=box, boxes=trip.box_models)}\n{span}"
            yield f"{head}\n{say('Consumables – count out and in')}\n{span}"


def _header_text(text: str) -> str:
    """Return text for a printed heading, where ``&`` starts a command; the file format takes up to 255 characters."""
    return text.replace("&", "&&")[:200]
