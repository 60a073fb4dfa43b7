"""From the command to the pool and back: options and settings reach the search, and a run that was cut off resumes.

The search is stood in for by one that runs three tasks and returns a plan made by hand.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import pytest
from task_functions import calls, task
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan import cli, workflow
from roundplan.domain.means import Means, SearchMode
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress
from roundplan.intake import write_round
from roundplan.tasks import Store, open_pool

Search = Callable[..., Plan]
NAMES = "abc"


@pytest.fixture
def inputs(tmp_path: Path) -> Path:
    write_round(hand_round(), tmp_path / "tables")
    return tmp_path / "tables"


@pytest.fixture
def search(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Return a function that puts a search in place: one that does some tasks, then ends in the way given."""

    def stand_in(done: int, ending: BaseException | None = None, stopped: str = "finished") -> None:
        def find(*_: object, means: Means, **__: object) -> Plan:
            assert means.store is not None
            with open_pool(processes=0, store=Store(means.store)) as pool:
                results = pool.run([task("echo", tmp_path, name=name) for name in NAMES[:done]])
            assert results == [name.upper().encode() for name in NAMES[:done]]
            if ending is not None:
                raise ending
            plan = hand_plan()
            return dataclasses.replace(plan, search=dataclasses.replace(plan.search, stopped=stopped))

        monkeypatch.setattr("roundplan.solver.find_plan", find)

    return stand_in


def run(inputs: Path, out: Path, *more: str) -> int:
    return cli.main(["plan", str(inputs), "--out", str(out), *more])


def stores(out: Path) -> list[Path]:
    return sorted(out.parent.glob(".*.tasks"))


@pytest.mark.parametrize("ending", [KeyboardInterrupt(), MemoryError()], ids=lambda e: type(e).__name__)
def test_a_run_that_was_cut_off_resumes(
    inputs: Path, tmp_path: Path, search: Search, ending: BaseException, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "my out"
    search(2, ending)
    assert run(inputs, out) != 0
    assert stores(out) == [tmp_path / ".my out.tasks"]
    assert "resuming" not in capsys.readouterr().err
    search(3)
    assert run(inputs, out) == 0
    assert "resuming: 2 finished tasks found" in capsys.readouterr().err
    assert calls(tmp_path) == ["a", "b", "c"]
    assert stores(out) == [], "the plan is written: nothing is left to resume"
    assert {path.name for path in tmp_path.iterdir()} == {"tables", "my out", "calls"}


def test_a_plan_written_after_ctrl_c_can_be_searched_on(
    inputs: Path, tmp_path: Path, search: Search, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "OUT"
    search(2, stopped="interrupted")
    assert run(inputs, out) == 0
    assert stores(out) == [tmp_path / ".OUT.tasks"]
    search(3)
    assert run(inputs, out) == 0
    assert "resuming: 2 finished tasks found" in capsys.readouterr().err
    assert calls(tmp_path) == ["a", "b", "c"]
    assert stores(out) == []


@pytest.mark.parametrize("change", ["seed", "search", "tables"])
def test_another_run_starts_afresh_and_clears_up(
    inputs: Path, tmp_path: Path, search: Search, change: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "OUT"
    search(2, KeyboardInterrupt())
    run(inputs, out)
    if change == "tables":
        round_toml = inputs / "round.toml"
        round_toml.write_text(round_toml.read_text().replace("run = 2", "run = 3"))
    more = {"seed": ["--seed", "7"], "search": ["--search", "integrated"], "tables": []}[change]
    search(1, KeyboardInterrupt())
    run(inputs, out, *more)
    assert "resuming" not in capsys.readouterr().err
    assert calls(tmp_path) == ["a", "b", "a"]
    assert len(list((tmp_path / ".OUT.tasks").iterdir())) == 1


def test_a_search_without_tasks_leaves_nothing(inputs: Path, tmp_path: Path, search: Search) -> None:
    search(0, KeyboardInterrupt())
    run(inputs, tmp_path / "OUT")
    assert stores(tmp_path / "OUT") == []


def test_a_store_that_cannot_be_written_is_said_plainly(
    inputs: Path, tmp_path: Path, search: Search, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / ".OUT.tasks").write_text("somebody's file")
    search(1)
    assert run(inputs, tmp_path / "OUT") == 2
    said = capsys.readouterr().err
    assert said.startswith(f"Error: the finished part of a search cannot be kept in {tmp_path}")
    assert (tmp_path / ".OUT.tasks").read_text() == "somebody's file"


@pytest.fixture
def given(monkeypatch: pytest.MonkeyPatch) -> list[Means]:
    """Return the means that searches were given; their plans are not written."""
    means_given: list[Means] = []

    def find(*_: object, means: Means, **__: object) -> Plan:
        means_given.append(means)
        return hand_plan()

    monkeypatch.setattr("roundplan.solver.find_plan", find)
    monkeypatch.setattr(workflow, "write_handouts", lambda plan, *_: plan)
    return means_given


@pytest.mark.parametrize(
    ("settings", "options", "expected"),
    [
        ("", "", ("auto", 2, None)),
        ("workers = 3", "", ("auto", 3, None)),
        ("workers = 3", "--workers 4", ("auto", 4, None)),
        ('search = "decomposed"\nprocesses = 5', "", ("decomposed", 5, None)),
        ('search = "decomposed"\nprocesses = 5', "--search integrated --processes 6", ("integrated", 6, None)),
        ("", "--cluster tcp://10.0.0.5:8786", ("auto", 2, "tcp://10.0.0.5:8786")),
    ],
)
def test_options_come_before_settings(
    inputs: Path, tmp_path: Path, given: list[Means], settings: str, options: str, expected: tuple[object, ...]
) -> None:
    toml = inputs / "round.toml"
    before = toml.read_text().split("[search]")[0]
    toml.write_text(f"{before}[search]\n{settings}\n")
    assert run(inputs, tmp_path / "OUT", *options.split()) == 0
    (means,) = given
    assert (means.search, means.processes, means.cluster) == expected
    assert means.store is not None
    assert means.store.parent == tmp_path / ".OUT.tasks"


@pytest.mark.parametrize("wrong", ["--search both", "--processes 0", "--processes two"])
def test_wrong_options_are_refused(
    inputs: Path, tmp_path: Path, given: list[Means], wrong: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(inputs, tmp_path / "OUT", *wrong.split()) == 2
    assert f"Invalid value for '{wrong.split()[0]}'" in capsys.readouterr().err
    assert given == []


def test_from_python_nothing_is_stored_unless_asked_for(given: list[Means], tmp_path: Path) -> None:
    heard: list[Progress] = []
    workflow.make_plan(hand_round(), progress=heard.append)
    workflow.make_plan(hand_round(), means=Means(search=SearchMode.INTEGRATED, store=tmp_path / "mine"))
    assert [means.store for means in given] == [None, tmp_path / "mine"]
    assert [means.search for means in given] == ["auto", "integrated"]
