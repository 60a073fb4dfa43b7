"""``roundplan new``: empty tables with headings, drop-downs and a guide, round.toml, and forms for facilities."""

from __future__ import annotations

import os
from pathlib import Path

from roundplan.intake.blank_forms import write_forms
from roundplan.intake.blank_guide import add_guide
from roundplan.intake.blank_sheets import add_rows, add_table
from roundplan.intake.blank_toml import blank_toml
from roundplan.intake.columns import BY_NAME, TABLES
from roundplan.intake.csv_source import csv_files, read_folder
from roundplan.intake.finding import Finding
from roundplan.intake.raw import RawTables, read_sheet
from roundplan.intake.settings_source import ROUND_TOML
from roundplan.intake.shipped_cases import SHIPPED_CASES
from roundplan.intake.sources import workbooks_in
from roundplan.intake.workbook_source import read_workbook

WORKBOOK = "round_tables.xlsx"


def write_blank(folder: str | os.PathLike[str], forms: bool = False) -> tuple[Path, ...]:
    """Write what a new round starts from; files that are there already stay as they are.

    Parameters
    ----------
    folder : path-like
        Made if it does not exist. Where it holds tables already, no workbook is added.
    forms : bool
        Also write one form for each facility of the tables, or one to be copied if there are none yet.

    Returns
    -------
    tuple of Path
        Files written.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    written = []
    if not csv_files(target) and not workbooks_in(target):
        _write_workbook(target / WORKBOOK)
        written.append(target / WORKBOOK)
    toml = target / ROUND_TOML
    if not toml.exists():
        toml.write_text(blank_toml(), encoding="utf-8", newline="\n")
        written.append(toml)
    if forms:
        tables = _tables_there(target)
        facilities = [(row.cells.get("facility", ""), row.cells.get("name", "")) for row in tables.of("facilities")]
        known = [(code, name) for code, name in dict(facilities).items() if code]
        written += write_forms(target, known, frozenset(tables.codes("staff", "person")))
    return tuple(written)


def _write_workbook(path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for table in TABLES:
        add_table(book, table)
    add_rows(book["cases"], SHIPPED_CASES)
    add_guide(book)
    book.save(path)


def _tables_there(folder: Path) -> RawTables:
    """Return facilities and staff as far as they can be read; what is wrong with them is for ``check`` to say."""
    ignored: list[Finding] = []
    books = workbooks_in(folder)
    sheets = read_folder(folder, ignored) if csv_files(folder) else read_workbook(books[0], ignored) if books else []
    tables = RawTables()
    for sheet in sheets:
        if sheet.name in ("facilities", "staff"):
            tables.rows[sheet.name] = read_sheet(sheet, BY_NAME[sheet.name], ignored).rows
    return tables
