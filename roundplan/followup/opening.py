"""Files that came back, opened within bounds, whatever they hold: no more is unpacked than a round could need."""

from __future__ import annotations

import io
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from roundplan.followup.replies import Finding
from roundplan.intake.workbook_scan import BadWorkbook, scan

MOST_BYTES = 20_000_000
MOST_UNPACKED = 64_000_000
MOST_PARTS = 2_000
MOST_ROWS = 20_000
MOST_COLUMNS = 64
"""Most that a file may hold: bytes, bytes unpacked, parts of a workbook, rows, columns."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What a file should be: its name in sentences, and what to do where it is not."""

    noun: str
    remedy: str


class Unopened(Exception):
    """A file that cannot be read as a whole.

    Attributes
    ----------
    words, remedy : str
        What is wrong and what to do.
    """

    def __init__(self, words: str, remedy: str) -> None:
        self.words, self.remedy = words, remedy
        super().__init__(words)


def bytes_of(path: Path, expected: Expected) -> bytes:
    """Return what a file holds.

    Raises
    ------
    Unopened
        If it is missing, cannot be opened, is empty or too large.
    """
    try:
        if not path.is_file():
            raise Unopened("there is no file of this name", "check the name")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        words = f"cannot be opened: {getattr(error, 'strerror', None) or error}"
        raise Unopened(words, "check the file") from error
    if len(data) > MOST_BYTES:
        raise Unopened(f"is larger than {MOST_BYTES // 1_000_000} MB, which no {expected.noun} is", expected.remedy)
    if not data.strip():
        raise Unopened("is empty", "ask for it again")
    return data


def is_workbook(data: bytes) -> bool:
    """Whether a file begins as workbooks do, of today or of old."""
    return data.startswith((b"PK", b"\xd0\xcf\x11\xe0"))


def bad_cells(name: str, data: bytes, expected: Expected) -> tuple[Finding, ...]:
    """Return what is wrong with single cells of a workbook.

    Raises
    ------
    roundplan.intake.workbook_scan.BadWorkbook
        If it is none, or would unpack to more than is read.
    """
    _check_size(data, expected)
    return tuple(
        Finding(code="bad-cell", file=f"{name}, sheet {sheet}", row=cell[1], column=cell[0], words=words, remedy=todo)
        for sheet, cell, words, todo in scan(data)
    )


def _check_size(data: bytes, expected: Expected) -> None:
    """Refuse an archive that would unpack to too much; the reader stops at the sizes that are named."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        return  # the scan that follows says what is wrong
    if len(entries) > MOST_PARTS or sum(entry.file_size for entry in entries) > MOST_UNPACKED:
        most = f"{MOST_UNPACKED // 1_000_000} MB or {MOST_PARTS} parts"
        raise BadWorkbook("too-large", f"unpacks to more than {most}, which no {expected.noun} does", expected.remedy)


def sheets_of(data: bytes, expected: Expected) -> Iterator[tuple[str, list[Sequence[Any]]]]:
    """Yield each sheet's rows, read one after another, formulas by what they last gave."""
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # drop-downs that the library does not know do not matter here
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        try:
            for sheet in book.worksheets:
                rows = list(sheet.iter_rows(max_row=MOST_ROWS + 1, max_col=MOST_COLUMNS, values_only=True))
                if len(rows) > MOST_ROWS and any(cell is not None for cell in rows[-1]):
                    words = f"sheet {sheet.title} has more than {MOST_ROWS:,} rows"
                    raise BadWorkbook("too-large", words, expected.remedy)
                yield sheet.title, list(rows[:MOST_ROWS])
        finally:
            book.close()
