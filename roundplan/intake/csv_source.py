"""Sheets from a folder of CSV files."""

from __future__ import annotations

import codecs
import csv
import io
from pathlib import Path

from roundplan.intake.columns import BY_NAME
from roundplan.intake.finding import Finding, did_you_mean
from roundplan.intake.raw import Sheet

MOST_BYTES = 200_000_000
SAVE_AS = "save it as CSV UTF-8, with commas"
_UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def read_folder(folder: Path, findings: list[Finding]) -> list[Sheet]:
    """Read every CSV file of the folder as text."""
    sheets: dict[str, Sheet] = {}
    for path in csv_files(folder):
        name = path.stem.casefold().strip()
        if name not in BY_NAME:
            remedy = did_you_mean(name, list(BY_NAME), "remove the file, or see the guide for the tables")
            words = "there is no table of this name"
            findings.append(Finding(code="unknown-table", file=path.name, words=words, remedy=remedy))
        elif name in sheets:
            words = f"{sheets[name].file} holds the same table"
            findings.append(Finding(code="table-twice", file=path.name, words=words, remedy="keep one of the files"))
        else:
            sheets[name] = _sheet(path, name, findings)
    return list(sheets.values())


def csv_files(folder: Path) -> list[Path]:
    """Return the CSV files of a folder, in order of their names."""
    return sorted(p for p in folder.iterdir() if p.suffix.casefold() == ".csv" and p.is_file())


def read_named(path: Path, table: str, findings: list[Finding]) -> Sheet:
    """Read one CSV file as text, as the table of a name."""
    return _sheet(path, table, findings)


def read_bytes(path: Path, findings: list[Finding]) -> bytes | None:
    """Read a file; one that cannot be opened or is far too big becomes a finding."""
    try:
        if path.stat().st_size > MOST_BYTES:
            words = f"is larger than {MOST_BYTES // 1_000_000} MB"
            findings.append(Finding(code="too-large", file=path.name, words=words, remedy="remove what is no table"))
            return None
        return path.read_bytes()
    except OSError as error:
        words = f"cannot be opened: {error.strerror or error}"
        findings.append(Finding(code="unreadable-file", file=path.name, words=words, remedy="check the file"))
        return None


def decode(data: bytes, file: str, findings: list[Finding]) -> str:
    """Decode UTF-8, with or without its mark; another encoding becomes a finding and is read as far as it goes."""
    if data.startswith(_UTF_16):
        findings.append(Finding(code="wrong-encoding", file=file, words="is UTF-16, not UTF-8", remedy=SAVE_AS))
        return data.decode("utf-16", errors="replace")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        words = "is not UTF-8: letters in this row cannot be read"
        findings.append(Finding(code="wrong-encoding", file=file, row=row, words=words, remedy=SAVE_AS))
        text = data.decode("latin-1")
    if "\x00" in text:
        row = text.count("\n", 0, text.index("\x00")) + 1
        words = "holds NUL characters, which no text file has"
        findings.append(Finding(code="nul-character", file=file, row=row, words=words, remedy=SAVE_AS))
        text = text.replace("\x00", "")
    return text


def _sheet(path: Path, name: str, findings: list[Finding]) -> Sheet:
    data = read_bytes(path, findings)
    text = decode(data, path.name, findings) if data is not None else ""
    first_line = text.lstrip().partition("\n")[0]
    for mark, called in ((";", "semicolons"), ("\t", "tabs")):
        if mark in first_line and "," not in first_line:
            words = f"has its columns separated by {called}, not by commas"
            findings.append(Finding(code="wrong-separator", file=path.name, row=1, words=words, remedy=SAVE_AS))
            return Sheet(path.name, name, tuple(_lines(text, path.name, findings, mark)))
    return Sheet(path.name, name, tuple(_lines(text, path.name, findings, ",")))


def _lines(text: str, file: str, findings: list[Finding], mark: str) -> list[tuple[int, tuple[str, ...]]]:
    lines: list[tuple[int, tuple[str, ...]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    try:
        for number, cells in enumerate(reader, start=1):
            lines.append((number, tuple(cells)))
    except csv.Error as error:
        row = len(lines) + 1
        if "field larger" in str(error):
            words, remedy = "a cell of this row is longer than 131,072 characters", "shorten it"
        else:
            words = "a quotation mark is not closed, or stands inside a cell"
            remedy = 'write a quotation mark inside a cell twice ("") and close each cell that begins with one'
        findings.append(Finding(code="broken-csv", file=file, row=row, words=words, remedy=remedy))
    return lines
