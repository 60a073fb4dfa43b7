"""Closing: whole after any kill, one writer at a time, and never a traceback for a file that came back broken."""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from held_rounds import ALL_CAME, HALL_CAME, close
from test_hostile_files import CHANGES, Change
from test_record import ended, forks, killed_at_moments, start

from roundplan import workflow
from roundplan.followup.held.forms import File, read_file
from roundplan.followup.record import opened
from roundplan.handouts.write import alone

Fill = Callable[..., Path]


@forks
def test_taking_forms_can_be_killed_at_any_moment(announced: Path, form: Fill) -> None:
    files = (form(ALL_CAME), form(HALL_CAME, "S2"))
    assert killed_at_moments(announced, lambda out: close(out, *files), 3, 1)


@forks
def test_ending_a_round_can_be_killed_at_any_moment(announced: Path, form: Fill) -> None:
    close(announced, form(ALL_CAME), form(HALL_CAME, "S2"))
    assert killed_at_moments(announced, lambda out: close(out, final=True), 3, 2)


@forks
def test_two_at_once_wait_say_so_and_both_land(announced: Path, form: Fill) -> None:
    files = [form(ALL_CAME), form(HALL_CAME, "S2")]
    waiting, says = os.pipe()
    with alone(announced.parent):
        waits = lambda: os.write(says, b".")  # noqa: E731
        children = [start(lambda f=file: close(announced, f, waits=waits)) for file in files]
        said = b"".join(os.read(waiting, 1) for _ in children)
    assert said == b".."
    assert [ended(child) for child in children] == [0, 0]
    with opened(announced) as record:
        assert record.execute("SELECT count(*) FROM held").fetchone()[0] == 12
    told = close(announced).told
    assert [line.partition(": ")[2].partition(";")[0] for line in told] == ["held", "held"]


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_changed_forms_are_read_or_refused(change: Change, announced_once: Path, form: Fill, tmp_path: Path) -> None:
    """Ten of each kind; silence would hide what somebody sent."""
    data = form(ALL_CAME).read_bytes()
    refused = 0
    for seed in range(10):
        path = tmp_path / "back.xlsx"
        path.write_bytes(change(data, random.Random(f"{change.__name__} {seed}")))
        file = read_file(path)
        assert isinstance(file, File)
        assert file.findings or file.rows
        refused += bool(file.findings)
    assert refused


def test_changed_forms_beside_a_sound_one_keep_nothing_from_being_taken(
    announced: Path, form: Fill, tmp_path: Path
) -> None:
    sound = form(ALL_CAME)
    files = []
    for number in range(16):
        path = tmp_path / f"{number}.xlsx"
        path.write_bytes(CHANGES[number % len(CHANGES)](sound.read_bytes(), random.Random(f"beside {number}")))
        files.append(path)
    done = close(announced, *files[:8], sound, *files[8:])
    assert any(line.startswith("Alfa Hospital 2026-06-02: held; ") for line in done.told)
    assert len(done.findings) > 5
    assert workflow.tell_history(announced)
