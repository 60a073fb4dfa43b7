"""A run that is stopped: a plan found so far is kept, and an earlier output is whole."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from command_runs import DEMO, ENVIRONMENT, ROOT, TRACEBACK, run, start, tree
from rounds import tiny_round
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan.intake import read_round, write_round
from roundplan.workflow import write_handouts

SECONDS_TO_END = 30
"""Most seconds from an interrupt to the end: the plan is still assembled, audited and written."""

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals")


@pytest.fixture
def earlier(tmp_path: Path) -> Path:
    """Return an output folder with a plan of another round."""
    write_round(hand_round(), tmp_path / "hand")
    write_handouts(hand_plan(), read_round(tmp_path / "hand"), tmp_path / "OUT")
    return tmp_path / "OUT"


def wait_for(process: subprocess.Popen[str], words: str, seconds: float = 90) -> list[str]:
    """Read what a command complains of up to a line with the words."""
    assert process.stderr is not None
    lines: list[str] = []
    until = time.monotonic() + seconds
    for line in process.stderr:
        lines.append(line)
        if words in line:
            return lines
        assert time.monotonic() < until, lines
    raise AssertionError(f"the command ended without {words!r}: {lines}")


@contextmanager
def started(*arguments: object) -> Iterator[subprocess.Popen[str]]:
    """Yield a running command; it is gone at the end."""
    with start(*arguments) as process:
        try:
            yield process
        finally:
            process.kill()


@pytest.mark.parametrize("seconds_later", [0.0, 2.0])
def test_an_interrupt_in_the_search_keeps_the_best_plan_audited(tmp_path: Path, seconds_later: float) -> None:
    """Right after the first plan is reported, and later, when another model may be under construction."""
    out = tmp_path / "OUT"
    with started("plan", DEMO, "--out", out, "--seconds", "120", "--workers", "2") as process:
        wait_for(process, "better plan")
        time.sleep(seconds_later)
        process.send_signal(signal.SIGINT)
        interrupted = time.monotonic()
        said, complained = process.communicate(timeout=100)
    assert TRACEBACK not in complained
    assert process.returncode == 0, complained
    assert time.monotonic() - interrupted < SECONDS_TO_END, "the search went on"
    assert said.splitlines()[-1].startswith("The audit found every rule kept.")
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert plan["search"]["stopped"] == "interrupted"
    assert plan["teams"]
    audited = run("audit", out)
    assert (audited.code, audited.said) == (0, "Every rule is kept.\n")


AFTER_A_SEARCH = """
import os, signal
from rounds import tiny_round
from roundplan.solver import find_plan
find_plan(tiny_round(), seconds=5, seed=1, workers=1)
try:
    os.kill(os.getpid(), signal.SIGINT)
    signal.pause()
except KeyboardInterrupt:
    print("noticed")
"""


def test_after_a_search_an_interrupt_is_noticed_as_before() -> None:
    """No step of a search may leave the process with another reaction to Ctrl-C: assembling a plan solves too."""
    done = subprocess.run(
        [sys.executable, "-c", AFTER_A_SEARCH],
        env={**ENVIRONMENT, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests")])},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
    )
    assert (done.returncode, done.stdout) == (0, "noticed\n"), done.stderr


def test_an_interrupt_before_there_is_a_plan_leaves_the_earlier_output(earlier: Path) -> None:
    before = tree(earlier.parent)
    with started("plan", DEMO, "--out", earlier, "--seconds", "120") as process:
        time.sleep(1.2)  # tables are read, the models are being built
        process.send_signal(signal.SIGINT)
        said, complained = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, ""), complained
    assert complained.splitlines()[-1] == "Stopped. Earlier outputs are as they were."
    if "ResourceWarning: unclosed file" not in complained:  # of a module that Python was just importing
        assert TRACEBACK not in complained
    assert tree(earlier.parent) == before


def test_killed_while_it_writes_the_earlier_output_is_whole(earlier: Path, tmp_path: Path) -> None:
    """The process dies at once, without cleaning up, when the new folder is being filled."""
    before = tree(earlier)
    unfinished = earlier.with_name(".OUT.new")
    write_round(tiny_round(), tmp_path / "tiny")
    with started("plan", tmp_path / "tiny", "--out", earlier, "--seconds", "5") as process:
        until = time.monotonic() + 60
        while not unfinished.is_dir() or len(list(unfinished.iterdir())) < 2:
            assert process.poll() is None, "it ended before it could be killed"
            assert time.monotonic() < until
            time.sleep(0.001)
        process.kill()
        process.communicate(timeout=30)
    assert process.returncode == -signal.SIGKILL
    assert unfinished.is_dir(), "it was killed in the middle"
    assert tree(earlier) == before
    assert run("audit", earlier).code == 0
    assert not unfinished.exists(), "what was left behind is cleared away"
    assert tree(earlier) == before
