"""Tasks on this machine: order, one call each, stored results, deaths of workers and of the whole run, stops."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from task_functions import PATIENCE, appears, calls, let_go, task

from roundplan.tasks import Store, Task, TaskFailed, TaskLost, open_pool, share, stopping

ROOT = Path(__file__).parents[2]
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join([str(ROOT), str(Path(__file__).parent)]),
    "PYTHONWARNINGS": "error",
}

posix = pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals and locks")


def no() -> bool:
    """Never ask to stop; not the pool's own ``never``, so that a worker process is wanted."""
    return False


def echoes(folder: Path, names: str) -> list[Task]:
    return [task("echo", folder, name=name) for name in names.split()]


@pytest.mark.parametrize("processes", [0, 1, 2])
def test_results_come_in_the_order_of_the_tasks_however_many_processes(tmp_path: Path, processes: int) -> None:
    tasks = echoes(tmp_path, "a b c a d b")
    done: list[int] = []
    with open_pool(processes=processes) as pool:
        assert pool.run([], no) == []
        assert pool.run(tasks, no, done.append) == [b"A", b"B", b"C", b"A", b"D", b"B"]
        assert sorted(calls(tmp_path)) == ["a", "b", "c", "d"], "equal tasks run once"
        assert sorted(done) == [0, 1, 2, 3, 4, 5]
        assert pool.run(tasks[:1], no) == [b"A"], "a pool is used again"


def test_where_tasks_run() -> None:
    own = str(os.getpid()).encode()
    tasks = [task("where", name=name) for name in "abcdef"]
    with open_pool(processes=0) as pool:
        assert set(pool.run(tasks, no)) == {own}
    with open_pool(processes=1) as pool:
        assert set(pool.run(tasks)) == {own}, "nothing asks to stop, so nothing needs a process of its own"
        (other,) = set(pool.run(tasks, no))
        assert other != own
        assert set(pool.run(tasks, no)) == {other}, "a worker stays for the next run"


@pytest.mark.parametrize("processes", [0, 2])
def test_a_stored_task_is_not_run_again(tmp_path: Path, processes: int) -> None:
    store = Store(tmp_path / "store")
    done: list[int] = []
    with open_pool(processes=processes, store=store) as pool:
        pool.run(echoes(tmp_path, "a b"), no)
        assert store.count() == 2
        assert pool.run(echoes(tmp_path, "b c a"), no, done.append) == [b"B", b"C", b"A"]
    assert sorted(calls(tmp_path)) == ["a", "b", "c"]
    assert done == [0, 2, 1], "what is stored is done at once"
    (store.folder / task("echo", tmp_path, name="b").key).write_bytes(b"torn")
    with open_pool(processes=0, store=Store(store.folder)) as pool:
        assert pool.run(echoes(tmp_path, "a b c"), no) == [b"A", b"B", b"C"]
    assert sorted(calls(tmp_path)) == ["a", "b", "b", "c"]


@posix
def test_a_killed_workers_task_is_run_again_and_no_other(tmp_path: Path) -> None:
    """The neighbour is at work while the worker is killed: it does not begin anew."""
    tasks = [
        task("held", tmp_path, name="neighbour", until="killed.again"),
        task("killed_once", tmp_path, name="killed"),
        *echoes(tmp_path, "a b"),
    ]
    with open_pool(processes=2, store=Store(tmp_path / "store")) as pool:
        assert pool.run(tasks, no) == [b"NEIGHBOUR", b"KILLED", b"A", b"B"]
    assert sorted(calls(tmp_path)) == ["a", "b", "killed", "killed", "neighbour"]


@posix
def test_a_task_that_costs_worker_after_worker_is_given_up_in_plain_words(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    with open_pool(processes=1, store=store) as pool:
        with pytest.raises(TaskLost) as lost:
            pool.run([*echoes(tmp_path, "a"), task("killed_always", tmp_path, name="bad")], no)
        assert str(lost.value) == (
            "a part of the search was ended from outside 3 times, most likely for want of memory; give fewer processes "
            "with --processes, or close other programs"
        )
        assert calls(tmp_path) == ["a", "bad", "bad", "bad"]
        assert store.count() == 1
        assert pool.run(echoes(tmp_path, "a b"), no) == [b"A", b"B"], "the pool works on"


KILLED_RUN = """
import sys
from pathlib import Path
from task_functions import task
from roundplan.tasks import Store, open_pool

folder = Path(sys.argv[1])
names = ["a", "b", "c", "d"]
tasks = [task("echo", folder, name=name) for name in names] + [task("held", folder, name="last", until="go")]
with open_pool(processes=2, store=Store(folder / "store")) as pool:
    print(*pool.run(tasks, lambda: False))
"""


@posix
def test_a_run_that_is_killed_leaves_no_process_and_is_resumed(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    command = [sys.executable, "-c", KILLED_RUN, str(tmp_path)]
    with subprocess.Popen(command, env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as run:
        appears(tmp_path / "last.begun")
        for name in "abcd":
            appears(store.folder / task("echo", tmp_path, name=name).key)
        run.kill()
        assert run.communicate(timeout=PATIENCE)[0] == ""  # the workers, who could write there too, have ended
    let_go(tmp_path / "last.lock")
    (tmp_path / "go").touch()
    done = subprocess.run(command, env=ENVIRONMENT, capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("b'A' b'B' b'C' b'D' b'LAST'\n", "")
    assert sorted(calls(tmp_path)) == ["a", "b", "c", "d", "last", "last"]


@posix
def test_a_stop_ends_what_runs_even_if_it_does_not_listen(tmp_path: Path) -> None:
    """One task looks at ``stopping()`` and gives what it has; the other never would; the third has not begun."""
    store = Store(tmp_path / "store")
    tasks = [
        task("patient", tmp_path, name="listens"),
        task("held", tmp_path, name="deaf", until="never"),
        *echoes(tmp_path, "a"),
    ]

    def begun() -> bool:
        return (tmp_path / "listens.begun").exists() and (tmp_path / "deaf.begun").exists()

    with open_pool(processes=2, store=store) as pool:
        assert pool.run(tasks, begun) == [b"so far", None, None]
        let_go(tmp_path / "deaf.lock")
        assert store.count() == 0, "a result cut short is no finished one"
        assert pool.run([task("told", tmp_path, name="next")], no) == [b"no"], "the next run is not stopped"
    assert store.count() == 1


@pytest.mark.parametrize("processes", [0, 1])
def test_a_task_that_stops_may_have_nothing(tmp_path: Path, processes: int) -> None:
    tasks = [task("patient", tmp_path, name="one", empty=True), *echoes(tmp_path, "a")]
    with open_pool(processes=processes) as pool:
        assert pool.run(tasks, (tmp_path / "one.begun").exists) == [None, None]
    assert calls(tmp_path) == ["one"]


@pytest.mark.parametrize("processes", [0, 2])
def test_nothing_begins_after_a_stop(tmp_path: Path, processes: int) -> None:
    store = Store(tmp_path / "store")
    with open_pool(processes=processes, store=store) as pool:
        pool.run(echoes(tmp_path, "a"))
        assert pool.run(echoes(tmp_path, "a b"), lambda: True) == [b"A", None]
    assert calls(tmp_path) == ["a"]


def test_nobody_is_stopping_outside_a_task() -> None:
    assert stopping() is False


@posix
def test_workers_leave_ctrl_c_to_the_parent() -> None:
    with open_pool(processes=1) as pool:
        assert pool.run([task("interrupted", name="a")], no) == [b"went on"]


@pytest.mark.parametrize("processes", [0, 1])
@pytest.mark.parametrize(
    ("function", "words"),
    [
        ("task_functions:fails", "task_functions:fails: ValueError: no such crew"),
        ("task_functions:no_bytes", "task_functions:no_bytes: TypeError: returned str, not bytes"),
        ("task_functions:absent", "module 'task_functions' has no attribute 'absent'"),
        ("no_such_room:f", "no_such_room:f: ModuleNotFoundError: No module named 'no_such_room'"),
        ("nonsense", "nonsense: ModuleNotFoundError"),
    ],
)
def test_a_function_that_raises_ends_the_run(tmp_path: Path, processes: int, function: str, words: str) -> None:
    """What was finished before is kept; the note says where in the worker it happened."""
    store = Store(tmp_path / "store")
    with open_pool(processes=processes, store=store) as pool:
        with pytest.raises(TaskFailed) as failed:
            pool.run([*echoes(tmp_path, "a"), Task(function, b"")], no)
        assert words in str(failed.value)
        assert "Traceback" in failed.value.__notes__[0]
        assert store.count() == 1
        assert pool.run(echoes(tmp_path, "b"), no) == [b"B"]


def test_what_is_shared_is_decoded_once_a_process(tmp_path: Path) -> None:
    """Also when a worker holds as much as it keeps, and what it has dropped is sent again."""
    rounds = {name: share(name.encode() * 300_000) for name in "XYZ"}
    order = "XXYXYZXX"
    tasks = [task("reads_shared", tmp_path, rounds[name], name=place) for place, name in enumerate(order)]
    expected = [f"{place}: {name} 300000".encode() for place, name in enumerate(order)]
    with open_pool(processes=1) as pool:
        assert pool.run(tasks[:5], no) == expected[:5]
        assert calls(tmp_path) == ["decoded-X", "decoded-Y"]
        assert pool.run(tasks, no) == expected
    with open_pool(processes=2) as pool:
        assert pool.run(tasks, no) == expected


UNGUARDED = """
from task_functions import task
from roundplan.tasks import open_pool

print("once")
with open_pool(processes=2) as pool:
    print(len(set(pool.run([task("where", name=name) for name in "abcd"], lambda: False)) - {None}) > 0)
"""


def test_a_users_script_is_not_run_again_by_each_worker(tmp_path: Path) -> None:
    """People write scripts without ``if __name__ == "__main__"``, as README.md does."""
    script = tmp_path / "my script.py"
    script.write_text(UNGUARDED)
    done = subprocess.run([sys.executable, script], env=ENVIRONMENT, capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("once\nTrue\n", "")


def test_workers_prepare_before_the_first_task(tmp_path: Path) -> None:
    first = task("echo", tmp_path, name="first")
    with open_pool(processes=2, prepare=first) as pool:
        until = time.monotonic() + PATIENCE
        while len(calls(tmp_path)) < 2:
            assert time.monotonic() < until, "a pool with something to prepare starts its workers by itself"
            time.sleep(0.01)
        assert pool.run(echoes(tmp_path, "a b c"), no) == [b"A", b"B", b"C"], "what it came to is nobody's result"
    assert sorted(calls(tmp_path)) == ["a", "b", "c", "first", "first"]


@posix
def test_a_worker_that_dies_while_it_prepares_is_told(tmp_path: Path) -> None:
    with open_pool(processes=1, prepare=task("killed_always", tmp_path, name="x")) as pool, pytest.raises(TaskLost):
        pool.run(echoes(tmp_path, "a"), no)
