"""Tables as text, before anything is understood: sheets, and rows that know where they stand."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from roundplan.domain.counts import counted
from roundplan.intake.cleaning import REPLACEMENT, clean, forbidden_character
from roundplan.intake.finding import Finding, did_you_mean, quoted
from roundplan.intake.table import Table


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet or CSV file as it was read.

    Attributes
    ----------
    file : str
        File, with the sheet where it is a workbook, as findings name it.
    name : str
        Name of the table that it should be.
    lines : tuple of (int, tuple of str)
        Row number counting from 1, and its cells.
    """

    file: str
    name: str
    lines: tuple[tuple[int, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row: where it stands, and its non-blank cells by column."""

    file: str
    number: int
    cells: dict[str, str]


@dataclass(slots=True)
class RawTables:
    """All tables as text.

    Attributes
    ----------
    rows : dict
        Rows by table.
    present : set of str
        Tables that are there and have a heading.
    """

    rows: dict[str, list[RawRow]] = field(default_factory=dict)
    present: set[str] = field(default_factory=set)

    def of(self, table: str) -> list[RawRow]:
        """Return the rows of a table, none if it is not there."""
        return self.rows.get(table, [])

    def codes(self, table: str, column: str) -> list[str]:
        """Return the cells of one column."""
        return [row.cells[column] for row in self.of(table) if column in row.cells]


def heading_of(cell: str) -> str:
    """Return a heading as tables.md writes it: lower case, underscores, no star."""
    return re.sub(r"[\s_]+", "_", clean(cell).casefold().rstrip("*").strip())


def read_sheet(sheet: Sheet, table: Table, findings: list[Finding], optional: frozenset[str] = frozenset()) -> RawTable:
    """Match headings and return the rows; everything wrong with headings and row lengths becomes a finding.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    table : Table
        The table it holds.
    findings : list of Finding
        Grows.
    optional : frozenset of str
        Required columns that this sheet may leave out.
    """
    filled = [(number, cells) for number, cells in sheet.lines if any(clean(cell) for cell in cells)]
    if not filled:
        remedy = "put the headings into row 1: " + ", ".join(c.name for c in table.columns if c.required)
        findings.append(Finding(code="empty-table", file=sheet.file, words="is empty", remedy=remedy))
        return RawTable(False, [])
    heading_row, headings = filled[0]
    places = _match(sheet.file, heading_row, headings, table, findings)
    findings.extend(_missing_columns(sheet.file, heading_row, table, optional | places.keys()))
    named = [bool(heading_of(cell)) for cell in headings]
    while named and not named[-1]:
        named.pop()
    rows = []
    for number, cells in filled[1:]:
        findings.extend(_wrong_length(sheet.file, number, cells, named))
        texts = {name: clean(cells[at]) for name, at in places.items() if at < len(cells)}
        texts = {name: text for name, text in texts.items() if text}
        findings.extend(_unreadable(sheet.file, number, texts))
        if texts:
            rows.append(RawRow(sheet.file, number, texts))
    return RawTable(True, rows)


@dataclass(frozen=True, slots=True)
class RawTable:
    """Rows of one sheet, and whether it had a heading."""

    has_heading: bool
    rows: list[RawRow]


def _missing_columns(file: str, row: int, table: Table, there: frozenset[str]) -> Iterator[Finding]:
    for column in table.columns:
        if column.required and column.name not in there:
            words = f"the column {column.name} is missing: {column.meaning}"
            remedy = f"add it, for example with {quoted(column.example)}"
            yield Finding(code="missing-column", file=file, row=row, column=column.name, words=words, remedy=remedy)


def _match(file: str, row: int, headings: tuple[str, ...], table: Table, findings: list[Finding]) -> dict[str, int]:
    names = [heading_of(cell) for cell in headings]
    known = [column.name for column in table.columns]
    for name, times in Counter(name for name in names if name).items():
        if times > 1:
            words = f"the heading {quoted(name)} stands {times} times"
            findings.append(
                Finding(code="heading-twice", file=file, row=row, column=name, words=words, remedy="keep one")
            )
    places: dict[str, int] = {}
    for at, name in enumerate(names):
        if name in known:
            places.setdefault(name, at)
        elif name:
            remedy = did_you_mean(name, [k for k in known if k not in names], "remove the column, or see the guide")
            words = f"there is no column {quoted(clean(headings[at]))} in {table.name}"
            findings.append(Finding(code="unknown-column", file=file, row=row, column=name, words=words, remedy=remedy))
    return places


def _wrong_length(file: str, row: int, cells: tuple[str, ...], named: list[bool]) -> Iterator[Finding]:
    stray = (clean(cell) for at, cell in enumerate(cells) if at >= len(named) or not named[at])
    extra = next((cell for cell in stray if cell), None)
    if extra is not None:
        words = "a cell stands under no heading"
        remedy = "a cell that holds a comma needs quotation marks around it; else remove the cell"
        yield Finding(code="ragged-row", file=file, row=row, cell=extra, words=words, remedy=remedy)
    elif len(cells) < len(named):
        words = f"the row has {counted(len(cells), 'cell')}, the heading {len(named)}"
        yield Finding(code="ragged-row", file=file, row=row, words=words, remedy="add the missing commas")


def _unreadable(file: str, row: int, texts: dict[str, str]) -> Iterator[Finding]:
    for column, text in texts.items():
        bad = forbidden_character(text)
        if bad is not None:
            words = f"holds the character {quoted(bad)} that cannot be shown"
            yield Finding(
                code="bad-character", file=file, row=row, column=column, cell=text, words=words, remedy="type it anew"
            )
        elif REPLACEMENT in text:
            words = "holds �, which stands for letters that were lost when the file was saved"
            yield Finding(
                code="lost-letters", file=file, row=row, column=column, cell=text, words=words, remedy="type it anew"
            )
