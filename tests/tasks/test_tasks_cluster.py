"""Tasks on a real dask cluster of this machine: one scheduler and two workers for all tests, lost one by one."""

from __future__ import annotations

import json
import logging
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from task_functions import PATIENCE, appears, calls, let_go, task

from roundplan import __version__
from roundplan.domain.outcome import WrongPlace
from roundplan.tasks import Store, Task, TaskFailed, TaskLost, open_pool, share

ROOT = Path(__file__).parents[2]
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join([str(ROOT), str(Path(__file__).parent)]),
    "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "1",
}

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals and locks")


def no() -> bool:
    """Never ask to stop."""
    return False


@contextmanager
def dask(folder: Path, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run one of dask's own commands, as README.md says; it and what it has started are gone at the end."""
    with (folder / f"{arguments[0]}.log").open("ab") as log:
        command = [sys.executable, "-m", "dask", *arguments]
        process = subprocess.Popen(command, env=ENVIRONMENT, stdout=log, stderr=log, cwd=folder, start_new_session=True)
    try:
        yield process
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()


class Cluster:
    """A scheduler and, once asked for, its workers."""

    def __init__(self, folder: Path, scheduler: subprocess.Popen[bytes], address: str) -> None:
        self.folder = folder
        self.scheduler = scheduler
        self.address = address


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    folder = tmp_path_factory.mktemp("dask")
    file = folder / "scheduler.json"
    arguments = ("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(file))
    with dask(folder, *arguments) as process:
        until = time.monotonic() + PATIENCE
        while not (text := file.read_text() if file.exists() else "").strip().endswith("}"):
            assert time.monotonic() < until, (folder / "scheduler.log").read_text()
            time.sleep(0.05)
        yield Cluster(folder, process, json.loads(text)["address"])


@pytest.fixture(scope="module")
def cluster(scheduler: Cluster) -> Iterator[Cluster]:
    arguments = ("worker", scheduler.address, "--nthreads", "1", "--nworkers", "2", "--no-dashboard")
    with dask(scheduler.folder, *arguments, "--local-directory", str(scheduler.folder)):
        from distributed import Client

        with Client(scheduler.address, timeout=PATIENCE, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=PATIENCE)
        yield scheduler


@pytest.mark.parametrize("address", ["", "nonsense", "http://[", "tcp://", "127.0.0.1:8786", "tcp://a:1 b", "tcp://a:"])
def test_what_is_no_address_is_said_plainly(address: str) -> None:
    with pytest.raises(WrongPlace) as refused, open_pool(processes=1, cluster=address):
        pass
    assert str(refused.value) == f"“{address}” is no address of a dask scheduler; write it as in tcp://10.0.0.5:8786"


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:1", "tcp://no.such.invalid:8786", "tcp://127.0.0.1:99999"])
def test_no_scheduler_is_said_plainly(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("roundplan.tasks.cluster.CONNECT", 0.3)
    before = logging.getLogger("distributed").level
    with pytest.raises(WrongPlace) as refused, open_pool(processes=1, cluster=address):
        pass
    assert str(refused.value) == (
        f"no dask scheduler answers at {address}; start one there with: dask scheduler (or leave --cluster out to work "
        "on this machine)"
    )
    assert logging.getLogger("distributed").level == before


def test_without_the_extra_part_it_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(WrongPlace, match=r"install it with: pip install 'roundplan\[cluster\]'$"):
        open_pool(processes=1, cluster="tcp://127.0.0.1:8786").__enter__()


def test_a_scheduler_without_workers_is_said_plainly(scheduler: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    """Runs first of those with a scheduler: the workers of the others are started later."""
    monkeypatch.setattr("roundplan.tasks.cluster.WORKERS", 0.2)
    with pytest.raises(WrongPlace) as refused, open_pool(processes=1, cluster=scheduler.address):
        pass
    assert str(refused.value) == (
        f"the dask scheduler at {scheduler.address} has no workers; start some with: dask worker {scheduler.address} "
        "--nthreads 1"
    )


def test_results_are_those_of_one_machine_and_are_stored_here(cluster: Cluster, tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    shared = share(b"X" * 12_000_000)
    tasks = [task("echo", tmp_path, name=name) for name in "abca"]
    tasks += [task("reads_shared", tmp_path, shared, name=name) for name in "de"]
    done: list[int] = []
    with open_pool(processes=0) as pool:
        expected = pool.run(tasks)
    (tmp_path / "calls").unlink()
    with open_pool(processes=1, cluster=cluster.address, store=store) as pool:
        assert pool.run([], no) == []
        assert pool.run(tasks, no, done.append) == expected
        assert store.count() == 5
        assert sorted(done) == list(range(6))
        assert pool.run(tasks, no) == expected
    noted = calls(tmp_path)
    assert [noted.count(name) for name in "abc"] == [1, 1, 1]


def test_a_killed_workers_task_is_run_again(cluster: Cluster, tmp_path: Path) -> None:
    """The neighbour, on the other worker, goes on; the shared data are there for those that come later."""
    shared = share(b"X" * 1000)
    tasks = [
        task("held", tmp_path, name="neighbour", until="killed.again"),
        task("killed_once", tmp_path, name="killed"),
        *[task("reads_shared", tmp_path, shared, name=name) for name in "ab"],
    ]
    expected = [b"NEIGHBOUR", b"KILLED", b"a: X 1000", b"b: X 1000"]
    with open_pool(processes=1, cluster=cluster.address) as pool:
        assert pool.run(tasks, no) == expected
        assert pool.run(tasks[2:], no) == expected[2:]
    noted = calls(tmp_path)
    assert [noted.count(name) for name in ("neighbour", "killed")] == [1, 2]


def test_a_stop_is_heard_by_the_workers(cluster: Cluster, tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    tasks = [
        task("patient", tmp_path, name="listens"),
        task("held", tmp_path, name="deaf", until="go"),
        task("echo", tmp_path, name="a"),
    ]

    def begun() -> bool:
        return (tmp_path / "listens.begun").exists() and (tmp_path / "deaf.begun").exists()

    with open_pool(processes=1, cluster=cluster.address, store=store) as pool:
        assert pool.run(tasks, begun) == [b"so far", None, None]
        assert store.count() == 0
        (tmp_path / "go").touch()
        let_go(tmp_path / "deaf.lock")
        assert pool.run(tasks[2:], no) == [b"A"]


def test_faults_of_a_function_end_the_run(cluster: Cluster, tmp_path: Path) -> None:
    with open_pool(processes=1, cluster=cluster.address) as pool:
        with pytest.raises(TaskFailed) as failed:
            pool.run([Task("task_functions:fails", b"")], no)
        assert str(failed.value) == "task_functions:fails: ValueError: no such crew"
        with pytest.raises(TaskLost, match="brought worker after worker of the cluster down"):
            pool.run([task("killed_always", tmp_path, name="bad")], no)


def test_workers_of_another_version_are_refused(cluster: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("roundplan.tasks.cluster.__version__", "99.0")
    with (
        pytest.raises(WrongPlace, match=rf"has roundplan {__version__}; install version 99\.0 there$"),
        open_pool(processes=1, cluster=cluster.address),
    ):
        pass


def test_a_lost_scheduler_is_said_plainly(cluster: Cluster, tmp_path: Path) -> None:
    """Runs last: it takes the scheduler away from all."""
    store = Store(tmp_path / "store")
    tasks = [task("echo", tmp_path, name="a"), task("held", tmp_path, name="last", until="go")]

    def lose(place: int) -> None:
        appears(tmp_path / "last.begun")
        cluster.scheduler.kill()

    with open_pool(processes=1, cluster=cluster.address, store=store) as pool:
        for _ in range(2):
            with pytest.raises(WrongPlace) as lost:
                pool.run(tasks, no, lose)
            assert str(lost.value) == (
                f"the connection to the dask scheduler at {cluster.address} was lost; give the command again: what was "
                "finished is taken from where it is kept"
            )
    assert store.get(tasks[0].key) == b"A"
    (tmp_path / "go").touch()
