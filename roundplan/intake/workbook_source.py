"""Sheets from one .xlsx workbook, every cell as text."""

from __future__ import annotations

import io
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from roundplan.domain.clock import clock_text
from roundplan.intake.columns import BY_NAME
from roundplan.intake.csv_source import read_bytes
from roundplan.intake.finding import Finding, did_you_mean
from roundplan.intake.raw import Sheet
from roundplan.intake.workbook_scan import BadWorkbook, scan

IGNORED = frozenset({"guide", "form"})
SETTINGS_SHEET = "round"


def read_workbook(
    path: Path, findings: list[Finding], label: str = "", names: frozenset[str] | None = None
) -> list[Sheet]:
    """Read every sheet of a workbook that is a table, the settings sheet or a form's own sheet.

    Parameters
    ----------
    path : Path
        The workbook.
    findings : list of Finding
        Grows.
    label : str
        How findings name the file; its name where empty.
    names : frozenset of str or None
        Sheets to take; None = every table and the settings.
    """
    label = label or path.name
    data = read_bytes(path, findings)
    if data is None:
        return []
    try:
        found = _sheets_of(data, label, findings)
    except BadWorkbook as bad:
        findings.append(Finding(code=bad.code, file=label, words=bad.words, remedy=bad.remedy))
        return []
    wanted = names if names is not None else frozenset(BY_NAME) | {SETTINGS_SHEET}
    sheets: dict[str, Sheet] = {}
    for title, lines in found:
        name = title.casefold().strip()
        file = f"{label}, sheet {title}"
        if name in sheets:
            words = f"{sheets[name].file} holds the same table"
            findings.append(Finding(code="table-twice", file=file, words=words, remedy="keep one of the sheets"))
        elif name in wanted:
            sheets[name] = Sheet(file, name, lines)
        elif name not in IGNORED and any(any(cells) for _, cells in lines):
            remedy = did_you_mean(name, sorted(wanted), "remove the sheet, or see the guide for the tables")
            words = "there is no table of this name"
            findings.append(Finding(code="unknown-table", file=file, words=words, remedy=remedy))
    return list(sheets.values())


Lines = tuple[tuple[int, tuple[str, ...]], ...]


def _sheets_of(data: bytes, label: str, findings: list[Finding]) -> list[tuple[str, Lines]]:
    """Read all sheets with calamine, after a look at what it would hide or choke on."""
    from python_calamine import CalamineWorkbook, SheetTypeEnum

    for sheet, cell, words, remedy in scan(data):
        findings.append(
            Finding(
                code="bad-cell", file=f"{label}, sheet {sheet}", row=cell[1], column=cell[0], words=words, remedy=remedy
            )
        )
    sheets = []
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        for meta in book.sheets_metadata:
            if meta.typ == SheetTypeEnum.WorkSheet:
                rows = book.get_sheet_by_name(meta.name).to_python(skip_empty_area=False)
                lines = tuple((number, tuple(text_of(cell) for cell in row)) for number, row in enumerate(rows, 1))
                sheets.append((meta.name, _trimmed(lines)))
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic of the reading library is no Exception
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        raise BadWorkbook(
            "broken-workbook", "cannot be read as an .xlsx workbook", "open it and save it anew"
        ) from None
    return sheets


def _trimmed(lines: Lines) -> Lines:
    """Cut cells to the right of the first filled row's last cell if no row fills them."""
    width = max((at + 1 for _, cells in lines for at, cell in enumerate(cells) if cell), default=0)
    return tuple((number, cells[:width]) for number, cells in lines)


def text_of(value: Any) -> str:
    """Write a cell as people would type it: whole numbers without a point, dates as ISO 8601, yes and no."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime):
        midnight = (value.hour, value.minute, value.second, value.microsecond) == (0, 0, 0, 0)
        return value.date().isoformat() if midnight else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return clock_text(3600 * value.hour + 60 * value.minute + value.second)
    if isinstance(value, timedelta):
        return clock_text(round(value.total_seconds()))
    return str(value)
