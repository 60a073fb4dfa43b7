"""Forms that facilities filled in: staff, absences and duties from ``forms/*.xlsx``."""

from __future__ import annotations

from pathlib import Path

from roundplan.intake.cleaning import clean
from roundplan.intake.columns import BY_NAME
from roundplan.intake.finding import Finding, did_you_mean
from roundplan.intake.raw import RawRow, RawTables, Sheet, read_sheet
from roundplan.intake.workbook_source import read_workbook

FORMS = "forms"
FORM_TABLES = ("staff", "absences", "duties")
FORM_SHEET = "form"
BLANK_FORM = "blank_form.xlsx"


def read_forms(folder: Path, tables: RawTables, findings: list[Finding]) -> None:
    """Add the rows of every form to the tables."""
    directory = folder / FORMS
    if not directory.is_dir():
        return
    for path in sorted(directory.iterdir()):
        hidden = path.name.startswith(("~$", ".")) or path.name == BLANK_FORM
        if path.suffix.casefold() == ".xlsx" and path.is_file() and not hidden:
            _read_form(path, tables, findings)


def _read_form(path: Path, tables: RawTables, findings: list[Finding]) -> None:
    label = f"{FORMS}/{path.name}"
    sheets = read_workbook(path, findings, label, frozenset({*FORM_TABLES, FORM_SHEET}))
    code = _facility_of(path, label, sheets, tables, findings)
    for sheet in sheets:
        if sheet.name in FORM_TABLES:
            rows = read_sheet(sheet, BY_NAME[sheet.name], findings, frozenset({"facility"})).rows
            if sheet.name == "staff":
                rows = [_at_home(row, code) for row in rows if set(row.cells) - {"person", "facility"}]
            tables.rows.setdefault(sheet.name, []).extend(rows)
            tables.present.add(sheet.name)


def _facility_of(path: Path, label: str, sheets: list[Sheet], tables: RawTables, findings: list[Finding]) -> str:
    """Return the facility that the form says it is from, else the name of its file."""
    form = next((sheet for sheet in sheets if sheet.name == FORM_SHEET), None)
    known = tables.codes("facilities", "facility")
    code = path.stem
    row = None
    for number, cells in form.lines if form else ():
        if len(cells) > 1 and clean(cells[0]).casefold() == "facility" and clean(cells[1]):
            code, row = clean(cells[1]), number
            break
    if code not in known and "facilities" in tables.present:
        remedy = did_you_mean(code, known, "correct the code, or add the facility to its table")
        where = f"{label}, sheet {FORM_SHEET}" if row else label
        words = "the form is from a facility that is not in the table facilities"
        findings.append(Finding(code="unknown-code", file=where, row=row, cell=code, words=words, remedy=remedy))
    return code


def _at_home(row: RawRow, code: str) -> RawRow:
    return RawRow(row.file, row.number, {"facility": code, **row.cells})
