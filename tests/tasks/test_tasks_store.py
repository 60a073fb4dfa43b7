"""Finished tasks on disk: whole or absent, under names that nobody can misuse, out of the way of anything else."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from task_functions import task
from worked_rounds.hand_plan import hand_round

from roundplan.domain.outcome import WrongPlace
from roundplan.domain.role import Role
from roundplan.tasks import Store, Task, clear_beside, fingerprint, share, store_beside

ROOT = Path(__file__).parents[2]
KEY, OTHER = Task("a:b", b"1").key, Task("a:b", b"2").key


def names(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


def test_a_result_comes_back_and_nothing_else_does(tmp_path: Path) -> None:
    store = Store(tmp_path / "new" / "store")
    assert store.get(KEY) is None
    assert store.count() == 0
    assert not store.folder.exists(), "looking makes no folder"
    for result in (b"", b"result", b"another" * 100_000):
        store.put(KEY, result)
        assert Store(store.folder).get(KEY) == result
        assert (store.get(OTHER), store.count()) == (None, 1)
    assert names(store.folder) == [KEY], "nothing unfinished is left"


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such rights")
def test_results_are_for_the_users_eyes_only(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    store.put(KEY, b"names of staff")
    assert stat.S_IMODE(store.folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((store.folder / KEY).stat().st_mode) == 0o600


@pytest.mark.parametrize(
    "torn",
    [
        lambda content: b"",
        lambda content: content[:10],
        lambda content: content[:-1],
        lambda content: content + b"x",
        lambda content: content[:-1] + b"?",
        lambda content: b"\0" * len(content),
    ],
)
def test_a_torn_file_counts_as_absent_and_is_made_good(tmp_path: Path, torn: object) -> None:
    store = Store(tmp_path)
    store.put(KEY, b"the result")
    file = tmp_path / KEY
    file.write_bytes(torn(file.read_bytes()))  # type: ignore[operator]
    assert (store.get(KEY), store.count()) == (None, 0)
    store.put(KEY, b"the result")
    assert store.get(KEY) == b"the result"


def test_a_result_under_another_tasks_name_counts_as_absent(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.put(KEY, b"the result")
    (tmp_path / KEY).rename(tmp_path / OTHER)
    assert store.get(OTHER) is None


@pytest.mark.parametrize("key", ["", "../" + KEY, KEY + "\n", KEY.upper(), "/etc/passwd", KEY[:-1], "\0" * 64])
def test_only_keys_of_tasks_name_files(tmp_path: Path, key: str) -> None:
    for use in (lambda: Store(tmp_path).get(key), lambda: Store(tmp_path).put(key, b"x")):
        with pytest.raises(ValueError, match="no key of a task"):
            use()


def test_clearing_spares_what_is_somebody_elses(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    store.put(KEY, b"x")
    (store.folder / "unfinished-abc").write_bytes(b"left by a killed run")
    store.clear()
    assert not store.folder.exists()
    store.clear()
    store.put(KEY, b"x")
    (store.folder / "mine.txt").write_text("keep")
    store.clear()
    assert names(store.folder) == ["mine.txt"]


def test_a_run_that_clears_does_not_break_another_that_stores(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    store.put(KEY, b"x")
    Store(tmp_path / "store").clear()
    store.put(OTHER, b"y")
    assert store.get(OTHER) == b"y"


def test_a_place_that_cannot_be_written_is_said_plainly(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    with pytest.raises(
        WrongPlace, match=r"^the finished part of a search cannot be kept in .*file.x: Not a directory$"
    ):
        Store(tmp_path / "file" / "x").put(KEY, b"x")


@pytest.mark.parametrize(
    "name", ["OUT", "a b", "-rf", "..x", "$(touch x)", "Ä\n'\"", "*", ".hidden", "%s{}", "~", "x" * 200, "\udcff"]
)
def test_each_output_folder_has_a_store_of_its_own_beside_it(tmp_path: Path, name: str) -> None:
    """Whatever the folder is called. The last name is no text: bytes that are no UTF-8, as old disks hold them."""
    run, other_run = "0" * 64, "1" * 64
    out = tmp_path / name
    out.mkdir()
    (out / "plan.json").write_text("{}")
    neighbour = store_beside(tmp_path / "neighbour", run)
    neighbour.put(KEY, b"not to be touched")
    store_beside(out, other_run).put(KEY, b"of another run")
    store = store_beside(out, run)
    assert store.folder.parent == tmp_path / f".{name}.tasks"
    assert store.get(KEY) is None
    assert not (store.folder.parent / other_run).exists(), "what no run will ask for any more goes"
    store.put(KEY, b"x")
    assert store_beside(out, run).get(KEY) == b"x"
    clear_beside(out)
    assert not store.folder.parent.exists()
    assert names(out) == ["plan.json"]
    assert neighbour.get(KEY) == b"not to be touched"
    clear_beside(out)


def test_keys_tell_tasks_apart() -> None:
    data = share(b"round")
    tasks = [
        Task("a:b", b"c"), Task("a:", b"bc"), Task("a:b", b""), Task("a:b", b"c", data), Task("a:b", b"c", share(b"x")),
        Task("a:b", b"c", share(b"round", "name")), Task("a:b", b"round"), Task("a:bname", b"c"),
    ]  # fmt: skip
    assert len({each.key for each in tasks}) == len(tasks)
    assert Task("a:b", b"c", share(b"one", "name")).key == Task("a:b", b"c", share(b"two", "name")).key


def test_another_version_of_the_program_takes_no_results_over(monkeypatch: pytest.MonkeyPatch) -> None:
    before = task("echo", name="a").key
    monkeypatch.setattr("roundplan.tasks.task.__version__", "99.0")
    assert task("echo", name="a").key != before


NAME_A_ROUND = """
from worked_rounds.hand_plan import hand_round
from roundplan.tasks import fingerprint
print(fingerprint(hand_round()), fingerprint({frozenset({"a", "b", "c"}): {"x", "y"}}))
"""


def test_equal_rounds_have_equal_names_in_every_process() -> None:
    """The order of sets of text changes from process to process, and with it their pickles."""
    own = [fingerprint(hand_round()), fingerprint({frozenset({"a", "b", "c"}): {"x", "y"}})]
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        environment["PYTHONPATH"] = os.pathsep.join([str(ROOT), str(ROOT / "tests")])
        command = [sys.executable, "-c", NAME_A_ROUND]
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
        assert done.stdout.split() == own


def test_names_tell_values_apart() -> None:
    values = [
        None, "", b"", 0, 0.0, False, "0", (), ("",), ("a", "b"), ("ab",), ("a", ("b",)), {"a"}, {"a": "b"}, {"a", "b"},
        date(2027, 2, 1), "2027-02-01", Role.ANAESTHETIST, str(Role.ANAESTHETIST), Fraction(1, 2), 0.5, Path("a"),
        hand_round(), hand_round().people, share(b"a"), ("1:a",), ("1", "a"),
    ]  # fmt: skip
    assert len({fingerprint(value) for value in values}) == len(values)
    assert fingerprint([1, 2]) == fingerprint((1, 2))
    assert fingerprint({"a": 1, "b": 2}) == fingerprint({"b": 2, "a": 1})
    with pytest.raises(TypeError, match="object has no fingerprint"):
        fingerprint([object()])
