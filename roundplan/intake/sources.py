"""From a path to tables as text and settings entries: folder or workbook, forms, round.toml."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from roundplan.intake.columns import BY_NAME, TABLES
from roundplan.intake.csv_source import csv_files, read_folder
from roundplan.intake.finding import Finding, FindingsError
from roundplan.intake.forms_source import read_forms
from roundplan.intake.raw import RawTables, Sheet, read_sheet
from roundplan.intake.settings_source import ROUND_TOML, Entry, read_settings_sheet, read_toml
from roundplan.intake.workbook_source import SETTINGS_SHEET, read_workbook


@dataclass(slots=True)
class Source:
    """Everything that was read, still as text; no entries where the settings could not be read at all."""

    folder: Path
    tables: RawTables = field(default_factory=RawTables)
    entries: list[Entry] | None = None


def read_source(path: Path, findings: list[Finding]) -> Source:
    """Read a folder of CSV files, a folder with one workbook, or a workbook.

    Raises
    ------
    FindingsError
        If there is nothing at the path that could be read.
    """
    try:
        sheets, folder = _sheets(path, findings)
    except (OSError, ValueError) as error:
        if isinstance(error, FindingsError):
            raise
        raise _nothing(path, "cannot be opened", "check the path") from None
    source = Source(folder)
    settings_sheet = next((sheet for sheet in sheets if sheet.name == SETTINGS_SHEET), None)
    for sheet in sheets:
        if sheet.name != SETTINGS_SHEET:
            table = read_sheet(sheet, BY_NAME[sheet.name], findings)
            source.tables.rows[sheet.name] = table.rows
            if table.has_heading:
                source.tables.present.add(sheet.name)
    read_forms(folder, source.tables, findings)
    _missing(sheets, source.tables, findings)
    source.entries = _entries(folder, settings_sheet, findings)
    return source


def _nothing(path: Path, words: str, remedy: str) -> FindingsError:
    return FindingsError([Finding(code="no-inputs", file=path.name or str(path), words=words, remedy=remedy)])


def _sheets(path: Path, findings: list[Finding]) -> tuple[list[Sheet], Path]:
    if path.is_file():
        if path.suffix.casefold() != ".xlsx":
            raise _nothing(path, "is neither a folder nor an .xlsx workbook", "name the folder of the tables")
        return read_workbook(path, findings), path.parent
    if path.exists() and not path.is_dir():
        raise _nothing(path, "is neither a folder nor an .xlsx workbook", "name the folder of the tables")
    if not path.is_dir():
        raise _nothing(path, "does not exist", "check the path, or make the tables with: roundplan new FOLDER")
    workbooks = workbooks_in(path)
    tables = csv_files(path)
    if tables and workbooks:
        words = "holds tables both as CSV files and in " + workbooks[0].name
        findings.append(Finding(code="table-twice", file=path.name, words=words, remedy="keep one of the two"))
    if not tables and len(workbooks) > 1:
        words = "holds several workbooks: " + ", ".join(book.name for book in workbooks)
        raise _nothing(path, words, "keep one, or name the one to use")
    if not tables and not workbooks:
        remedy = "put the CSV files or the workbook there, or make them with: roundplan new FOLDER"
        raise _nothing(path, "holds neither CSV files nor an .xlsx workbook", remedy)
    return (read_folder(path, findings) if tables else read_workbook(workbooks[0], findings)), path


def workbooks_in(folder: Path) -> list[Path]:
    """Return the workbooks of a folder; files that a spreadsheet program keeps while one is open are left out."""
    books = (p for p in folder.iterdir() if p.suffix.casefold() == ".xlsx" and p.is_file())
    return sorted(book for book in books if not book.name.startswith(("~$", ".")))


def _missing(sheets: list[Sheet], tables: RawTables, findings: list[Finding]) -> None:
    read = {sheet.name for sheet in sheets} | tables.present
    for table in TABLES:
        if table.required and table.name not in read:
            columns = ", ".join(column.name for column in table.columns if column.required)
            words = f"the table {table.name} is missing: {table.meaning}"
            remedy = f"add {table.name}.csv, or a sheet {table.name}, with at least the columns {columns}"
            findings.append(Finding(code="missing-table", file=table.name, words=words, remedy=remedy))
    if "facilities" in tables.present and not tables.of("facilities"):
        words = "has no rows"
        findings.append(Finding(code="empty-table", file="facilities", words=words, remedy="enter the facilities"))


def _entries(folder: Path, sheet: Sheet | None, findings: list[Finding]) -> list[Entry] | None:
    toml = folder / ROUND_TOML
    if sheet is not None and toml.is_file():
        words = f"the settings stand both here and in the sheet {SETTINGS_SHEET}"
        findings.append(Finding(code="table-twice", file=ROUND_TOML, words=words, remedy="keep one of the two"))
    if toml.is_file():
        return read_toml(toml, findings)
    if sheet is not None:
        return read_settings_sheet(sheet, findings)
    remedy = "add it; roundplan new FOLDER writes one with every key explained"
    findings.append(Finding(code="missing-settings", file=ROUND_TOML, words="is missing", remedy=remedy))
    return None
