"""Twelve kinds of bad table, each by itself and all together: every finding listed, no plan, nothing else touched."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from command_runs import Run, run, tree
from rounds import day, tiny_round
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.person import Absence
from roundplan.intake import read_round, write_round
from roundplan.workflow import write_handouts

BAD = {
    "a facility that does not exist": (
        "staff.csv", "ALFA-P1,ALFA-P1,ALFA,", "ALFA-P1,ALFA-P1,ALFFA,",
        "staff.csv, row 2, column facility, “ALFFA”: there is no facility ALFFA — did you mean ALFA?",
    ),
    "a date that no calendar has": (
        "absences.csv", "2026-06-02", "31/04",
        "absences.csv, row 2, column to, “31/04”: is no date: April has 30 days",
    ),
    "a decimal comma": (
        "roads.csv", "BASE,BETA,75,1.5", 'BASE,BETA,75,"1,5"',
        "roads.csv, row 3, column hours, “1,5”: has a decimal comma — write 1.5",
    ),
    "one code twice": (
        "trainers.csv", "T2,T2,", "T1,T2,",
        "trainers.csv, row 3, column trainer, “T1”: the code T1 stands in row 2 too",
    ),
    "a latitude off the globe": (
        "places.csv", "BASE,Base,base; store,0,", "BASE,Base,base; store,95,",
        "places.csv, row 2, column latitude, “95”: is out of range — enter -90 to 90",
    ),
    "a role misspelt": (
        "staff.csv", "ALFA-N2,ALFA-N2,ALFA,anaesthetist", "ALFA-N2,ALFA-N2,ALFA,anesthetist",
        "staff.csv, row 7, column roles, “anesthetist”: “anesthetist” is no role — did you mean anaesthetist?",
    ),
    "a road to nowhere": (
        "roads.csv", "ALFA,BETA,", "ALFA,NOWHERE,",
        "roads.csv, row 4, column to, “NOWHERE”: there is no facility or place NOWHERE",
    ),
    "a blank where a value must stand": (
        "cases.csv", "C2,Case 2,on the stop word", "C2,Case 2,",
        "cases.csv, row 3, column stop_rule: stop_rule is blank",
    ),
    "a number below nought": (
        "crews.csv", "CREW,BASE,6,2000,", "CREW,BASE,6,-2000,",
        "crews.csv, row 2, column payload_kg, “-2000”: is out of range",
    ),
    "a number that is not whole": (
        "facilities.csv", "BETA,Beta,Midland,0.3,0.6,1,", "BETA,Beta,Midland,0.3,0.6,1.5,",
        "facilities.csv, row 3, column teams_wanted, “1.5”: is not a whole number",
    ),
    "a lock that speaks of nobody": (
        "locks.csv", "BETA,,2026-06-02", "BETTA,,2026-06-02",
        "locks.csv, row 2, column who, “BETTA”: there is no",
    ),
    "a setting that does not exist": (
        "round.toml", "reserve_slots = 1", "reserve_slot = 1",
        "session.reserve_slot: [session] has no key “reserve_slot” — did you mean reserve_slots?",
    ),
}  # fmt: skip
"""For each kind: the file, what stands there, what is put there, and how the finding begins."""


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with sound tables (``tables``) and an earlier output of another round (``OUT``)."""
    base = tmp_path_factory.mktemp("bad")
    leave = Absence(who="ALFA-P1", first=day(0), last=day(1), kind="leave")
    visit = Lock(do=Do.KEEP, kind=LockKind.VISIT, who="BETA", date=day(1))
    write_round(tiny_round(absences=(leave,), locks=(visit,)), base / "tables")
    write_round(hand_round(), base / "hand")
    write_handouts(hand_plan(), read_round(base / "hand"), base / "OUT")
    (base / "OUT" / "my notes.txt").write_text("kept", encoding="utf-8")
    return base


def spoil(folder: Path, kind: str) -> None:
    """Change one cell in a copy of the sound tables."""
    name, old, new, _ = BAD[kind]
    file = folder / name
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1, (kind, old)
    file.write_text(text.replace(old, new), encoding="utf-8")


def refused(sound: Path, folder: Path) -> Run:
    """Plan from spoilt tables into the folder of the earlier output, which must not change."""
    before = tree(sound)
    spoilt = tree(folder)
    ended = run("plan", folder, "--out", sound / "OUT", "--seconds", "5")
    assert (ended.code, ended.said) == (3, ""), ended.complained
    assert tree(sound) == before
    assert tree(folder) == spoilt
    assert sorted(path.name for path in sound.iterdir()) == ["OUT", "hand", "tables"]
    return ended


def findings(complained: str) -> list[str]:
    """Return the findings that a command listed, without the warnings after them."""
    lines = complained.splitlines()
    number = int(lines[0].split()[0])
    assert lines[0].endswith("; nothing was planned:")
    return [line.strip() for line in lines[1 : number + 1]]


def test_the_tables_are_sound_before_they_are_spoilt(sound: Path) -> None:
    assert run("check", sound / "tables").code == 0
    assert run("audit", sound / "OUT").code == 0


@pytest.mark.parametrize("kind", BAD)
def test_one_kind_of_bad_table(sound: Path, tmp_path: Path, kind: str) -> None:
    shutil.copytree(sound / "tables", tmp_path / "in")
    spoil(tmp_path / "in", kind)
    found = findings(refused(sound, tmp_path / "in").complained)
    assert len(found) == 1, found
    assert BAD[kind][3] in found[0]


def test_all_kinds_of_bad_tables_at_once(sound: Path, tmp_path: Path) -> None:
    shutil.copytree(sound / "tables", tmp_path / "in")
    for kind in BAD:
        spoil(tmp_path / "in", kind)
    found = findings(refused(sound, tmp_path / "in").complained)
    missing = [kind for kind, bad in BAD.items() if not any(bad[3] in line for line in found)]
    assert missing == []
    assert len(found) == len(BAD)
    checked = run("check", tmp_path / "in")
    assert (checked.code, checked.complained) == (3, "")
    assert checked.said.splitlines()[0] == f"{len(BAD)} findings; they stop planning:"
    assert [line.strip() for line in checked.said.splitlines()[1 : len(BAD) + 1]] == found


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("staff.csv", b"\xff\xfe\x00person"),
        ("staff.csv", b""),
        ("staff.csv", b'person,name,facility,roles\n"never closed'),
        ("round.toml", b"[round\nname = "),
        ("facilities.csv", None),
    ],
    ids=["no text", "empty", "a quotation mark never closed", "settings cut short", "a table missing"],
)
def test_a_file_that_cannot_be_read_as_a_table(sound: Path, tmp_path: Path, name: str, content: bytes | None) -> None:
    shutil.copytree(sound / "tables", tmp_path / "in")
    if content is None:
        (tmp_path / "in" / name).unlink()
    else:
        (tmp_path / "in" / name).write_bytes(content)
    found = findings(refused(sound, tmp_path / "in").complained)
    assert any(line.startswith(name.removesuffix(".csv")) for line in found), found
