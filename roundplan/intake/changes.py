"""Rows that change tables read before: new facts, added to a round or put in place of rows with the same key."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from roundplan.intake.columns import BY_NAME
from roundplan.intake.csv_source import csv_files, read_named
from roundplan.intake.finding import Finding, did_you_mean
from roundplan.intake.raw import Sheet, heading_of, read_sheet
from roundplan.intake.settings_source import read_settings_sheet
from roundplan.intake.table import Table
from roundplan.intake.workbook_source import SETTINGS_SHEET, read_workbook

APART = "contacts"
"""The table that is no part of a round, and so never of what changes one."""

_KEYS = {
    "absences": ("who", "from", "shift"),
    "relief": ("person", "facility", "from"),
    "ledger": ("person", "date", "role"),
}
"""Columns by which rows are the same, where they are more than those that name a row."""


class Effect(StrEnum):
    """What a row does to the table: stands in it, or takes out of it every row with its cells."""

    ROW = "row"
    DROP = "drop"


@dataclass(frozen=True, slots=True)
class ChangedRow:
    """One row of new facts.

    Attributes
    ----------
    table : str
        Its table, or ``round`` for a setting (columns section, key and value).
    cells : mapping of str to str
        Cells by column; a blank one clears what stands there, a column left out leaves it.
    file, row : str, int
        Where it stands.
    """

    table: str
    cells: Mapping[str, str]
    file: str
    row: int
    effect: Effect = Effect.ROW

    @property
    def key(self) -> tuple[str, ...]:
        """What tells the row from others of its table."""
        return tuple(self.cells.get(name, "") for name in key_of(self.table))


def key_of(table: str) -> tuple[str, ...]:
    """Return the columns by which rows of a table are the same; none where rows are only ever added."""
    return ("section", "key") if table == SETTINGS_SHEET else _KEYS.get(table, BY_NAME[table].key)


def read_changes(path: Path, findings: list[Finding]) -> tuple[ChangedRow, ...]:
    """Read tables of new facts: a workbook, a CSV file whose name begins with that of its table, or a folder of these.

    Everything wrong with a file becomes a finding; what its cells say is checked when the rows are merged into a round.
    """
    found: list[ChangedRow] = []
    for sheet in _sheets(path, findings):
        if sheet.name == SETTINGS_SHEET:
            found += _settings(sheet, findings)
        elif sheet.name == APART:
            words = "phone and email are kept apart and change no plan"
            remedy = "enter them in the contacts of your tables"
            findings.append(Finding(code="no-fact", file=sheet.file, words=words, remedy=remedy))
        else:
            found += _rows(sheet, BY_NAME[sheet.name], findings)
    return tuple(found)


def _sheets(path: Path, findings: list[Finding]) -> list[Sheet]:
    if path.is_dir():
        return [sheet for file in csv_files(path) for sheet in _sheets(file, findings)]
    if not path.is_file():
        findings.append(Finding(code="no-file", file=path.name, words="there is no such file", remedy="check the name"))
        return []
    if path.suffix.casefold() == ".xlsx":
        return read_workbook(path, findings)
    name = _table_named(path.stem)
    if name is None:
        words = "the name of the file begins with that of no table"
        remedy = did_you_mean(path.stem, list(BY_NAME), f"name it after its table, such as absences{path.suffix}")
        findings.append(Finding(code="unknown-table", file=path.name, words=words, remedy=remedy))
        return []
    return [read_named(path, name, findings)]


def _table_named(stem: str) -> str | None:
    """Return the table that a file's name begins with, as in ``absences`` and ``absences-week-7``."""
    words = stem.casefold().strip()
    names = (*BY_NAME, SETTINGS_SHEET)
    return next((name for name in names if re.fullmatch(rf"{name}([^a-z].*)?", words, flags=re.DOTALL)), None)


def _rows(sheet: Sheet, table: Table, findings: list[Finding]) -> list[ChangedRow]:
    keys = set(table.key) or {column.name for column in table.columns if column.required}
    optional = frozenset(column.name for column in table.columns if column.name not in keys)
    raw = read_sheet(sheet, table, findings, optional)
    headings = next((cells for _, cells in sheet.lines if any(cells)), ())
    there = {heading_of(cell) for cell in headings} & {column.name for column in table.columns}
    rows = []
    for row in raw.rows:
        for name in sorted(keys - row.cells.keys()):
            words, remedy = f"{name} is blank", f"fill it in: {table.column(name).meaning}"
            findings.append(
                Finding(code="blank-required", file=row.file, row=row.number, column=name, words=words, remedy=remedy)
            )
        cells = {column.name: row.cells.get(column.name, "") for column in table.columns if column.name in there}
        rows.append(ChangedRow(table.name, cells, row.file, row.number))
    return rows


def _settings(sheet: Sheet, findings: list[Finding]) -> list[ChangedRow]:
    entries = read_settings_sheet(sheet, findings)
    return [
        ChangedRow(
            SETTINGS_SHEET,
            {"section": entry.section, "key": entry.key, "value": str(entry.value)},
            entry.file,
            entry.row or 0,
        )
        for entry in entries or ()
    ]
