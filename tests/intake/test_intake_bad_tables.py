"""Bad tables: each kind by itself with its exact words, then all at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from intake_small_inputs import SMALL, TODAY, csv_of, findings_of, spoilt, tables, write

from roundplan.intake import read_round

CELLS = [
    (("staff", 2, "facility", "RVI"), "unknown-code",
     "staff.csv, row 2, column facility, “RVI”: there is no facility RVI — did you mean RIV?"),
    (("absences", 2, "from", "31/04"), "bad-date",
     "absences.csv, row 2, column from, “31/04”: is no date: April has 30 days — "
     "write year-month-day, such as 2027-02-01"),
    (("absences", 2, "to", "2027-04-31"), "bad-date",
     "absences.csv, row 2, column to, “2027-04-31”: is no date: April has 30 days — correct the day or the month"),
    (("absences", 2, "to", "13/04/2027"), "bad-date",
     "absences.csv, row 2, column to, “13/04/2027”: is not written year-month-day — "
     "write 2027-04-13 for 13 April"),
    (("absences", 2, "to", "3/4/2027"), "bad-date",
     "absences.csv, row 2, column to, “3/4/2027”: is not written year-month-day — "
     "write 2027-04-03 for 3 April, or 2027-03-04 for 4 March"),
    # 46054 is 1 February 2026 in the 1900 date system of spreadsheets (40,179 is 1 January 2010: memory; counted on).
    (("absences", 2, "from", "46054"), "bad-date",
     "absences.csv, row 2, column from, “46054”: is a spreadsheet's number for a date — "
     "write 2026-02-01 if that is the date meant"),
    (("absences", 2, "from", "2027-02-01T10:30:00"), "bad-date",
     "absences.csv, row 2, column from, “2027-02-01T10:30:00”: is a date with a time of day — write 2027-02-01"),
    (("absences", 2, "to", "2027-01-31"), "ends-before-start",
     "absences.csv, row 2, column to, “2027-01-31”: to is before from — check both dates"),
    (("roads", 3, "km", "48,5"), "decimal-comma",
     "roads.csv, row 3, column km, “48,5”: has a decimal comma — write 48.5"),
    (("crews", 2, "payload_kg", "1,200.50"), "grouped-number",
     "crews.csv, row 2, column payload_kg, “1,200.50”: has its thousands grouped — write 1200.50"),
    (("crews", 2, "payload_kg", "1,200"), "grouped-number",
     "crews.csv, row 2, column payload_kg, “1,200”: has its thousands grouped — "
     "write 1200 (or 1.200, if the comma is a decimal comma)"),
    (("crews", 2, "price_per_km", "950.505"), "too-many-decimals",
     "crews.csv, row 2, column price_per_km, “950.505”: has more decimals than the currency — "
     "enter at most 2 decimals"),
    (("crews", 2, "price_per_km", "-0.01"), "out-of-range",
     "crews.csv, row 2, column price_per_km, “-0.01”: is out of range — enter an amount of 0 or more"),
    (("staff", 3, "person", "RIV-sp1"), "code-twice",
     "staff.csv, row 3, column person, “RIV-sp1”: the code RIV-sp1 stands in row 2 too — give each row its own code"),
    (("facilities", 2, "latitude", "95"), "out-of-range",
     "facilities.csv, row 2, column latitude, “95”: is out of range — enter -90 to 90"),
    (("staff", 2, "roles", "anesthetist"), "unknown-word",
     "staff.csv, row 2, column roles, “anesthetist”: “anesthetist” is no role — did you mean anaesthetist?"),
    (("staff", 2, "roles", "anaesthetist, scrub"), "comma-list",
     "staff.csv, row 2, column roles, “anaesthetist, scrub”: has parts separated by commas — "
     "separate them by semicolons: anaesthetist; scrub"),
    (("roads", 3, "to", "LAKE"), "unknown-code",
     "roads.csv, row 3, column to, “LAKE”: there is no facility or place LAKE — did you mean LAK?"),
    (("roads", 3, "to", "NOWHERE"), "unknown-code",
     "roads.csv, row 3, column to, “NOWHERE”: there is no facility or place NOWHERE — "
     "add NOWHERE to its table or correct the code"),
    (("supplies", 3, "quantity", "-1"), "out-of-range",
     "supplies.csv, row 3, column quantity, “-1”: is out of range — enter 0 to 1e+06"),
    (("supplies", 3, "wastage_percent", "100"), "out-of-range",
     "supplies.csv, row 3, column wastage_percent, “100”: is out of range — enter 0 to less than 100"),
    (("facilities", 2, "priority", "6"), "out-of-range",
     "facilities.csv, row 2, column priority, “6”: is out of range — enter 1 to 5"),
    (("staff", 2, "second_seat", "yess"), "unknown-word",
     "staff.csv, row 2, column second_seat, “yess”: is neither yes nor no — "
     "write yes or no, or leave it blank for no"),
    (("staff", 2, "works_days", "MO; Tue"), "bad-weekday",
     "staff.csv, row 2, column works_days, “MO; Tue”: “Tue” is not a weekday code — write TU"),
    (("facilities", 2, "closed_days", "2027-02-05/2027-02-01"), "ends-before-start",
     "facilities.csv, row 2, column closed_days, “2027-02-05/2027-02-01”: "
     "“2027-02-05/2027-02-01” ends before it starts — write the earlier date first"),
    (("staff", 2, "name", ""), "blank-required",
     "staff.csv, row 2, column name: name is blank — fill it in: name as colleagues know it"),
    (("facilities", 2, "teams_wanted", "2.5"), "not-whole",
     "facilities.csv, row 2, column teams_wanted, “2.5”: is not a whole number — enter a whole number, 0 to 99"),
    (("facilities", 2, "staff_counts", "anaesthetist two"), "bad-count",
     "facilities.csv, row 2, column staff_counts, “anaesthetist two”: “anaesthetist two” is not a role and a number "
     "up to 99 — write a role and how many, such as anaesthetist 2"),
    (("cases", 3, "extra_items", "box; skim"), "unknown-code",
     "cases.csv, row 3, column extra_items, “box; skim”: there is no item skim — did you mean skin?"),
    (("staff", 2, "person", "RIV/sp1"), "bad-code",
     "staff.csv, row 2, column person, “RIV/sp1”: has “/”, which a code cannot have — use letters, digits, - and _"),
    (("contacts", 2, "who", "managr"), "unknown-code",
     "contacts.csv, row 2, column who, “managr”: nobody in the tables is called so — did you mean manager?"),
    (("facilities", 2, "exposure_contact", "Ma\u202etron"), "bad-character",
     "facilities.csv, row 2, column exposure_contact, “Ma\\u202etron”: holds the character “\\u202e” "
     "that cannot be shown — type it anew"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "code", "words"), CELLS, ids=lambda value: "/".join(map(str, value))
                         if isinstance(value, tuple) else None)  # fmt: skip
def test_one_bad_cell(tmp_path: Path, cell: tuple[str, int, str, str], code: str, words: str) -> None:
    table, row, column, _ = cell
    everything = findings_of(write(tmp_path / "in", spoilt(*cell)))
    found = [f for f in everything if (f.file, f.row, f.column) == (f"{table}.csv", row, column)]
    assert [(f.code, str(f)) for f in found] == [(code, words)]


LOCKS = [
    ("visit", "T1", "T1 is a trainer, and a visit lock speaks of a facility — enter the code of a facility"),
    ("facility", "RIV-sp1", "RIV-sp1 is a person, and a facility lock speaks of a facility — "
     "enter the code of a facility"),
    ("seat", "T2", "T2 is a trainer, and a seat lock speaks of a person — enter the code of a person"),
    ("person", "RIV", "RIV is a facility, and a person lock speaks of a person or trainer — "
     "enter the code of a person or trainer"),
    ("visit", "RVI", "there is no facility RVI — did you mean RIV?"),
    ("seat", "Quentin", "there is no person Quentin — "
     "a seat lock speaks of a person: add Quentin to its table or correct the code"),
    ("visit", "", "a visit lock needs a who — fill in the code of a facility"),
    ("session", "RIV", "a session lock speaks of nobody — clear it; place, date and crew say which session"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "who", "words"), LOCKS)
def test_a_lock_says_whom_it_can_speak_of(tmp_path: Path, kind: str, who: str, words: str) -> None:
    content = tables()
    content["locks"] = [["do", "kind", "who", "place"], ["keep", kind, who, "LAK"]]
    (found,) = findings_of(write(tmp_path / "in", content))
    cell = f", “{who}”" if who else ""
    assert str(found) == f"locks.csv, row 2, column who{cell}: {words}"


@pytest.mark.parametrize(
    ("kind", "who"),
    [("seat", "RIV-sp1"), ("person", "T1"), ("person", "RIV-sp1"), ("visit", "RIV"), ("facility", "LAK")],
)
def test_a_lock_of_the_right_kind_is_sound(tmp_path: Path, kind: str, who: str) -> None:
    content = tables()
    content["locks"] = [["do", "kind", "who"], ["keep", kind, who]]
    assert findings_of(write(tmp_path / "in", content)) == ()


def test_the_small_tables_are_sound(tmp_path: Path) -> None:
    assert findings_of(write(tmp_path / "in")) == ()


def test_a_bad_cell_brings_no_second_finding(tmp_path: Path) -> None:
    found = findings_of(write(tmp_path / "in", spoilt("facilities", 2, "latitude", "12,5")))
    assert [f.code for f in found] == ["decimal-comma"]


def test_all_bad_cells_at_once(tmp_path: Path) -> None:
    """Every finding of the single edits is reported in one go, in the order of the tables."""
    picked = [
        (("facilities", 2, "latitude", "95"), "out-of-range"),
        (("facilities", 3, "priority", "6"), "out-of-range"),
        (("staff", 2, "facility", "RVI"), "unknown-code"),
        (("staff", 4, "roles", "anesthetist"), "unknown-word"),
        (("staff", 5, "person", "RIV-sa1"), "code-twice"),
        (("absences", 2, "from", "31/04"), "bad-date"),
        (("trainers", 2, "lives_at", "DEPO"), "unknown-code"),
        (("crews", 2, "price_per_km", "1,50"), "decimal-comma"),
        (("roads", 2, "to", "NOWHERE"), "unknown-code"),
        (("supplies", 2, "quantity", "-1"), "out-of-range"),
        (("supplies", 3, "wastage_percent", "100"), "out-of-range"),
        (("cases", 2, "stop_rule", ""), "blank-required"),
    ]
    content = tables()
    for (table, row, column, cell), _ in picked:
        if column not in content[table][0]:
            for number, cells in enumerate(content[table]):
                cells.append(column if number == 0 else "")
        content[table][row - 1][content[table][0].index(column)] = cell
    toml = (write(tmp_path / "in", content) / "round.toml").read_text().replace("first_day", "frist_day")
    (tmp_path / "in" / "round.toml").write_text(toml)
    (tmp_path / "in" / "stok.csv").write_text("item,place\n")
    found = findings_of(tmp_path / "in")
    seen = {(f.file.removesuffix(".csv"), f.row, f.column): f.code for f in found}
    for (table, row, column, _), code in picked:
        assert seen[(table, row, column)] == code
    assert seen[("round.toml", 3, "round.frist_day")] == "unknown-key"
    assert seen[("round.toml", None, "round.first_day")] == "blank-required"
    assert seen[("stok", None, "")] == "unknown-table"
    assert len(found) == len(picked) + 3
    order = list(dict.fromkeys(f.file for f in found))
    assert order == ["round.toml", "stok.csv", "facilities.csv", "staff.csv", "absences.csv", "trainers.csv",
                     "crews.csv", "roads.csv", "supplies.csv", "cases.csv"]  # fmt: skip


def test_missing_table_and_column(tmp_path: Path) -> None:
    content = tables()
    del content["staff"]
    content["crews"] = [[c for n, c in enumerate(row) if n != 2] for row in content["crews"]]
    found = findings_of(write(tmp_path / "in", content))
    assert str(found[0]) == (
        "staff: the table staff is missing: staff of the facilities: those who train and those who stay as cover — "
        "add staff.csv, or a sheet staff, with at least the columns person, name, facility, roles"
    )
    assert "crews.csv, row 1, column seats: the column seats is missing: seats, the driver's included — " in str(
        found[1]
    )
    assert {f.file for f in found} == {"staff", "crews.csv"}, "references to a missing table are not counted up"


def test_unknown_names_offer_the_nearest(tmp_path: Path) -> None:
    content = tables()
    content["facilities"][0][1] = "nmae"
    folder = write(tmp_path / "in", content)
    (folder / "road.csv").write_text("from,to\n")
    found = {f.code: str(f) for f in findings_of(folder)}
    assert found["unknown-column"] == (
        "facilities.csv, row 1, column nmae: there is no column “nmae” in facilities — did you mean name?"
    )
    assert found["unknown-table"] == "road.csv: there is no table of this name — did you mean roads?"


def test_a_heading_twice(tmp_path: Path) -> None:
    content = tables()
    content["roads"][0][3] = "km"
    found = findings_of(write(tmp_path / "in", content))
    assert [str(f) for f in found] == ["roads.csv, row 1, column km: the heading “km” stands 2 times — keep one"]


def test_ragged_rows(tmp_path: Path) -> None:
    content = tables()
    content["absences"] += [["RIV-sp2", "2027-02-01"], ["RIV-sp2", "2027-02-01", "2027-02-02", "leave", "extra"]]
    found = findings_of(write(tmp_path / "in", content))
    assert [str(f) for f in found] == [
        "absences.csv, row 3: the row has 2 cells, the heading 4 — add the missing commas",
        "absences.csv, row 3, column to: to is blank — fill it in: last date away, included",
        "absences.csv, row 4, “extra”: a cell stands under no heading — "
        "a cell that holds a comma needs quotation marks around it; else remove the cell",
    ]


def test_rows_count_as_a_spreadsheet_counts(tmp_path: Path) -> None:
    """Blank lines and line breaks inside a cell keep the row numbers right."""
    folder = write(tmp_path / "in")
    (folder / "absences.csv").write_text(
        'who,from,to,kind\n\nRIV-sp1,2027-02-01,2027-02-02,"sick\nat home"\nRIV-sp2,2027-02-01,soon,\n'
    )
    assert [(f.row, f.column, f.cell) for f in findings_of(folder)] == [(4, "to", "soon")]


def test_files_that_are_no_utf8_csv(tmp_path: Path) -> None:
    folder = write(tmp_path / "in")
    absences = csv_of([["who", "from", "to", "kind"], ["RIV-sp1", "2027-02-01", "2027-02-02", "congé"]])
    cases = {
        absences.encode("latin-1"): ("wrong-encoding", 2, "is not UTF-8: letters in this row cannot be read"),
        absences.encode("utf-16"): ("wrong-encoding", None, "is UTF-16, not UTF-8"),
        absences.replace("g", "\x00").encode(): ("nul-character", 2, "holds NUL characters, which no text file has"),
        absences.replace('","', ";").replace('"', "").encode(): (
            "wrong-separator", 1, "has its columns separated by semicolons, not by commas"),
        b'who,from,to,kind\nRIV-sp1,2027-02-01,2027-02-02,"leave\n': (
            "broken-csv", 2, "a quotation mark is not closed, or stands inside a cell"),
        b"": ("empty-table", None, "is empty"),
    }  # fmt: skip
    for data, expected in cases.items():
        (folder / "absences.csv").write_bytes(data)
        assert [(f.code, f.row, f.words) for f in findings_of(folder)] == [expected]


def test_a_byte_order_mark_is_taken_off(tmp_path: Path) -> None:
    folder = write(tmp_path / "in")
    (folder / "absences.csv").write_bytes(b"\xef\xbb\xbf" + csv_of(SMALL["absences"]).encode())
    assert findings_of(folder) == ()


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (["-12.63", "33.79"], None),
        (["33.79", "-12.63"], "latitude and longitude look swapped: the point lies"),
        (["12.63", "33.79"], "the latitude seems to have the wrong sign: the point lies"),
        (["-12.63", "-33.79"], "the longitude seems to have the wrong sign: the point lies"),
        (["-12.63", "3.379"], "the point lies"),
    ],
)
def test_coordinates(tmp_path: Path, row: list[str], words: str | None) -> None:
    content = tables()
    content["facilities"][1][3:5] = row
    found = findings_of(write(tmp_path / "in", content))
    assert [f.words.startswith(words or "?") and f.row == 2 for f in found] == ([True] if words else [])


def test_a_far_site_that_could_be_true_is_a_warning(tmp_path: Path) -> None:
    content = tables()
    content["places"][1][3:5] = ["-16.9", "33.80"]
    reading = read_round(write(tmp_path / "in", content), today=TODAY)
    assert [(w.code, w.row) for w in reading.warnings if w.file == "places.csv"] == [("far-outside", 2)]


def test_a_road_row_repeated_adds_a_closure(tmp_path: Path) -> None:
    content = tables()
    content["roads"].append(["RIV", "LAK", "", "", "", "2027-02-05", "2027-02-05"])
    road = read_round(write(tmp_path / "in", content), today=TODAY).training_round.roads[1]
    assert (road.km, len(road.closures)) == (48.5, 2)
    content["roads"].append(["RIV", "LAK", "50", "", "", "", ""])
    found = findings_of(write(tmp_path / "in", content))
    assert [(f.row, f.column, f.code) for f in found] == [(5, "from", "road-twice"), (5, "km", "contradiction")]


def test_no_inputs_at_all(tmp_path: Path) -> None:
    assert [str(f) for f in findings_of(tmp_path / "absent")] == [
        "absent: does not exist — check the path, or make the tables with: roundplan new FOLDER"
    ]
    (tmp_path / "empty").mkdir()
    assert findings_of(tmp_path / "empty")[0].words == "holds neither CSV files nor an .xlsx workbook"
    (tmp_path / "note.txt").write_text("x")
    assert findings_of(tmp_path / "note.txt")[0].words == "is neither a folder nor an .xlsx workbook"
