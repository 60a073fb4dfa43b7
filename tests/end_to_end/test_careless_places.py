"""Output folders that a careless user names: nothing of theirs is lost, and they hear of it before the search."""

from __future__ import annotations

import dataclasses
import os
import shutil
import signal
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hand_plans import hand_plan, hand_round

from roundplan import cli, draft, workflow
from roundplan.handouts import write
from roundplan.intake import write_round


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str]:
    code = cli.main([str(argument) for argument in arguments])
    return int(code), capsys.readouterr().err


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def inputs(tmp_path: Path) -> Path:
    """Return a folder of tables named as the program names its own, with contacts and a note of the user's."""
    folder = tmp_path / "north" / "inputs"
    write_round(hand_round(), folder)
    (folder / "contacts.csv").write_text("who,phone,email\nmanager,+1 555 0100,\n", encoding="utf-8")
    with (folder / "round.toml").open("a", encoding="utf-8") as file:
        file.write("# agreed with the district on Monday\n")
    return folder


@pytest.fixture(autouse=True)
def no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail a test in which a search begins: all of these are to be refused before."""
    monkeypatch.setattr(workflow, "make_plan", lambda *_, **__: pytest.fail("a search began"))


def refused(capsys: pytest.CaptureFixture[str], base: Path, source: Path, out: Path) -> str:
    before = contents(base)
    code, complained = run(capsys, "plan", source, "--out", out)
    assert code == 2, complained
    assert contents(base) == before
    return complained


def test_the_users_own_folder_inputs_is_not_replaced(inputs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(capsys, inputs.parent, inputs, inputs.parent)
    assert said.endswith("name another folder for the outputs.\n")
    assert "would be replaced" in said


def test_nor_is_a_workbook_named_round(inputs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "books"
    folder.mkdir()
    openpyxl.Workbook().save(folder / "round.xlsx")
    shutil.copy(inputs / "round.toml", folder)
    assert "would be replaced" in refused(capsys, folder, folder / "round.xlsx", folder)


def test_outputs_never_go_where_forms_are_read(inputs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "forms" in refused(capsys, inputs.parent, inputs, inputs / "forms")


def test_what_has_our_names_and_is_not_ours_stays(
    inputs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "theirs"
    folder.mkdir()
    (folder / "report.html").write_text("a report of somebody else")
    assert "holds report.html and no plan.json" in refused(capsys, folder, inputs, folder)


def test_a_link_that_leads_back_to_itself(inputs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "loop").symlink_to("loop")
    for arguments in (("plan", inputs, "--out", tmp_path / "loop"), ("audit", tmp_path / "loop")):
        code, said = run(capsys, *arguments)
        assert code == 2
        assert "leads back to itself" in said


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder in which nobody can write")
def test_a_folder_that_cannot_be_written_is_told_before_the_search(
    inputs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, said = run(capsys, "plan", inputs, "--out", "/proc/OUT")
    assert code == 2
    assert "/proc cannot be written" in said


def test_a_disk_of_its_own_is_told_before_the_search(
    inputs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real: Callable[[Any], bool] = os.path.ismount
    monkeypatch.setattr(write.os.path, "ismount", lambda path: Path(path) == tmp_path / "disk" or real(path))
    code, said = run(capsys, "plan", inputs, "--out", tmp_path / "disk")
    assert code == 2
    assert "a disk of its own" in said


def test_ctrl_c_while_the_search_loads_waits_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A library that loads just then turns Ctrl-C into an error of its own; so it comes afterwards."""
    loaded: list[str] = []

    def load(name: str) -> None:
        signal.raise_signal(signal.SIGINT)
        loaded.append(name)

    monkeypatch.undo()
    monkeypatch.setattr(draft, "import_module", load)
    monkeypatch.setattr("roundplan.solver.find_plan", lambda *_, **__: pytest.fail("a search began"))
    earlier = signal.getsignal(signal.SIGINT)
    with pytest.raises(KeyboardInterrupt):
        workflow.make_plan(hand_round(), seconds=1)
    assert loaded
    assert signal.getsignal(signal.SIGINT) is earlier


def test_a_search_stopped_before_any_team_did_not_run_out_of_time(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = hand_plan()
    stopped = dataclasses.replace(plan, teams=(), search=dataclasses.replace(plan.search, stopped="interrupted"))
    monkeypatch.undo()
    monkeypatch.setattr("roundplan.solver.find_plan", lambda *_, **__: stopped)
    with pytest.raises(KeyboardInterrupt):
        workflow.make_plan(hand_round(), seconds=1)


def test_a_search_outside_the_main_thread_leaves_signals_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = hand_plan()
    monkeypatch.undo()
    monkeypatch.setattr("roundplan.solver.find_plan", lambda *_, **__: plan)
    found: list[Any] = []
    thread = threading.Thread(target=lambda: found.append(workflow.make_plan(hand_round(), seconds=1)))
    thread.start()
    thread.join()
    assert found[0].teams == plan.teams
