"""A decomposed search that is cut off, or loses a worker, ends with the plan of an undisturbed one, byte for byte.

Each run is the command in a process of its own, in reproducible mode. Every call of a task's function is noted in a
file, by the task's key, through a module that Python loads at its start.
"""

from __future__ import annotations

import dataclasses
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import test_tasks_cluster
from task_functions import PATIENCE

from roundplan.intake import write_round
from roundplan.tasks import Store

ROOT = Path(__file__).parents[2]
WORK = 6.0
NOTING = """
import os
from roundplan.tasks import work
from roundplan.tasks.task import Task, never

call = work.call


def noted(function, payload, shared=None, asked=never):
    outcome = call(function, payload, shared, asked)
    if not function.endswith(":prepare"):  # every worker that starts runs that one
        with open(os.environ["ROUNDPLAN_NOTED"], "a") as file:
            file.write(Task(function, payload, shared).key + chr(10))
    return outcome


if "ROUNDPLAN_NOTED" in os.environ:
    work.call = noted
"""

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="finds workers in /proc")


@dataclass(frozen=True)
class Place:
    """Where the runs of this module work: tables, the noting module, and the folder of one run's outputs."""

    inputs: Path
    site: Path
    out: Path

    @property
    def noted(self) -> Path:
        """File with the keys of the tasks that were worked off."""
        return self.out.with_suffix(".noted")

    def keys(self) -> list[str]:
        """Return the keys of the tasks worked off, once a call."""
        return self.noted.read_text().split() if self.noted.exists() else []

    def environment(self) -> dict[str, str]:
        """Return the environment of a command whose tasks are noted."""
        paths = os.pathsep.join([str(self.site), str(ROOT)])
        return {**os.environ, "PYTHONPATH": paths, "PYTHONIOENCODING": "utf-8", "ROUNDPLAN_NOTED": str(self.noted)}

    def stores(self) -> list[Path]:
        """Return the folders of finished tasks beside the outputs."""
        return [path for path in self.out.parent.glob(f".{self.out.name}.tasks/*") if path.is_dir()]

    def stored(self) -> set[str]:
        """Return the keys of the finished tasks that are kept."""
        found = [path for store in self.stores() for path in store.iterdir()]
        return {path.name for path in found if len(path.name) == 64}

    def plan(self) -> bytes:
        """Return the plan that was written."""
        return (self.out / "plan.json").read_bytes()


@contextmanager
def planning(place: Place, *more: str) -> Iterator[subprocess.Popen[str]]:
    """Start the command; whatever of it is left at the end is ended."""
    command = [sys.executable, "-m", "roundplan", "plan", str(place.inputs), "--out", str(place.out)]
    process = subprocess.Popen(
        [*command, "--search", "decomposed", *(more or ("--processes", "2"))],
        env=place.environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8",
    )  # fmt: skip
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def finished(process: subprocess.Popen[str]) -> str:
    """Wait for a command to end well; return what it said and told meanwhile, none of it a library's own words."""
    said, told = process.communicate(timeout=2 * PATIENCE)
    assert process.returncode == 0, told
    assert "HiGHS" not in said + told
    return said + told


def until_stored(place: Place, process: subprocess.Popen[str], count: int) -> None:
    """Wait until so many finished tasks are kept while the command runs."""
    until = time.monotonic() + PATIENCE
    while len(place.stored()) < count:
        assert process.poll() is None, "the run was over too soon"
        assert time.monotonic() < until
        time.sleep(0.01)


def audited(place: Place) -> bool:
    """Whether the command finds no breach in what was written."""
    command = [sys.executable, "-m", "roundplan", "audit", str(place.out)]
    return subprocess.run(command, env=place.environment(), capture_output=True, timeout=PATIENCE).returncode == 0


@pytest.fixture(scope="module")
def ground(tmp_path_factory: pytest.TempPathFactory) -> Place:
    """Write the tables of an invented round and the module that notes; no run has been made."""
    folder = tmp_path_factory.mktemp("resume")
    sys.path.insert(0, str(ROOT / "tests" / "bench"))
    try:
        from generator import generate
    finally:
        sys.path.pop(0)
    training_round = generate(6, 6, 2, seed=1)
    search = dataclasses.replace(training_round.settings.search, reproducible=True, work_limit=WORK)
    settings = dataclasses.replace(training_round.settings, search=search)
    write_round(training_round.replace(settings=settings), folder / "tables")
    site = folder / "site"
    site.mkdir()
    (site / "sitecustomize.py").write_text(NOTING)
    return Place(folder / "tables", site, folder / "UNDISTURBED")


@pytest.fixture(scope="module")
def undisturbed(ground: Place) -> Place:
    """Make the run that nothing disturbs."""
    with planning(ground) as process:
        finished(process)
    assert len(ground.keys()) == len(set(ground.keys())) >= 4
    assert ground.stores() == []
    return ground


@pytest.fixture
def place(ground: Place, tmp_path: Path) -> Place:
    """Return a place for another run over the same tables."""
    return Place(ground.inputs, ground.site, tmp_path / "OUT")


def test_a_killed_run_goes_on_where_it_was(undisturbed: Place, place: Place) -> None:
    with planning(place) as process:
        until_stored(place, process, 2)
        process.send_signal(signal.SIGKILL)
        process.wait(PATIENCE)
    assert not (place.out / "plan.json").exists()
    kept = place.stored()
    assert len(kept) >= 2
    (store,) = place.stores()
    assert Store(store).count() == len(kept)
    place.noted.unlink()
    with planning(place) as process:
        told = finished(process)
    assert f"resuming: {len(kept)} finished tasks found" in told
    assert not kept & set(place.keys()), "what was kept is not worked out again"
    assert kept | set(place.keys()) == set(undisturbed.keys())
    assert len(place.keys()) == len(set(place.keys()))
    assert place.plan() == undisturbed.plan()
    assert place.stores() == []
    assert audited(place)


def a_worker_of(process: subprocess.Popen[str]) -> int:
    """Return the worker process that a command has started last; waits until there is one."""
    until = time.monotonic() + PATIENCE
    while True:
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
        workers = [int(pid) for pid in children if b"spawn_main" in Path(f"/proc/{pid}/cmdline").read_bytes()]
        if workers:
            return max(workers)
        assert time.monotonic() < until
        time.sleep(0.01)


def test_a_killed_worker_changes_nothing(undisturbed: Place, place: Place) -> None:
    with planning(place) as process:
        until_stored(place, process, 1)
        os.kill(a_worker_of(process), signal.SIGKILL)
        finished(process)
    assert set(place.keys()) == set(undisturbed.keys())
    assert place.plan() == undisturbed.plan()


def test_a_cluster_that_loses_a_worker_gives_the_same_plan(
    undisturbed: Place, place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from distributed import Client

    dask = test_tasks_cluster.dask
    for name, value in place.environment().items():
        monkeypatch.setitem(test_tasks_cluster.ENVIRONMENT, name, value)
    file = tmp_path / "scheduler.json"
    scheduler = ("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(file))
    with dask(tmp_path, *scheduler):
        until = time.monotonic() + PATIENCE
        while not (file.exists() and file.read_text().strip().endswith("}")):
            assert time.monotonic() < until
            time.sleep(0.05)
        workers = ("worker", "--scheduler-file", str(file), "--nthreads", "1", "--nworkers", "2", "--no-dashboard")
        with (
            dask(tmp_path, *workers, "--local-directory", str(tmp_path)),
            Client(scheduler_file=str(file), timeout=PATIENCE, set_as_default=False) as client,
        ):
            client.wait_for_workers(2, timeout=PATIENCE)
            pids = client.run(os.getpid)
            with planning(place, "--cluster", client.scheduler.address) as process:
                until_stored(place, process, 1)
                os.kill(min(pids.values()), signal.SIGKILL)
                finished(process)
    assert set(place.keys()) == set(undisturbed.keys())
    assert place.plan() == undisturbed.plan()
