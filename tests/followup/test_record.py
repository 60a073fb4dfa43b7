"""The record: only ever added to, whole after any kill, and one writer at a time."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from told_rounds import ALL_WELL, LATER, SENT, fill, take

from roundplan import workflow
from roundplan.domain.outcome import WrongPlace
from roundplan.followup.clock import held_at, now, today
from roundplan.followup.record import RECORD_FILE, opened, writing
from roundplan.followup.schema import STEPS
from roundplan.handouts.write import alone

forks = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


def start(job: Callable[[], object]) -> int:
    """Run a job in a process of its own; returns its id."""
    child = os.fork()
    if child:
        return child
    try:
        job()
        os._exit(0)
    except BaseException as error:
        sys.stderr.write(repr(error))
        os._exit(1)


def ended(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def is_whole(out: Path) -> None:
    with opened(out) as record:
        assert record.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert record.execute("PRAGMA foreign_key_check").fetchall() == []


def content(out: Path) -> list[tuple[object, ...]]:
    with opened(out) as record:
        tables = ("versions", "inputs", "contacts", "changes", "answers", "set_aside", "held", "closings", "purges")
        tables += ("facts", "withdrawn", "released", "proposals", "decisions")
        return [(table, *row) for table in tables for row in record.execute(f"SELECT * FROM {table}").fetchall()]


def killed_at_moments(out: Path, job: Callable[[Path], object], times: int, seed: int) -> set[bool]:
    """Kill a job at random moments, then give it again; returns whether it had landed before the kill."""
    whole = out.with_name("whole")
    shutil.copytree(out, whole)
    before = content(whole)
    began = time.monotonic()
    assert ended(start(lambda: job(whole))) == 0
    takes = time.monotonic() - began
    after = content(whole)
    chance, landed = random.Random(seed), set()
    for number in range(times):
        copy = out.with_name(f"copy{number}") / "OUT"
        shutil.copytree(out, copy)
        child = start(lambda copy=copy: job(copy))
        time.sleep(chance.uniform(0, 1.1) * takes)
        os.kill(child, signal.SIGKILL)
        ended(child)
        workflow.tell_history(copy)  # puts right what the kill left beside the folder
        is_whole(copy)
        assert content(copy) in (before, after)
        landed.add(content(copy) == after)
        job(copy)
        assert content(copy) == after
        plan = (copy / "plan.json").read_text("utf-8")
        with opened(copy) as record:
            last = record.execute("SELECT status FROM versions ORDER BY id DESC LIMIT 1").fetchone()[0]
        assert f'"status": "{last}"' in plan, "documents and record are of the same moment"
    return landed


@forks
def test_announce_can_be_killed_at_any_moment(drafted: Path) -> None:
    def job(out: Path) -> None:
        with held_at(SENT):
            workflow.announce(out, who="Anna")

    assert killed_at_moments(drafted, job, 6, 1)


@forks
def test_replies_can_be_killed_at_any_moment(announced: Path, tmp_path: Path) -> None:
    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "back.xlsx", ALL_WELL)
    assert killed_at_moments(announced, lambda out: take(out, slip), 6, 2)


def declined(announced: Path) -> Path:
    """Let one person decline and another be away, so that there is something to repair."""
    text = announced.parent / "no.txt"
    text.write_text("D1V no", encoding="utf-8")
    take(announced, text)
    with held_at(LATER):
        workflow.take_fact(announced, "absent", ["BETA-N1", "2026-06-03"], who="Anna")
    return announced


def proposes(out: Path) -> None:
    with held_at(LATER):
        workflow.replan(out, who="Anna", workers=1, seconds=60)


def accepts(out: Path) -> None:
    with held_at(LATER):
        workflow.accept(out, who="Anna")


@forks
@pytest.mark.parametrize("job", [proposes, accepts], ids=["propose", "accept"])
def test_a_repair_can_be_killed_at_any_moment(announced: Path, job: Callable[[Path], None]) -> None:
    declined(announced)
    if job is accepts:
        assert ended(start(lambda: proposes(announced))) == 0
    killed_at_moments(announced, job, 2, 3)


@forks
def test_two_accept_at_once_and_one_version_comes_of_it(announced: Path) -> None:
    declined(announced)
    assert ended(start(lambda: proposes(announced))) == 0
    children = [start(lambda: accepts(announced)) for _ in range(2)]
    assert [ended(child) for child in children] == [0, 0]
    with opened(announced) as record:
        assert record.execute("SELECT count(*) FROM versions WHERE status = 'revised'").fetchone()[0] == 1
        assert record.execute("SELECT count(*) FROM decisions").fetchone()[0] == 1


@forks
def test_two_at_once_wait_for_each_other_say_so_and_both_land(announced: Path, tmp_path: Path) -> None:
    slips = [
        fill(announced / "slips" / "GAMA.xlsx", tmp_path / "gama.xlsx", ALL_WELL),
        fill(announced / "slips" / "DELT.xlsx", tmp_path / "delt.xlsx", {("Who goes", "S6"): "yes"}),
    ]
    waiting, says = os.pipe()
    with alone(announced.parent):
        children = [start(lambda s=slip: take(announced, s, waits=lambda: os.write(says, b"."))) for slip in slips]
        said = b"".join(os.read(waiting, 1) for _ in children)
    assert said == b".."
    assert [ended(child) for child in children] == [0, 0]
    with opened(announced) as record:
        assert record.execute("SELECT count(*) FROM answers").fetchone()[0] == 3
        assert record.execute("SELECT count(*) FROM changes").fetchone()[0] == 4


@forks
def test_replies_that_come_while_a_new_draft_is_written_are_not_lost(announced: Path, tmp_path: Path) -> None:
    from worked_rounds.hand_plan import hand_plan

    from roundplan.intake import read_round

    slip = fill(announced / "slips" / "GAMA.xlsx", tmp_path / "back.xlsx", ALL_WELL)
    reading = read_round(announced / "inputs")
    with alone(announced.parent):
        jobs = (lambda: take(announced, slip), lambda: workflow.write_handouts(hand_plan(), reading, announced))
        children = [start(job) for job in jobs]
    assert [ended(child) for child in children] == [0, 0]
    with opened(announced) as record:
        assert record.execute("SELECT count(*) FROM answers").fetchone()[0] == 2
        assert record.execute("SELECT max(number) FROM versions").fetchone()[0] == 2


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE versions SET number = 9",
        "DELETE FROM versions",
        "UPDATE changes SET why = 'x'",
        "DELETE FROM changes",
        "UPDATE answers SET word = 'no'",
        "UPDATE set_aside SET change = 1",
        "DELETE FROM inputs",
        "UPDATE input_files SET content = x'00'",
        "INSERT INTO changes (made_at, who, what, why, version) VALUES ('x', 'x', 'x', 'x', 99)",
        "INSERT INTO changes (made_at, who, what, why, version) VALUES ('x', '', 'x', 'x', 1)",
        "INSERT INTO versions (number, status, fingerprint, plan, digest) "
        "SELECT number, 'revised', fingerprint, plan, digest FROM versions WHERE status = 'announced'",
    ],
)
def test_nothing_is_overwritten(announced: Path, tmp_path: Path, statement: str) -> None:
    take(announced, fill(announced / "slips" / "GAMA.xlsx", tmp_path / "a.xlsx", ALL_WELL))
    typed = tmp_path / "a.txt"
    typed.write_text("C1U no")
    take(announced, typed, instead=True)
    before = content(announced)
    with opened(announced) as record, pytest.raises(sqlite3.IntegrityError), writing(record):
        record.execute(statement)
    assert content(announced) == before


def test_it_waits_in_wal_and_checks_foreign_keys(announced: Path) -> None:
    with opened(announced) as record:
        assert record.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert record.execute("PRAGMA foreign_keys").fetchone()[0] == 1
        assert record.execute("PRAGMA user_version").fetchone()[0] == len(STEPS)
    assert [path.name for path in announced.glob("record*")] == [RECORD_FILE]


def test_a_newer_or_broken_record_is_refused_in_plain_words(announced: Path) -> None:
    with opened(announced) as record:
        record.execute("PRAGMA user_version = 9")
    with pytest.raises(WrongPlace, match=r"record\.sqlite was made by a newer version"):
        workflow.tell_history(announced)
    (announced / RECORD_FILE).write_bytes(b"no record" * 500)
    with pytest.raises(WrongPlace, match=r"record\.sqlite cannot be used"):
        workflow.announce(announced)
    assert (announced / RECORD_FILE).read_bytes().startswith(b"no record")


def test_an_interrupted_migration_begins_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("roundplan.followup.record.STEPS", (("CREATE TABLE a (b)", "CREATE TABLE a (b)"),))
    with pytest.raises(ValueError, match="already exists"), opened(tmp_path):
        pass
    monkeypatch.undo()
    with opened(tmp_path) as record:
        assert record.execute("SELECT count(*) FROM versions").fetchone()[0] == 0


def test_the_clock_can_be_held() -> None:
    with held_at(LATER):
        assert now() == LATER
        assert str(today("Pacific/Auckland")) == "2026-05-20"
        assert str(today("Pacific/Kiritimati")) == "2026-05-20"
        assert str(today("Pacific/Pago_Pago")) == "2026-05-19"
    assert now() > LATER
