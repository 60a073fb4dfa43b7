"""A small invented round as text tables, to be spoilt one cell at a time."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from roundplan.intake import Finding, FindingsError, read_round

TODAY = date(2027, 1, 4)
Tables = dict[str, list[list[str]]]

SMALL: Tables = {
    "facilities": [
        [
            "facility",
            "name",
            "district",
            "latitude",
            "longitude",
            "teams_wanted",
            "usual_team",
            "stations",
            "session_room",
            "exposure_contact",
            "languages",
        ],
        [
            "RIV",
            "Riverside Hospital",
            "Riverside",
            "-12.63",
            "33.79",
            "2",
            "surgical provider; surgical assistant; anaesthetist",
            "1",
            "spare room",
            "Matron",
            "en",
        ],
        [
            "LAK",
            "Lakeside Hospital",
            "Lake",
            "-12.37",
            "33.67",
            "1",
            "surgical provider; surgical assistant; anaesthetist",
            "",
            "",
            "",
            "en",
        ],
        [
            "HIL",
            "Hilltop Health Centre",
            "Lake",
            "-12.49",
            "34.05",
            "0",
            "surgical provider; surgical assistant; anaesthetist",
            "",
            "",
            "",
            "",
        ],
    ],
    "staff": [
        ["person", "name", "facility", "roles", "works_days", "second_seat"],
        *(
            [f"{home}-{short}{number}", f"Person {home} {short} {number}", home, role, "", ""]
            for home in ("RIV", "LAK")
            for short, role in (("sp", "surgical provider"), ("sa", "surgical assistant"), ("a", "anaesthetist"))
            for number in (1, 2)
        ),
    ],
    "absences": [["who", "from", "to", "kind"], ["RIV-sp1", "2027-02-01", "2027-02-02", "leave"]],
    "duties": [["person", "date", "shift"], ["RIV-a1", "2027-02-05", "off"]],
    "trainers": [
        ["trainer", "name", "lives_at", "leads", "languages", "available_from"],
        ["T1", "First Trainer", "DEPOT", "director; surgery", "en", ""],
        ["T2", "Second Trainer", "DEPOT", "anaesthesia", "en", "2027-02-01"],
    ],
    "places": [
        ["place", "name", "kind", "latitude", "longitude"],
        ["DEPOT", "Training store", "base; store", "-12.64", "33.80"],
    ],
    "crews": [
        ["crew", "base", "seats", "payload_kg", "box_models", "price_per_km"],
        ["NORTH", "DEPOT", "7", "900", "2", "950.50"],
    ],
    "roads": [
        ["from", "to", "km", "hours", "surface", "closed_from", "closed_to"],
        ["RIV", "DEPOT", "2", "", "paved", "", ""],
        ["RIV", "LAK", "48.5", "1.25", "", "2027-02-03", "2027-02-04"],
    ],
    "supplies": [
        ["item", "name", "kind", "per", "quantity", "unit", "wastage_percent", "pack_price"],
        ["box", "Box model", "reusable", "station", "1", "piece", "", ""],
        ["skin", "Skin layer", "consumable", "wall", "1", "piece", "10", "1200"],
    ],
    "cases": [
        ["case", "name", "stop_rule", "roles", "extra_items", "approved_by", "approved_on"],
        ["one", "Case one", "when the baby is out", "", "", "Clinical lead", "2026-11-27"],
        ["two", "Case two", "when the baby is out", "", "skin", "Clinical lead", "2026-11-27"],
    ],
    "contacts": [["who", "phone", "email"], ["manager", "+265 000 000 101", "round@training.example"]],
}

TOML = """\
[round]
name = "Small round"
first_day = 2027-02-01
last_day = 2027-02-05
time_zone = "Africa/Lusaka"
country = "ZM"
currency = "ZMW"

[prices]
participant_day = 150
participant_night = 450
trainer_day = 350
trainer_night = 600
driver_day = 150
driver_night = 400
fare_per_km = 1.80
lunch = 65
venue_day = 400
lodging = "none"
printing = 12
"""


def tables() -> Tables:
    """Return a copy to spoil."""
    return copy.deepcopy(SMALL)


def spoilt(table: str, row: int, column: str, cell: str) -> Tables:
    """Return the small tables with one cell changed; rows count from the heading as 1; a column is added if new."""
    changed = tables()
    heading = changed[table][0]
    if column not in heading:
        for number, cells in enumerate(changed[table]):
            cells.append(column if number == 0 else "")
    changed[table][row - 1][heading.index(column)] = cell
    return changed


def csv_of(rows: Iterable[Iterable[str]]) -> str:
    """Write rows as CSV with every cell in quotation marks."""
    return "".join(",".join('"' + cell.replace('"', '""') + '"' for cell in row) + "\r\n" for row in rows)


def write(folder: Path, content: Tables | None = None, toml: str = TOML) -> Path:
    """Write a folder of inputs."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in (content or SMALL).items():
        (folder / f"{name}.csv").write_text(csv_of(rows), encoding="utf-8", newline="")
    (folder / "round.toml").write_text(toml, encoding="utf-8")
    return folder


def findings_of(path: Path) -> tuple[Finding, ...]:
    """Read and return the findings; none where the inputs are sound."""
    try:
        read_round(path, today=TODAY)
    except FindingsError as error:
        return error.findings or (Finding(code="none", words="an error without findings"),)
    return ()
