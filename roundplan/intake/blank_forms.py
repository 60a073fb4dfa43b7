"""Forms for the facilities: one workbook each for staff, absences and duties, which the reader takes back in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from roundplan.intake.blank_guide import add_guide
from roundplan.intake.blank_sheets import add_rows, add_table, put
from roundplan.intake.columns import BY_NAME
from roundplan.intake.forms_source import BLANK_FORM, FORM_SHEET, FORM_TABLES, FORMS

LINES = 40
"""Codes of people that a form offers; more can be written below."""
_HOW = (
    "Please fill in the sheets staff, absences and duties and send the file back.",
    "staff: one row a person; the codes are given, rows without a name are not read.",
    "absences and duties: use the codes of staff. Dates are year-month-day.",
    "What each column means stands in the note of its heading and in the sheet guide.",
)


def write_forms(folder: Path, facilities: Sequence[tuple[str, str]], taken: frozenset[str]) -> list[Path]:
    """Write one form a facility; forms that are there already stay as they are.

    Parameters
    ----------
    folder : Path
        Folder of the inputs; forms stand in its folder ``forms``.
    facilities : sequence of (str, str)
        Code and name; where empty, one form without a facility is written, to be copied.
    taken : frozenset of str
        Codes of people in use.

    Returns
    -------
    list of Path
        Files written.
    """
    directory = folder / FORMS
    directory.mkdir(parents=True, exist_ok=True)
    written = []
    for code, name in facilities or [("", "")]:
        path = directory / (f"{_file_name(code)}.xlsx" if code else BLANK_FORM)
        if not path.exists():
            _write_form(path, code, name, taken)
            written.append(path)
    return written


def _file_name(code: str) -> str:
    return "".join(c if c.isalnum() or c in "-_ " else f"%{ord(c):02x}" for c in code)


def _write_form(path: Path, code: str, name: str, taken: frozenset[str]) -> None:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = FORM_SHEET
    for number, (label, text) in enumerate((("facility", code), ("name", name)), start=1):
        put(sheet.cell(number, 1), label)
        put(sheet.cell(number, 2), text)
    for number, line in enumerate(_HOW, start=4):
        put(sheet.cell(number, 1), line)
    sheet.column_dimensions["A"].width = 14
    for table in FORM_TABLES:
        without = frozenset({"facility"}) if table == "staff" else frozenset()
        add_table(book, BY_NAME[table], without=without)
    free = (f"{code}-{number:02d}" for number in range(1, LINES + len(taken) + 1))
    codes = [person for person in free if person not in taken][:LINES] if code else []
    add_rows(book["staff"], [{"person": person} for person in codes])
    add_guide(book, [BY_NAME[table] for table in FORM_TABLES], settings=False)
    book.save(path)
