"""A comparison that is killed goes on from what was finished."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

import pytest
from command_runs import run, start
from rounds import day, settings, tiny_round

from roundplan.intake import write_round

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals")


def test_a_killed_comparison_goes_on(tmp_path: Path) -> None:
    write_round(tiny_round(settings=settings(round={"last_day": day(0)}, teams={"guests": 0})), tmp_path / "inputs")
    changes = ["--set", "session.demonstrations=1", "--without", "T4"]
    asked = ["whatif", tmp_path / "inputs", "--out", tmp_path / "OUT", *changes, "--seconds", "60", "--processes", "2"]
    with start(*asked) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if line.startswith("done: "):
                break
        process.send_signal(signal.SIGKILL)
    assert not (tmp_path / "OUT").exists()
    again = run(*asked)
    assert again.code == 0
    told = again.complained.splitlines()
    assert told[0].startswith("resuming: ")
    assert [line for line in told if line.startswith("done: ")]
    assert (tmp_path / "OUT" / "whatif.html").is_file()
    assert not (tmp_path / ".OUT.tasks").exists()
