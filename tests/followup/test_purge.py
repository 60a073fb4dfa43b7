"""Personal data removed: really gone from the file, counts and plan kept, not before the final report nor the date."""

from __future__ import annotations

import json
import shutil
import zlib
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import openpyxl
import pytest
import told_rounds
from held_rounds import AFTER, ALL_CAME, HALL_CAME, Form, close, with_cells
from test_record import ended, forks, is_whole, killed_at_moments, start
from worked_rounds.hand_plan import hand_round

from roundplan import cli, workflow
from roundplan.closing.figures import Figures
from roundplan.domain.outcome import WrongPlace
from roundplan.followup.clock import held_at
from roundplan.followup.record import opened

Fill = Callable[..., Path]

REMARKS: Form = {
    "Held": {(5, "remark"): "rained, quoth Nyambura"},
    "Actions and incidents": {(5, "what"): "Put a clock up in maternity", (5, "owner"): "Sister Achieng"},
}
SECRETS = (
    "Name of",
    "GAMA-P1",
    "Trainer One",
    "+000 111 222",
    "Sister Achieng",
    "Nyambura",
    "maternity",
    "Anna",
    "Otieno",
)


@pytest.fixture
def closed(announced: Path, form: Fill, filled: Fill) -> Path:
    """A closed round with replies, remarks, and a phone number that is the manager's."""
    told_rounds.take(announced, filled({**told_rounds.ALL_WELL, ("Who goes", "U6"): "ask Otieno"}))
    done = close(announced, form(with_cells(ALL_CAME, REMARKS)), form(HALL_CAME, "S2"), final=True)
    assert done.ended
    return announced


def everything(folder: Path) -> bytes:
    """Return what lies in a folder, the parts of workbooks and of the record unpacked, as one text."""
    found = []
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        found += [str(path.relative_to(folder)).encode(), path.read_bytes()]
        if path.suffix == ".xlsx":
            cells = (str(c) for sheet in openpyxl.load_workbook(path) for row in sheet.values for c in row if c)
            found.append("\n".join(cells).encode())
    with opened(folder) as record:
        for table, column in (("versions", "plan"), ("input_files", "content")):
            found += [zlib.decompress(row[0]) for row in record.execute(f"SELECT {column} FROM {table}")]
    return b"\n".join(found)


def test_nothing_of_it_is_left_anywhere(closed: Path) -> None:
    before = everything(closed)
    assert [secret for secret in SECRETS if secret.encode() not in before] == []
    shutil.move(closed / "next", closed.with_name("next"))  # as the manager is told to
    with held_at(AFTER):
        assert workflow.purge(closed, who="Anna")
    after = everything(closed)
    assert [secret for secret in SECRETS if secret.encode() in after] == []
    raw = b"".join(path.read_bytes() for path in closed.glob("record*"))
    assert [secret for secret in SECRETS if secret.encode() in raw] == []
    assert [path.name for path in closed.glob("record*")] == ["record.sqlite"]
    people = [person.code for person in hand_round().people]
    assert [code for code in people if code.encode() in after] == []
    assert (closed / "record.sqlite").stat().st_mode & 0o077 == 0
    assert not list(closed.parent.glob(".OUT*"))


def test_what_stays_is_whole_and_can_be_audited(closed: Path) -> None:
    report = (closed / "closing" / "report.html").read_bytes()
    with opened(closed) as record:
        digests = [row[0] for row in record.execute("SELECT digest FROM versions ORDER BY id")]
    with held_at(AFTER):
        workflow.purge(closed, who="Anna")
    assert (closed / "closing" / "report.html").read_bytes() == report
    assert workflow.audit_folder(closed) == ()
    plan = json.loads((closed / "plan.json").read_bytes())
    seats = [seat["person"] for team in plan["teams"] for seat in team["seats"]]
    assert sorted(seats) == sorted(f"{code.partition('-')[0]}-{code[-2:]}" for code in seats)
    assert len(seats) == 10
    is_whole(closed)
    with opened(closed) as record:
        assert [row[0] for row in record.execute("SELECT digest FROM versions ORDER BY id")] == digests
        for table in ("contacts", "answers", "set_aside", "held"):
            assert record.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == 0
        (figures,) = record.execute("SELECT figures FROM closings").fetchone()
        roles = {row.name: row.trained for row in Figures.from_plain(json.loads(figures)).roles}
        assert roles == {"surgical provider": 3, "surgical assistant": 3, "anaesthetist": 3, "newborn care": 1}
        guards = {row[0] for row in record.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    assert {"versions_stay", "changes_last", "held_stay", "closings_last"} <= guards
    told = workflow.tell_history(closed)
    assert told[1].startswith("2026-05-01 09:30 UTC, person 2: version 1, announced")
    assert told[-1].startswith("2026-06-08 08:00 UTC, person 2: personal data removed")


def test_not_before_the_final_report_nor_the_date(
    announced: Path, form: Fill, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(WrongPlace, match="personal data are removed after the final report, not before"):
        workflow.purge(announced)
    assert cli.main(["purge", str(announced)]) == 2
    close(announced, form(ALL_CAME), form(HALL_CAME, "S2"), final=True)
    set_purge_date(announced, date(2026, 6, 30))
    with held_at(AFTER), pytest.raises(WrongPlace, match="personal data are kept until 2026-06-30"):
        workflow.purge(announced)
    assert (announced / "slips").is_dir()
    with held_at(datetime(2026, 6, 30, tzinfo=UTC)):
        assert cli.main(["purge", str(announced), "--who", "Anna"]) == 0
        assert "next stays: the next round's tables, which name its staff." in capsys.readouterr().out
        assert cli.main(["purge", str(announced)]) == 0
        assert "have been removed already; nothing was changed." in capsys.readouterr().out
    assert (announced / "next" / "staff.csv").is_file()


def set_purge_date(out: Path, day: date) -> None:
    with opened(out) as record:
        guard = record.execute("SELECT sql FROM sqlite_master WHERE name = 'closings_stay'").fetchone()[0]
        record.execute("DROP TRIGGER closings_stay")
        record.execute("UPDATE closings SET purge_on = ?", (day.isoformat(),))
        record.execute(guard)


def test_the_next_command_after_the_date_removes_them(closed: Path) -> None:
    set_purge_date(closed, date(2026, 6, 30))
    with held_at(datetime(2026, 6, 29, tzinfo=UTC)):
        workflow.tell_history(closed)
    assert (closed / "slips").is_dir()
    with held_at(datetime(2026, 7, 1, tzinfo=UTC)):
        told = workflow.tell_history(closed)
    assert told[-1].startswith("2026-07-01 00:00 UTC, person ")
    assert not (closed / "slips").exists()


def test_afterwards_nothing_more_is_taken(closed: Path, form: Fill, filled: Fill) -> None:
    form_back, slip = form(ALL_CAME), filled(told_rounds.ALL_WELL)
    with held_at(AFTER):
        workflow.purge(closed)
    for again in (
        lambda: close(closed, form_back),
        lambda: told_rounds.take(closed, slip),
        lambda: close(closed, final=True),
    ):
        with pytest.raises(WrongPlace, match=r"the personal data of .* have been removed; the round cannot be changed"):
            again()


@forks
def test_it_can_be_killed_at_any_moment(closed: Path) -> None:
    def job(out: Path) -> None:
        with held_at(AFTER):
            workflow.purge(out, who="Anna")

    assert killed_at_moments(closed, job, 3, 3)


@forks
def test_two_at_once(closed: Path) -> None:
    def job() -> None:
        with held_at(AFTER):
            workflow.purge(closed, who="Anna")

    assert [ended(child) for child in (start(job), start(job))] == [0, 0]
    with opened(closed) as record:
        assert record.execute("SELECT count(*) FROM purges").fetchone()[0] == 1
