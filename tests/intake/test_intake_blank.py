"""What ``new`` writes: filled in, it passes; forms come back; guidance stays out of the data."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import openpyxl
from intake_small_inputs import SMALL, TODAY, findings_of, spoilt, write

from roundplan.domain.settings import setting_rows
from roundplan.intake import read_round
from roundplan.intake.blank import write_blank
from roundplan.intake.cleaning import forbidden_character
from roundplan.intake.columns import BY_NAME, TABLES
from roundplan.intake.shipped_cases import SHIPPED_CASES

VALUES = {
    "name": '"Small round"', "first_day": "2027-02-01", "last_day": "2027-02-05", "time_zone": '"Africa/Lusaka"',
    "country": '"ZM"', "currency": '"ZMW"', "participant_day": "150", "participant_night": "450", "trainer_day": "350",
    "trainer_night": "600", "driver_day": "150", "driver_night": "400", "fare_per_km": "1.80", "lunch": "65",
    "venue_day": "400", "lodging": '"none"', "printing": "12",
}  # fmt: skip


def fill_in(folder: Path, *, without: frozenset[str] = frozenset()) -> None:
    """Fill in the workbook and round.toml as a user would, cases left as shipped."""
    book = openpyxl.load_workbook(folder / "round_tables.xlsx")
    for name, rows in SMALL.items():
        if name in {"cases", *without}:
            continue
        sheet = book[name]
        headings = [cell.value for cell in sheet[1]]
        for number, row in enumerate(rows[1:], start=2):
            for heading, text in zip(rows[0], row, strict=True):
                if text:
                    number_like = BY_NAME[name].column(heading).kind.form == "number"
                    sheet.cell(number, headings.index(heading) + 1).value = float(text) if number_like else text
    book.save(folder / "round_tables.xlsx")
    toml = (folder / "round.toml").read_text(encoding="utf-8")
    for key, value in VALUES.items():
        toml, times = re.subn(rf'^{key} = ""$', lambda _, k=key, v=value: f"{k} = {v}", toml, flags=re.M)
        assert times == 1, key
    (folder / "round.toml").write_text(toml, encoding="utf-8")


def test_what_new_writes_passes_when_filled_in(tmp_path: Path) -> None:
    written = write_blank(tmp_path)
    assert [path.name for path in written] == ["round_tables.xlsx", "round.toml"]
    fill_in(tmp_path)
    reading = read_round(tmp_path, today=TODAY)
    expected = read_round(write(tmp_path / "csv"), today=TODAY).training_round
    assert reading.training_round.replace(cases=expected.cases) == expected
    assert [case.code for case in reading.training_round.cases] == [case["case"] for case in SHIPPED_CASES]
    assert [w.row for w in reading.warnings if w.code == "not-approved"] == [2, 3, 4, 5]


def test_unfilled_tables_say_what_is_missing(tmp_path: Path) -> None:
    write_blank(tmp_path)
    assert [str(f) for f in findings_of(tmp_path)] == [
        "round.toml, line 8, round.name: the round's name is missing — fill in name in the section [round]",
        "round.toml, line 10, round.first_day: the round's first_day is missing — "
        "fill in first_day in the section [round]",
        "round.toml, line 12, round.last_day: the round's last_day is missing — "
        "fill in last_day in the section [round]",
        "facilities: has no rows — enter the facilities",
    ]


def test_files_that_are_there_stay(tmp_path: Path) -> None:
    write_blank(tmp_path)
    fill_in(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert write_blank(tmp_path) == ()
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    folder = write(tmp_path / "csv")
    assert write_blank(folder) == (), "CSV tables need no workbook"


def test_the_workbook(tmp_path: Path) -> None:
    write_blank(tmp_path)
    book = openpyxl.load_workbook(tmp_path / "round_tables.xlsx")
    assert book.sheetnames == [*(table.name for table in TABLES), "guide"]
    for table in TABLES:
        sheet = book[table.name]
        assert [cell.value for cell in sheet[1]] == [column.name for column in table.columns]
        assert sheet.max_row == (5 if table.name == "cases" else 1)
        for cell, column in zip(sheet[1], table.columns, strict=True):
            assert column.meaning in cell.comment.text
            assert column.example in cell.comment.text
    staff = {str(rule.sqref).split(":")[0]: rule for rule in book["staff"].data_validations.dataValidation}
    assert staff["I2"].formula1 == '"must,may,no"'
    assert staff["C2"].formula1 == "facilities!$A$2:$A$2000"
    guide = [tuple(cell.value or "" for cell in row) for row in book["guide"]]
    for table in TABLES:
        for column in table.columns:
            assert (table.name, column.name, column.meaning) in [row[:3] for row in guide]
    for row in setting_rows():
        assert (row.section, row.key, row.meaning) in [line[:3] for line in guide]


def test_every_example_can_be_read() -> None:
    for table in TABLES:
        for column in table.columns:
            value = column.kind.read(column.example, 2)
            assert column.kind.read(column.kind.write(value, 2), 2) == value
    assert all(forbidden_character(text) is None for case in SHIPPED_CASES for text in case.values())


def test_round_toml_names_every_key_with_its_default(tmp_path: Path) -> None:
    """Taking the comment signs away gives a file with the very defaults."""
    write_blank(tmp_path)
    text = (tmp_path / "round.toml").read_text(encoding="utf-8")
    bare = re.sub(r"^# (\w+ = )", r"\1", text, flags=re.M)
    keys = {(section, key) for section, group in tomllib.loads(bare).items() for key in group}
    assert keys == {(row.section, row.key) for row in setting_rows()}
    fill_in(tmp_path)
    plain = read_round(tmp_path, today=TODAY).training_round.settings
    filled = (tmp_path / "round.toml").read_text(encoding="utf-8")
    (tmp_path / "round.toml").write_text(re.sub(r"^# (\w+ = )", r"\1", filled, flags=re.M), encoding="utf-8")
    assert read_round(tmp_path, today=TODAY).training_round.settings == plain


def fill_form(path: Path, rows: list[list[str]]) -> None:
    """Write names and roles beside the codes that the form offers."""
    book = openpyxl.load_workbook(path)
    headings = [cell.value for cell in book["staff"][1]]
    for number, (name, roles) in enumerate(rows, start=2):
        book["staff"].cell(number, headings.index("name") + 1).value = name
        book["staff"].cell(number, headings.index("roles") + 1).value = roles
    book["absences"].append([book["staff"]["A2"].value, "2027-02-01", "2027-02-02", "leave"])
    book.save(path)


def test_forms_come_back(tmp_path: Path) -> None:
    write_blank(tmp_path)
    fill_in(tmp_path)
    written = write_blank(tmp_path, forms=True)
    assert [path.relative_to(tmp_path).as_posix() for path in written] == [
        "forms/RIV.xlsx", "forms/LAK.xlsx", "forms/HIL.xlsx"]  # fmt: skip
    fill_form(tmp_path / "forms" / "HIL.xlsx", [["Ada", "anaesthetist"], ["Ben", "surgical provider; scrub"]])
    r = read_round(tmp_path, today=TODAY).training_round
    assert [(p.code, p.name, p.facility) for p in r.staff_of("HIL")] == [
        ("HIL-01", "Ada", "HIL"), ("HIL-02", "Ben", "HIL")]  # fmt: skip
    assert [a.who for a in r.absences] == ["RIV-sp1", "HIL-01"]
    fill_form(tmp_path / "forms" / "LAK.xlsx", [["Cy", "anesthetist"]])
    assert [str(f) for f in findings_of(tmp_path)] == [
        "forms/LAK.xlsx, sheet staff, row 2, column roles, “anesthetist”: “anesthetist” is no role — "
        "did you mean anaesthetist?"
    ]
    assert write_blank(tmp_path, forms=True) == (), "forms that are there stay"


def test_forms_beside_csv_tables_and_staff_only_in_forms(tmp_path: Path) -> None:
    folder = write(tmp_path / "in", {k: v for k, v in SMALL.items() if k not in ("staff", "absences", "duties")})
    write_blank(folder, forms=True)
    for code in ("RIV", "LAK"):
        fill_form(folder / "forms" / f"{code}.xlsx", [["Ada", "anaesthetist"], ["Ben", "surgical provider"]])
    assert findings_of(folder) == ()


def test_a_form_from_nowhere(tmp_path: Path) -> None:
    folder = write(tmp_path / "in")
    write_blank(folder, forms=True)
    path = folder / "forms" / "LAK.xlsx"
    book = openpyxl.load_workbook(path)
    book["form"]["B1"] = "LAKE"
    book.save(path)
    assert [str(f) for f in findings_of(folder)] == [
        "forms/LAK.xlsx, sheet form, row 1, “LAKE”: the form is from a facility that is not in the table facilities — "
        "did you mean LAK?"
    ]


def test_a_form_to_copy_where_no_facility_is_known_yet(tmp_path: Path) -> None:
    names = [path.name for path in write_blank(tmp_path, forms=True)]
    assert names == ["round_tables.xlsx", "round.toml", "blank_form.xlsx"]


def test_a_code_that_begins_with_an_apostrophe_comes_back_from_its_form(tmp_path: Path) -> None:
    folder = write(tmp_path, spoilt("facilities", 4, "facility", "''=hill"))
    path = next(path for path in write_blank(folder, forms=True) if "hill" in path.name)
    book = openpyxl.load_workbook(path)
    assert book["form"]["B1"].value == "''=hill"
    assert book["form"]["B1"].quotePrefix, "editing the cell would take the apostrophe off"
    fill_form(path, [["Ada", "anaesthetist"]])
    people = [p for p in read_round(folder, today=TODAY).training_round.people if p.name == "Ada"]
    assert [(p.code, p.facility) for p in people] == [("'=hill-01", "'=hill")]


def test_hostile_codes_and_names_stay_text_in_forms(tmp_path: Path) -> None:
    content = {name: [list(row) for row in rows] for name, rows in SMALL.items()}
    content["facilities"][3][:2] = ["=1+1", "=HYPERLINK(1)"]
    folder = write(tmp_path / "in", content)
    written = write_blank(folder, forms=True)
    book = openpyxl.load_workbook(written[-1])
    assert (book["form"]["B1"].value, book["form"]["B1"].data_type) == ("=1+1", "s")
    assert (book["form"]["B2"].data_type, book["staff"]["A2"].data_type) == ("s", "s")
    assert written[-1].name == "%3d1%2b1.xlsx"
