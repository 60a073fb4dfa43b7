"""Files that came back, read within bounds: a slip's workbook, a sheet of it saved as CSV, replies typed as text.

What a file is, is told by its content. Nothing that it holds is run, and no more of it is unpacked than a slip of a
whole district could need.
"""

from __future__ import annotations

import csv
import io
import re
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from roundplan.attendance.layout import MARKS_SHEET as FORM_SHEET
from roundplan.followup.opening import (
    MOST_COLUMNS,
    MOST_ROWS,
    Expected,
    Unopened,
    bad_cells,
    bytes_of,
    is_workbook,
    sheets_of,
)
from roundplan.followup.replies import Finding, Heard, Place
from roundplan.intake.csv_source import decode
from roundplan.intake.workbook_scan import BadWorkbook
from roundplan.slips.layout import CONFIRMATIONS, COVER, KEY_ROW, SEATS, Column, Sheet
from roundplan.slips.reading import NotASlip, Returned, read_rows, read_slip

LONGEST_LINE = 500
MOST_CHATTER = 50
"""Most letters of a typed line, and most lines without a single code before the file as a whole is refused."""

_REPLY = re.compile(r"(?im)(?:^|[,;])[^\S\n]*[A-Z]{1,4} ?(?=[ILO]*[0-9])[0-9ILO]{1,8} ?[A-Z]\b")
_HEAD = 50_000  # letters in which the keys of a CSV file stand
_SEND = "save the slip as it was sent, as .xlsx, and send it again"
SLIP = Expected("slip", _SEND)
"""What these files should be."""


@dataclass(frozen=True, slots=True)
class File:
    """One file that came back.

    Attributes
    ----------
    slip : Returned or None
        What a workbook says of itself; None for CSV and text.
    heard : tuple of Heard
        Its rows or lines.
    findings : tuple of Finding
        What could not be read.
    """

    name: str
    slip: Returned | None = None
    heard: tuple[Heard, ...] = ()
    findings: tuple[Finding, ...] = ()


def read_file(path: Path) -> File:
    """Read one file; whatever is wrong with it is a finding."""
    name = path.name
    try:
        data = bytes_of(path, SLIP)
    except Unopened as bad:
        return _refused(name, bad.words, bad.remedy)
    if is_workbook(data):
        return _workbook(name, data)
    return _plain(name, data)


def _refused(name: str, words: str, remedy: str) -> File:
    return File(name, findings=(Finding(code="not-a-slip", file=name, words=words, remedy=remedy),))


def _workbook(name: str, data: bytes) -> File:
    try:
        findings = bad_cells(name, data, SLIP)
        sheets = dict(sheets_of(data, SLIP))
        if FORM_SHEET in sheets:
            raise NotASlip("this is an attendance form; take it in with: roundplan close OUT --attendance FILE")
        slip = read_slip(sheets)
    except (BadWorkbook, NotASlip) as bad:
        words, remedy = (bad.words, bad.remedy) if isinstance(bad, BadWorkbook) else (str(bad), _SEND)
        return _refused(name, words, remedy)
    except Exception:  # the reading library raises whatever a damaged part leads it to
        return _refused(name, "is damaged: it cannot be read as a workbook", _SEND)
    heard = tuple(Heard(Place(name, row.title, row.row), row) for row in slip.rows)
    return File(name, slip, heard, findings)


def _plain(name: str, data: bytes) -> File:
    findings: list[Finding] = []
    text = decode(data, name, findings)
    table = _table(text)
    if table is not None:
        return _csv(name, *table, findings)
    if text.count("\n") > MOST_CHATTER and not _REPLY.search(text):
        return _refused(name, "holds no reply: neither a slip nor codes with a word", _SEND)
    heard: list[Heard] = []
    for number, line in enumerate(text.splitlines(), start=1):
        for part in line.replace(";", ",").split(","):
            if len(part) > LONGEST_LINE:
                words = f"this line is longer than {LONGEST_LINE} letters"
                findings.append(Finding(code="too-long", file=name, row=number, words=words, remedy="type it anew"))
            elif part.strip():
                heard.append(Heard(Place(name, "", number), part.strip()))
        if number > MOST_ROWS:
            words = f"has more than {MOST_ROWS:,} lines; what stands below was not read"
            findings.append(Finding(code="too-large", file=name, row=number, words=words, remedy="send it in parts"))
            break
    return File(name, heard=tuple(heard), findings=tuple(findings))


_KINDS: tuple[tuple[Sheet, frozenset[str]], ...] = (
    (CONFIRMATIONS, frozenset({Column.CODE, Column.CONFIRMED_BY})),
    (COVER, frozenset({Column.CODE, Column.REPLY, Column.SHIFT_CODE, Column.PERSON_CODE})),
    (SEATS, frozenset({Column.CODE, Column.REPLY})),
)
"""Sheets by the keys that a table must have to be one, the particular before the general."""


def _table(text: str) -> tuple[Sheet, int, str, str] | None:
    """Return which sheet a CSV file is, the row of its keys, its separator and the text; None if it is none."""
    for mark in (",", ";", "\t"):
        rows = csv.reader(io.StringIO(text[:_HEAD], newline=""), delimiter=mark)
        with suppress(csv.Error):
            for number, row in enumerate(islice(rows, KEY_ROW + 1), start=1):
                keys = {cell.strip().casefold() for cell in row}
                for sheet, wanted in _KINDS:
                    if wanted <= keys:
                        return sheet, number, mark, text
    return None


def _csv(name: str, sheet: Sheet, key_row: int, mark: str, text: str, findings: list[Finding]) -> File:
    rows: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark):
            rows.append(row[:MOST_COLUMNS])
            if len(rows) > MOST_ROWS:
                words = f"has more than {MOST_ROWS:,} rows; what stands below was not read"
                remedy = "send it in parts"
                findings.append(Finding(code="too-large", file=name, row=len(rows), words=words, remedy=remedy))
                break
    except csv.Error as error:
        words = f"cannot be read from here on: {error}"
        findings.append(Finding(code="broken-csv", file=name, row=len(rows) + 1, words=words, remedy=_SEND))
    if len(rows) < key_row:
        return File(name, findings=tuple(findings))
    rows[key_row - 1] = [key.strip().casefold() for key in rows[key_row - 1]]
    first = key_row + 2 if key_row == KEY_ROW else key_row + 1  # the headings stand between, on a slip's own sheet
    found = read_rows(sheet, "", rows, key_row=key_row, first_row=first)
    heard = tuple(Heard(Place(name, "", row.row), row) for row in found)
    return File(name, heard=heard, findings=tuple(findings))
