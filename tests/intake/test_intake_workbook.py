"""One workbook in place of a folder: every type of cell becomes the text that people would type."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from intake_small_inputs import SMALL, TODAY, TOML, findings_of, write

from roundplan.intake import read_round


def workbook(changes: dict[tuple[str, str], Any] | None = None, *, settings: bool = False) -> openpyxl.Workbook:
    """Return the small tables as a workbook, with cells changed."""
    book = openpyxl.Workbook()
    book.active.title = "Sheet1"
    for name, rows in SMALL.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append([cell or None for cell in row])
    if settings:
        sheet = book.create_sheet("round")
        sheet.append(["section", "key", "value"])
        section = ""
        for line in TOML.splitlines():
            if line.startswith("["):
                section = line.strip("[]")
            elif line:
                key, _, value = line.partition(" = ")
                sheet.append([section, key, value.strip('"')])
    for (name, cell), value in (changes or {}).items():
        book[name][cell] = value
    return book


def save(folder: Path, book: openpyxl.Workbook, toml: str | None = TOML) -> Path:
    """Save workbook and settings."""
    folder.mkdir(parents=True, exist_ok=True)
    book.save(folder / "tables.xlsx")
    if toml is not None:
        (folder / "round.toml").write_text(toml)
    return folder / "tables.xlsx"


def test_workbook_and_folder_give_the_same_round(tmp_path: Path) -> None:
    from_csv = read_round(write(tmp_path / "csv"), today=TODAY)
    path = save(tmp_path / "xlsx", workbook())
    assert read_round(path, today=TODAY).training_round == from_csv.training_round
    assert read_round(path.parent, today=TODAY).training_round == from_csv.training_round
    assert read_round(path, today=TODAY).contacts == from_csv.contacts


def test_settings_in_a_sheet(tmp_path: Path) -> None:
    path = save(tmp_path / "sheet", workbook(settings=True), None)
    expected = read_round(write(tmp_path / "csv"), today=TODAY).training_round.settings
    assert read_round(path, today=TODAY).training_round.settings == expected
    (path.parent / "round.toml").write_text(TOML)
    assert [f.code for f in findings_of(path)] == ["table-twice"]
    path = save(tmp_path / "bad", workbook({("round", "C4"): "2027-02-30"}, settings=True), None)
    assert [str(f) for f in findings_of(path)] == [
        "tables.xlsx, sheet round, row 4, column round.last_day, “2027-02-30”: is no date: February 2027 has 28 days — "
        "correct the day or the month"
    ]


def test_one_guard_of_a_cell_is_taken_off_once(tmp_path: Path) -> None:
    """A guarded table opened in a spreadsheet and saved as a workbook keeps its guards as text."""
    for cell, text in {"'=1": "=1", "''=1": "'=1", "=1": "=1", "'plain": "'plain"}.items():
        book = workbook(settings=True)
        for sheet, at in (("facilities", "B2"), ("round", "C2")):
            book[sheet][at].value = cell
            book[sheet][at].data_type = "s"
        r = read_round(save(tmp_path / "in", book, None), today=TODAY).training_round
        assert (r.facilities[0].name, r.settings.round.name) == (text, text)


def test_typed_cells(tmp_path: Path) -> None:
    """Whole floats, dates, datetimes at midnight, times and booleans are read as typed."""
    changes = {
        ("facilities", "F2"): 2.0,
        ("absences", "B2"): date(2027, 2, 1),
        ("absences", "C2"): datetime(2027, 2, 2),
        ("staff", "F2"): True,
        ("staff", "A2"): "RIV-sp1",
        ("crews", "F2"): 950.5,
        ("roads", "H1"): "open_from",
        ("roads", "I1"): "open_to",
        ("roads", "H3"): time(6, 30),
        ("roads", "I3"): "17:30",
    }
    r = read_round(save(tmp_path / "in", workbook(changes)), today=TODAY).training_round
    assert r.facilities[0].teams_wanted == 2
    assert (r.absences[0].first, r.absences[0].last) == (date(2027, 2, 1), date(2027, 2, 2))
    assert r.people[0].second_seat is True
    assert r.crews[0].price_per_km == 95050
    assert (r.roads[1].open_from, r.roads[1].open_to) == (6 * 3600 + 1800, 17 * 3600 + 1800)


def test_findings_name_sheet_and_row(tmp_path: Path) -> None:
    changes = {
        ("absences", "B2"): 46054,
        ("facilities", "F3"): 1.5,
        ("supplies", "E3"): "=1/0",
        ("crews", "C2"): "#N/A",
        ("Sheet1", "A1"): "left over",
    }
    found = [str(f) for f in findings_of(save(tmp_path / "in", workbook(changes)))]
    assert found == [
        "tables.xlsx, sheet Sheet1: there is no table of this name — remove the sheet, or see the guide for the tables",
        "tables.xlsx, sheet facilities, row 3, column teams_wanted, “1.5”: is not a whole number — "
        "enter a whole number, 0 to 99",
        "tables.xlsx, sheet absences, row 2, column from, “46054”: is a spreadsheet's number for a date — "
        "write 2026-02-01 if that is the date meant",
        "tables.xlsx, sheet crews, row 2, column C: holds a spreadsheet error such as #N/A — "
        "correct it or clear the cell",
        "tables.xlsx, sheet crews, row 2, column seats: seats is blank — "
        "fill it in: seats, the driver's included",
        "tables.xlsx, sheet supplies, row 3, column E: holds a formula that was never computed — "
        "open and save the workbook, or enter the value",
        "tables.xlsx, sheet supplies, row 3, column quantity: quantity is blank — "
        "fill it in: units for each of these",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"PK\x03\x04 not really", "is not an .xlsx workbook, or is damaged"),
        (b"name,code\n", "is not an .xlsx workbook, or is damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "is locked with a password or an old .xls workbook"),
    ],
)
def test_no_workbook(tmp_path: Path, data: bytes, words: str) -> None:
    path = write(tmp_path / "in", {}) / "tables.xlsx"
    for csv in path.parent.glob("*.csv"):
        csv.unlink()
    path.write_bytes(data)
    found = findings_of(path)
    assert found[0].words == words
    assert {f.code for f in found[1:]} == {"missing-table"}


def test_a_workbook_cut_short(tmp_path: Path) -> None:
    path = save(tmp_path / "in", workbook())
    whole = path.read_bytes()
    for share in (0.2, 0.5, 0.9, 0.99):
        path.write_bytes(whole[: int(len(whole) * share)])
        assert findings_of(path)[0].code == "broken-workbook"


def test_a_workbook_with_a_part_missing(tmp_path: Path) -> None:
    path = save(tmp_path / "in", workbook())
    for gone in ("xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/worksheets/sheet2.xml"):
        out = io.BytesIO()
        with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
            for name in old.namelist():
                if name != gone:
                    new.writestr(name, old.read(name))
        (tmp_path / "in" / "cut.xlsx").write_bytes(out.getvalue())
        assert findings_of(tmp_path / "in" / "cut.xlsx")[0].code in {"broken-workbook", "missing-table"}


def test_a_lone_cell_far_away_takes_no_memory(tmp_path: Path) -> None:
    path = save(tmp_path / "in", workbook({("staff", "XFD1048576"): "x"}))
    assert findings_of(path)[0].words == "sheet staff reaches to row 1048576, column 16384"


def test_csv_and_workbook_together_are_asked_about(tmp_path: Path) -> None:
    folder = save(write(tmp_path / "in"), workbook()).parent
    assert [f.code for f in findings_of(folder)] == ["table-twice"]


def test_settings_missing(tmp_path: Path) -> None:
    assert [str(f) for f in findings_of(save(tmp_path / "in", workbook(), None))] == [
        "round.toml: is missing — add it; roundplan new FOLDER writes one with every key explained"
    ]
