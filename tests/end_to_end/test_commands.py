"""The commands in a row, as a manager runs them, and every way in which they end."""

from __future__ import annotations

import importlib.resources
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import openpyxl
import pytest
from command_runs import DEMO, run, tree
from rounds import day, tiny_round

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.file_names import slug
from roundplan.handouts.folder import SESSION_SHEETS
from roundplan.intake import read_round, round_to_tables, write_round

FILES = {
    "plan.json", "report.html", "summary.html", "round.xlsx", "map.html", "supplies.xlsx", "labels.html",
    "record.sqlite", "closing.xlsx",
}  # fmt: skip
"""Files at the top of an output folder, as the list of outputs names them."""
PAPERS = (
    ("facilities", "html"), ("facilities", "ics"), ("letters", "html"),
    ("slips", "html"), ("slips", "xlsx"), ("slips", "txt"),
)  # fmt: skip
"""Folders and endings of what a facility that sends a team gets."""
SETTINGS = {
    "name": '"Tiny"', "first_day": "2026-06-01", "last_day": "2026-06-04", "time_zone": '"UTC"', "currency": '"XTS"',
    "participant_day": "3", "participant_night": "4", "trainer_day": "10", "trainer_night": "5", "driver_day": "2",
    "driver_night": "3", "fare_per_km": "1", "lunch": "1", "venue_day": "20", "lodging": "6", "printing": "1",
    "# plan_date": "2026-04-01", "# announce_on": "2026-04-01", "# opening": "20", "# brief": "5", "# simulate": "10",
    "# debrief": "15", "# reset": "10", "# lunch": "30", "# closing": "10",
}  # fmt: skip
"""What is written into the round.toml of ``new`` to make it that of the tiny round."""


def fill_in(folder: Path, training_round: TrainingRound) -> None:
    """Write a round's tables into what ``new`` made, under the headings that stand there, and the settings."""
    book = openpyxl.load_workbook(folder / "round_tables.xlsx")
    for name, rows in round_to_tables(training_round).items():
        sheet = book[name]
        headings = [cell.value for cell in sheet[1]]
        sheet.delete_rows(2, sheet.max_row)
        for number, row in enumerate(rows, start=2):
            for heading, text in row.items():
                sheet.cell(number, headings.index(heading) + 1).value = text or None
    book.save(folder / "round_tables.xlsx")
    toml = (folder / "round.toml").read_text(encoding="utf-8")
    for key, value in SETTINGS.items():
        toml, times = re.subn(f"^{key} = .*$", f"{key.removeprefix('# ')} = {value}", toml, flags=re.M)
        assert times == 1, key
    (folder / "round.toml").write_text(toml, encoding="utf-8")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the tables that were filled in (``round``) and the plan made from them (``OUT``)."""
    base = tmp_path_factory.mktemp("commands")
    made = run("new", "round", cwd=base)
    assert made.code == 0, made.complained
    blank = run("check", "round", cwd=base)
    assert (blank.code, "round's name is missing" in blank.said) == (3, True), "blank tables cannot be planned with"
    fill_in(base / "round", tiny_round())
    checked = run("check", "round", cwd=base)
    assert (checked.code, checked.said.splitlines()[-1]) == (0, "No findings: the inputs can be planned with.")
    planned = run("plan", "round", "--out", "OUT", "--seconds", "10", "--workers", "1", cwd=base)
    assert planned.code == 0, planned.complained
    assert planned.said.splitlines()[0] == "2 teams from 2 of 2 facilities."
    assert planned.said.splitlines()[-1] == "The audit found every rule kept. Draft, version 1, written to OUT"
    return base


def test_every_file_of_the_list_of_outputs_is_there(written: Path) -> None:
    out = written / "OUT"
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    trainers = {aboard["trainer"] for trip in plan["trips"] for day in trip["days"] for aboard in day["aboard"]}
    crews = {trip["crew"] for trip in plan["trips"]}
    assert trainers
    expected = FILES | {
        "districts/Midland.xlsx", "districts/Midland.html",
        *(f"{folder}/{code}.{ending}" for folder, ending in PAPERS for code in ("ALFA", "BETA")),
        *(f"trainers/{slug(code)}.{ending}" for code in trainers for ending in ("html", "ics", "pdf")),
        *(f"crews/{slug(code)}.{ending}" for code in crews for ending in ("html", "gpx", "txt", "pdf")),
        *(f"sessions/{session['code']}-{sheet}.html" for session in plan["sessions"] for sheet in SESSION_SHEETS),
        *(f"sessions/{session['code']}-attendance.xlsx" for session in plan["sessions"]),
    }  # fmt: skip
    names = set(tree(out))
    assert {name for name in names if not name.startswith("inputs/")} == expected
    assert {"inputs/round.toml", "inputs/facilities.csv", "inputs/staff.csv"} <= names
    assert all(path.stat().st_size > 0 for path in out.rglob("*") if path.is_file())


def test_plan_json_fits_the_schema_in_the_package(written: Path) -> None:
    schema = json.loads((importlib.resources.files("roundplan.handouts") / "plan.schema.json").read_text("utf-8"))
    plan = json.loads((written / "OUT" / "plan.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(plan)
    del plan["teams"][0]["facility"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(plan)


def test_the_snapshot_reads_as_the_round_that_was_planned(written: Path) -> None:
    planned_from = read_round(written / "round").training_round
    assert read_round(written / "OUT" / "inputs").training_round == planned_from
    plain = tiny_round()
    assert planned_from.facilities == plain.facilities
    assert planned_from.people == plain.people


def test_audit_agrees_and_changes_nothing(written: Path) -> None:
    before = tree(written)
    audited = run("audit", "OUT", cwd=written)
    assert (audited.code, audited.said, audited.complained) == (0, "Every rule is kept.\n", "")
    assert tree(written) == before


def test_the_output_folder_can_be_moved(written: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").symlink_to(written / "OUT", target_is_directory=True)
    assert run("audit", tmp_path / "elsewhere").code == 0


def corrupted(plan: dict[str, Any], what: str) -> None:
    """Spoil a plan in one place."""
    if what == "seat":
        seats = plan["teams"][0]["seats"]
        seats[0]["person"], seats[2]["person"] = seats[2]["person"], seats[0]["person"]
    elif what == "cover":
        plan["cover"] = plan["cover"][1:]
    else:
        plan["costs"][0]["amount"] += 1


@pytest.mark.parametrize(
    ("what", "rule"), [("seat", "seat-authorised"), ("cover", "cover-kept"), ("cost", "figures")]
)  # fmt: skip
def test_exit_6_audit_finds_what_was_changed_in_the_plan(written: Path, tmp_path: Path, what: str, rule: str) -> None:
    out = tmp_path / "OUT"
    out.mkdir()
    (out / "inputs").symlink_to(written / "OUT" / "inputs", target_is_directory=True)
    plan = json.loads((written / "OUT" / "plan.json").read_text(encoding="utf-8"))
    corrupted(plan, what)
    (out / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    audited = run("audit", out)
    assert audited.code == 6
    assert any(line.startswith(f"{rule}: ") for line in audited.said.splitlines()), audited.said
    assert "Every rule is kept." not in audited.said


def test_exit_2_wrong_usage_leaves_the_output_alone(written: Path) -> None:
    before = tree(written)
    for arguments in (
        ("plan", "round"),
        ("plan", "round", "--out", "OUT", "--seconds", "0"),
        ("plan", "nowhere", "--out", "OUT"),
        ("plan", "round", "--out", "round"),
        ("audit", "round"),
        ("paln", "round"),
    ):
        ended = run(*arguments, cwd=written)
        assert (ended.code, ended.said) == (2, ""), arguments
        assert ended.complained, arguments
    assert tree(written) == before


CONTRADICTION = (
    Lock(do=Do.KEEP, kind=LockKind.VISIT, who="BETA", date=day(1), why="agreed"),
    Lock(do=Do.FORBID, kind=LockKind.FACILITY, who="BETA", why="strike"),
)


def test_exit_4_two_locks_that_contradict_each_other(written: Path, tmp_path: Path) -> None:
    """The reasons name these two and nothing else: a third lock, which harms nobody, is not among them."""
    harmless = Lock(do=Do.KEEP, kind=LockKind.FACILITY, who="ALFA", why="harmless")
    write_round(tiny_round(locks=(harmless, *CONTRADICTION)), tmp_path / "locked")
    before = tree(written)
    ended = run("plan", tmp_path / "locked", "--out", written / "OUT", "--seconds", "10")
    assert (ended.code, ended.said) == (4, "")
    head, *reasons = ended.complained[ended.complained.index("No plan exists") :].splitlines()
    assert head == "No plan exists under the rules. Together these leave no way; change any one of them:"
    assert len(reasons) == len(CONTRADICTION)
    for lock, reason in zip(CONTRADICTION, reasons, strict=True):
        assert reason.startswith("  BETA: ")
        assert lock.why in reason
        assert reason.endswith("(locks)")
    assert tree(written) == before


def test_either_lock_alone_can_be_planned_with(tmp_path: Path) -> None:
    """So that the contradiction above is one: each lock by itself gives a plan that follows it."""
    for number, lock in enumerate(CONTRADICTION):
        write_round(tiny_round(locks=(lock,)), tmp_path / f"in{number}")
        ended = run("plan", tmp_path / f"in{number}", "--out", tmp_path / f"out{number}", "--seconds", "10")
        assert ended.code == 0, ended.complained
        plan = json.loads((tmp_path / f"out{number}" / "plan.json").read_text(encoding="utf-8"))
        beta = [team["dates"] for team in plan["teams"] if team["facility"] == "BETA"]
        assert beta == ([["2026-06-02"]] if lock.do is Do.KEEP else [])


def test_exit_4_no_team_is_possible_at_all(tmp_path: Path) -> None:
    """One person a role at both facilities: whoever goes leaves nobody to cover."""
    people = tuple(person for person in tiny_round().people if person.code.endswith("1"))
    assert len(people) == 6
    write_round(tiny_round(people=people), tmp_path / "in")
    ended = run("plan", tmp_path / "in", "--out", tmp_path / "OUT", "--seconds", "10")
    assert (ended.code, ended.said) == (4, "")
    for code in ("ALFA", "BETA"):
        assert any(line.strip().startswith(f"{code}: ") for line in ended.complained.splitlines()), ended.complained
    assert not (tmp_path / "OUT").exists()


def test_exit_5_no_time_to_find_a_team(tmp_path: Path) -> None:
    """The demo's one model takes longer to build than a second; nothing is found and nothing is proven."""
    given = ("--seconds", "1", "--workers", "1", "--search", "integrated")
    ended = run("plan", DEMO, "--out", tmp_path / "OUT", *given)
    assert (ended.code, ended.said) == (5, ""), ended.complained
    assert "Time ran out: no team was found in 1 second, and none is proven impossible." in ended.complained
    assert not (tmp_path / "OUT").exists()
