"""Writing cells and workbooks: hostile text stays text, and equal workbooks give equal bytes."""

from __future__ import annotations

import datetime
import io
import math
import re
import zipfile
from collections.abc import Iterable, Sequence
from enum import Enum
from typing import Any

from openpyxl import Workbook
from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from roundplan.handouts.marking import MARK, changes, row_mark
from roundplan.handouts.paper import sheet_size
from roundplan.handouts.speech import language, say

LANGUAGE_NUMBERS = {"en": "809", "fr": "40C", "pt": "816", "sw": "441"}
"""Numbers of the languages in formats of cells, hexadecimal (locale identifiers as in ISO/IEC 29500)."""

DATE_FORMATS = {code: f"[$-{number}]ddd d mmm yyyy" for code, number in LANGUAGE_NUMBERS.items()}
"""Dates with weekday and month name, in the language of the workbook: no reader mistakes day for month."""

LONGEST_TEXT = 32_767
"""Characters that one cell of a workbook holds (limit of the file format)."""

_WRITTEN_ON = datetime.datetime(2000, 1, 1)
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_STAMP = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
# Control characters but tab and line feed, lone surrogates, what XML forbids, marks that reverse the reading order.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u202a-\u202e\u2066-\u2069\ufeff]")
_FORMULA_START = ("=", "+", "-", "@", "\t", "'", "|", "%")

HEAD_FILL = PatternFill("solid", fgColor="FFE7E6E1")
HEAD_FONT = Font(bold=True)
HEAD_LINE = Border(bottom=Side(style="medium", color="FF333333"))
WRAPPED = Alignment(wrap_text=True, vertical="top")
DATED = Alignment(horizontal="left", vertical="top")
"""Dates stand on the left, clear of the text in the next column."""


def clean_text(text: str) -> str:
    """Return the text without control characters, cut (and marked as cut) where a cell cannot hold it."""
    cleaned = _UNPRINTABLE.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    if len(cleaned) <= LONGEST_TEXT:
        return cleaned
    cut = " … " + say("(too long for one cell)")
    return cleaned[: LONGEST_TEXT - len(cut)] + cut


def put(cell: Cell | MergedCell, value: Any) -> Cell:
    """Write a value into a cell; text never becomes a formula, an error or a link.

    Parameters
    ----------
    cell : openpyxl Cell
        Where to.
    value : str, Enum, bool, int, float, date, None or other
        Numbers and dates stay numbers and dates (dates shown with the month's name); True and False become yes and
        no; None and numbers that are none leave the cell empty; everything else is written as text.

    Returns
    -------
    Cell
        The same cell.
    """
    if isinstance(cell, MergedCell):
        raise TypeError(f"{cell.coordinate} is hidden under a merged cell")
    if isinstance(value, Enum):
        value = value.value
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        cell.value = None
    elif isinstance(value, bool):
        cell.value = say("yes") if value else say("no")
    elif isinstance(value, int | float):
        cell.value = value
    elif isinstance(value, datetime.date):
        cell.value = value
        cell.number_format = DATE_FORMATS[language()]
    else:
        text = clean_text(str(value))
        cell.value = text or None
        if not text:
            return cell
        cell.data_type = "s"
        if text.startswith(_FORMULA_START):
            cell.quotePrefix = True
    return cell


def save_bytes(workbook: Workbook) -> bytes:
    """Return the workbook as file content; the same workbook gives the same bytes at any time."""
    workbook.properties.creator = "roundplan"
    workbook.properties.created = _WRITTEN_ON
    raw = io.BytesIO()
    workbook.save(raw)
    steady = io.BytesIO()
    with zipfile.ZipFile(raw) as source, zipfile.ZipFile(steady, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "docProps/core.xml":
                content = _STAMP.sub(rb"\g<1>" + _WRITTEN_ON.isoformat().encode() + b"Z", content)
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            target.writestr(entry, content)
    return steady.getvalue()


def write_table(
    sheet: Worksheet,
    heads: Sequence[str],
    rows: Iterable[Sequence[Any]],
    *,
    first_row: int = 1,
    number_formats: dict[str, str] | None = None,
    scope: str | None = None,
) -> int:
    """Write headings and rows with filter, frozen headings, widths by content and a print set-up.

    Parameters
    ----------
    sheet : Worksheet
        Where to; column A on.
    heads : sequence of str
        Headings.
    rows : iterable of sequence
        Values, one for each heading.
    first_row : int
        Row of the headings.
    number_formats : dict of str to str, optional
        Number format by heading.
    scope : str or None
        What the rows are about, where those that changed are marked; None = none is.

    Returns
    -------
    int
        Number of the last row written.
    """
    formats = number_formats or {}
    widths = [len(head) for head in heads]
    for column, head in enumerate(heads, 1):
        head_cell = put(sheet.cell(first_row, column), head)
        head_cell.font, head_cell.fill = HEAD_FONT, HEAD_FILL
        head_cell.border, head_cell.alignment = HEAD_LINE, WRAPPED
    last_row = first_row
    for last_row, row in enumerate(rows, first_row + 1):
        for column, value in enumerate(row if scope is None else _marked(row, scope), 1):
            filled = put(sheet.cell(last_row, column), value)
            filled.alignment = DATED if isinstance(filled.value, datetime.date) else WRAPPED
            if heads[column - 1] in formats and isinstance(filled.value, int | float):
                filled.number_format = formats[heads[column - 1]]
            widths[column - 1] = max(widths[column - 1], _shown_width(filled))
    for column, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(column)].width = min(max(width + 2, 8), 60)
    if heads:
        sheet.auto_filter.ref = f"A{first_row}:{get_column_letter(len(heads))}{last_row}"
    sheet.freeze_panes = f"A{first_row + 1}"
    _print_set_up(sheet, first_row)
    return last_row


def write_changes(workbook: Workbook) -> None:
    """Add a sheet with what changed since the workbook's reader had it, where anything is to be told."""
    told = changes()
    if told is None:
        return
    sheet = workbook.create_sheet(say("What changed"))
    for row, line in enumerate((told.title, *told.told()), start=1):
        put(sheet.cell(row, 1), line).alignment = WRAPPED
    sheet.cell(1, 1).font = Font(bold=True, size=14)
    sheet.column_dimensions["A"].width = 110
    sheet.protection.sheet = True
    _print_set_up(sheet, 1)


def _marked(values: Sequence[Any], scope: str) -> Sequence[Any]:
    """Return a row with a mark at its longest text, where the workbook's reader has not seen it so."""
    shown = ["" if value is None else str(value) for value in values]
    texts = [place for place, value in enumerate(values) if isinstance(value, str) and value]
    if not row_mark(scope, shown) or not texts:
        return values
    place = max(texts, key=lambda place: len(shown[place]))
    return [*values[:place], f"{MARK} {shown[place]}", *values[place + 1 :]]


def _shown_width(cell: Cell) -> int:
    """Return the characters of a cell's longest line as it is shown, number format included."""
    value = cell.value
    if isinstance(value, datetime.date):
        return 20
    if isinstance(value, int | float):
        return len(_shown_number(value, cell.number_format))
    return 0 if value is None else max((len(line) for line in str(value).splitlines()), default=0)


def _shown_number(value: float, number_format: str) -> str:
    """Write a number as a spreadsheet does, for formats made of ``#``, ``0``, thousands, decimals and per cent."""
    if number_format == "General":
        return f"{value:.11g}"
    whole, _, decimals = number_format.rstrip("%").partition(".")
    share = number_format.endswith("%")
    shown = f"{value * 100 if share else value:{',' * (',' in whole)}.{len(decimals)}f}"
    optional = len(decimals) - len(decimals.rstrip("#"))
    kept = shown[len(shown) - optional :].rstrip("0") if optional else ""
    return shown[: len(shown) - optional] + kept + "%" * share


def _print_set_up(sheet: Worksheet, head_row: int) -> None:
    sheet.print_title_rows = f"{head_row}:{head_row}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = sheet_size()
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    footer = sheet.oddFooter
    if footer is not None:
        footer.left.text = "&A"
        footer.right.text = say("Page {page} of {pages}", page="&P", pages="&N")
