"""A look into an .xlsx file before it is read: broken or oversized archives, error cells, formulas never computed.

The reading library shows an error cell as a blank and reserves memory for the whole area up to the farthest cell,
so both are looked for in the sheets' own text first.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Iterator
from xml.etree import ElementTree

MOST_UNPACKED = 500_000_000
MOST_CELLS = 20_000_000
_CELL = re.compile(rb"<(?:\w+:)?c\s([^>]*?)(/?)>")
_REFERENCE = re.compile(rb'\br="([A-Z]{1,3})(\d{1,7})"')
_ERROR = re.compile(rb'\bt="e"')
_EMPTY_FORMULA = re.compile(rb"\s*<(?:\w+:)?f\b[^>]*?(?:/>|>[^<]*</(?:\w+:)?f>)\s*(?:<(?:\w+:)?v\s*/>|<v></v>|</)")
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
ScanResult = tuple[str, tuple[str, int], str, str]


class BadWorkbook(ValueError):
    """A file that is no workbook that can be read."""

    def __init__(self, code: str, words: str, remedy: str) -> None:
        self.code = code
        self.words = words
        self.remedy = remedy
        super().__init__(words)


def scan(data: bytes) -> list[ScanResult]:
    """Return sheet, cell (column letters and row), words and remedy of each cell that would be read as a blank.

    Raises
    ------
    BadWorkbook
        If the file is empty, locked, broken, or spreads farther than any table would.
    """
    if not data:
        raise BadWorkbook("empty-file", "is empty", "save the workbook again")
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        words = "is locked with a password or an old .xls workbook"
        raise BadWorkbook("broken-workbook", words, "save it as .xlsx without a password")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MOST_UNPACKED:
                words = f"unpacks to more than {MOST_UNPACKED // 1_000_000} MB"
                raise BadWorkbook("too-large", words, "copy the tables into a new workbook")
            return [found for sheet, part in _parts(archive) for found in _scan_sheet(sheet, archive.read(part))]
    except (
        zipfile.BadZipFile,
        zlib.error,
        KeyError,
        ElementTree.ParseError,
        EOFError,
        OSError,
        RuntimeError,
        NotImplementedError,
        UnicodeError,
        RecursionError,
    ):
        remedy = "open it in a spreadsheet program and save it as .xlsx anew"
        raise BadWorkbook("broken-workbook", "is not an .xlsx workbook, or is damaged", remedy) from None


def _parts(archive: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Yield each sheet's name and its part in the archive."""
    relations = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    targets = {node.get("Id", ""): node.get("Target", "") for node in relations}
    known = set(archive.namelist())
    for node in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter():
        if node.tag.endswith("}sheet"):
            target = targets.get(node.get(_RELATION, ""), "")
            part = target.lstrip("/") if target.startswith("/") else posixpath.normpath(f"xl/{target}")
            if part in known:
                yield node.get("name", ""), part


def _scan_sheet(sheet: str, xml: bytes) -> Iterator[ScanResult]:
    widest, lowest = 0, 0
    for match in _CELL.finditer(xml):
        reference = _REFERENCE.search(match.group(1))
        if reference is None:
            continue
        letters, row = reference.group(1).decode("ascii"), int(reference.group(2))
        if match.group(2):
            continue
        widest, lowest = max(widest, _column_number(letters)), max(lowest, row)
        if _ERROR.search(match.group(1)):
            yield sheet, (letters, row), "holds a spreadsheet error such as #N/A", "correct it or clear the cell"
        elif _EMPTY_FORMULA.match(xml, match.end()):
            words = "holds a formula that was never computed"
            yield sheet, (letters, row), words, "open and save the workbook, or enter the value"
    if widest * lowest > MOST_CELLS:
        words = f"sheet {sheet} reaches to row {lowest}, column {widest}"
        raise BadWorkbook("too-large", words, "copy the tables into a new workbook")


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number
