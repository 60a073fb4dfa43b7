"""Attendance forms that came back, read within the bounds of :mod:`roundplan.followup.opening`: workbook or CSV."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from roundplan.attendance.layout import FIRST_ROW, KEY_ROW, Part
from roundplan.attendance.reading import NotAForm, Returned, Written, part_of, read_form, read_rows
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
from roundplan.followup.replies import Finding, Place
from roundplan.intake.csv_source import decode
from roundplan.intake.workbook_scan import BadWorkbook

_SEND = "save the form as it was sent, as .xlsx, and take that"
FORM = Expected("form", _SEND)
"""What these files should be."""


@dataclass(frozen=True, slots=True)
class File:
    """One file that came back.

    Attributes
    ----------
    form : Returned or None
        What a workbook says of itself; None for CSV.
    rows : tuple of (Place, Written)
        Its rows that hold anything, printed cells included.
    findings : tuple of Finding
        What could not be read.
    """

    name: str
    form: Returned | None = None
    rows: tuple[tuple[Place, Written], ...] = ()
    findings: tuple[Finding, ...] = ()


def read_file(path: Path) -> File:
    """Read one file; whatever is wrong with it is a finding."""
    name = path.name
    try:
        data = bytes_of(path, FORM)
    except Unopened as bad:
        return _refused(name, bad.words, bad.remedy)
    if is_workbook(data):
        return _workbook(name, data)
    return _csv(name, data)


def _refused(name: str, words: str, remedy: str) -> File:
    return File(name, findings=(Finding(code="not-a-form", file=name, words=words, remedy=remedy),))


def _workbook(name: str, data: bytes) -> File:
    try:
        findings = bad_cells(name, data, FORM)
        form = read_form(dict(sheets_of(data, FORM)))
    except (BadWorkbook, NotAForm) as bad:
        words, remedy = (bad.words, bad.remedy) if isinstance(bad, BadWorkbook) else (str(bad), _SEND)
        return _refused(name, words, remedy)
    except Exception:  # the reading library raises whatever a damaged part leads it to
        return _refused(name, "is damaged: it cannot be read as a workbook", _SEND)
    return File(name, form, tuple((Place(name, row.title, row.number), row) for row in form.rows), findings)


def _csv(name: str, data: bytes) -> File:
    findings: list[Finding] = []
    text = decode(data, name, findings)
    for mark in (",", ";", "\t"):
        try:
            rows = [
                row[:MOST_COLUMNS]
                for row in islice(csv.reader(io.StringIO(text, newline=""), delimiter=mark), MOST_ROWS + 1)
            ]
        except csv.Error:
            continue
        part = part_of(rows)
        if part is not None:
            break
    else:
        return _refused(name, "is no attendance form, nor a sheet of one saved as CSV", _SEND)
    if len(rows) > MOST_ROWS:
        words = f"has more than {MOST_ROWS:,} rows; what stands below was not read"
        findings.append(Finding(code="too-large", file=name, row=MOST_ROWS, words=words, remedy="send it in parts"))
    found = _read(part, rows[:MOST_ROWS])
    return File(name, None, tuple((Place(name, "", row.number), row) for row in found), tuple(findings))


def _read(part: Part, rows: list[list[str]]) -> tuple[Written, ...]:
    return tuple(read_rows(part, "", rows, key_row=KEY_ROW, first_row=FIRST_ROW))
