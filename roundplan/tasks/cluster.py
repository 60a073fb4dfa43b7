"""Tasks on the workers of a dask cluster."""

from __future__ import annotations

import logging
import re
import threading
import time
import uuid
from collections.abc import Callable, Sequence
from concurrent.futures import CancelledError
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from queue import Empty, SimpleQueue
from types import TracebackType
from typing import Any, Self

from roundplan import __version__
from roundplan.domain.outcome import WrongPlace
from roundplan.tasks.batch import Batch
from roundplan.tasks.local import GRACE, POLL
from roundplan.tasks.store import Store
from roundplan.tasks.task import Shared, Task, TaskFailed, TaskLost, never
from roundplan.tasks.work import Outcome, call

CONNECT = 10.0
"""Seconds in which the scheduler must answer."""
WORKERS = 10.0
"""Seconds in which it must have a worker."""

_ADDRESS = re.compile(r"(tcp|tls)://[^\s/]+:\d{1,5}", re.ASCII)
"""The library itself would take an empty address for the wish to start a cluster of its own."""

_stopped: set[str] = set()
"""On a worker: the runs that are to stop."""


@dataclass(slots=True)
class _Run:
    """One call of :meth:`ClusterPool.run`: its tasks by the library's handle, and what the library has brought back."""

    name: str
    batch: Batch
    at_work: dict[Any, Task] = field(default_factory=dict)
    ended: SimpleQueue[tuple[Any, Any]] = field(default_factory=SimpleQueue)


class ClusterPool:
    """Tasks on the workers of a dask cluster, which gives a lost worker's tasks to others.

    Parameters
    ----------
    address : str
        The scheduler's, such as ``tcp://10.0.0.5:8786``.
    store : Store or None
        Keeps each result, on this machine, as soon as it is there.

    Raises
    ------
    WrongPlace
        On entering, if the address is none, the extra ``cluster`` is not installed, the scheduler does not answer or
        has no worker, or its workers have another version of the program.
    """

    def __init__(self, address: str, store: Store | None = None) -> None:
        self.address = address
        self._store = store
        self._client: Any = None
        self._shared: dict[str, Any] = {}
        self._levels: dict[logging.Logger, int] = {}

    def __enter__(self) -> Self:
        try:
            from distributed import Client
        except ImportError:
            raise WrongPlace(
                "working on a cluster needs an extra part of the program; install it with: pip install "
                "'roundplan[cluster]'"
            ) from None
        if not _ADDRESS.fullmatch(self.address):
            raise WrongPlace(f"“{self.address}” is no address of a dask scheduler; write it as in tcp://10.0.0.5:8786")
        self._silence()
        try:
            self._client = Client(self.address, timeout=CONNECT, set_as_default=False)
        except (OSError, ValueError, TypeError) as error:
            self._speak()
            raise WrongPlace(
                f"no dask scheduler answers at {self.address}; start one there with: dask scheduler (or leave "
                "--cluster out to work on this machine)"
            ) from error
        try:
            self._check_workers()
        except BaseException:
            self._close()
            raise
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._close()

    def _close(self) -> None:
        self._shared.clear()
        self._client.close()
        self._speak()

    def _silence(self) -> None:
        """Keep the library's log off the terminal: what matters of it is said here in plain words."""
        for name in ("distributed", "distributed.client"):
            log = logging.getLogger(name)
            self._levels[log] = log.level
            log.setLevel(logging.CRITICAL + 1)

    def _speak(self) -> None:
        for log, level in self._levels.items():
            log.setLevel(level)

    def run(
        self,
        tasks: Sequence[Task],
        stop: Callable[[], bool] = never,
        on_done: Callable[[int], None] | None = None,
    ) -> list[bytes | None]:
        """Run tasks; see :class:`roundplan.tasks.Pool`."""
        run = _Run(uuid.uuid4().hex, Batch(tasks, self._store, on_done))
        try:
            while run.batch.waiting and not stop():
                self._begin(run, run.batch.waiting.popleft())
            self._collect(run, stop)
        except OSError as error:
            if self._client.status == "running":
                raise
            raise self._lost() from error
        finally:
            if run.at_work and self._client.status == "running":
                with suppress(OSError):
                    self._client.cancel(list(run.at_work), force=True)
        return run.batch.results

    def _begin(self, run: _Run, task: Task) -> None:
        """Hand a task to the scheduler under a name of this run, so that no result is mixed up with another run's."""
        shared = None if task.shared is None else self._sent(task.shared)
        name = f"roundplan-{run.name}-{task.key}"
        future = self._client.submit(_call, task.function, task.payload, shared, run.name, key=name, pure=False)
        run.at_work[future] = task
        future.add_done_callback(partial(_fetch, run.ended))

    def _collect(self, run: _Run, stop: Callable[[], bool]) -> None:
        """Take in what ends, until all has ended or the time after a stop is over."""
        until: float | None = None
        while run.at_work and (until is None or time.monotonic() < until):
            if self._client.status != "running":
                raise self._lost()
            if until is None and stop():
                until = time.monotonic() + GRACE
                self._tell(run)
            with suppress(Empty):
                future, answer = run.ended.get(timeout=POLL)
                task = run.at_work.pop(future, None)
                if task is not None:
                    self._take_in(task, answer, run.batch)
                    future.release()

    def _lost(self) -> WrongPlace:
        return WrongPlace(
            f"the connection to the dask scheduler at {self.address} was lost; give the command again: what was "
            "finished is taken from where it is kept"
        )

    def _sent(self, shared: Shared) -> Any:
        """Return the shared data as a task of its own: each worker fetches it once, and none is missed."""
        if shared.name not in self._shared:
            import dask

            with dask.config.set({"distributed.admin.large-graph-warning-threshold": "1TB"}):
                name = f"roundplan-shared-{uuid.uuid4().hex}"
                self._shared[shared.name] = self._client.submit(_same, shared, key=name, pure=False)
        return self._shared[shared.name]

    def _tell(self, run: _Run) -> None:
        """Take back the tasks that no worker has yet, and let the workers know that they should stop."""
        sent = {key for keys in self._client.processing().values() for key in keys}
        idle = [future for future in run.at_work if future.key not in sent]
        for future in idle:
            del run.at_work[future]
        self._client.cancel(idle)
        # a worker in trouble may take long to answer, which nobody waits for
        threading.Thread(target=_tell_workers, args=(self._client, run.name), daemon=True).start()

    def _take_in(self, task: Task, answer: Any, batch: Batch) -> None:
        from distributed import KilledWorker

        if isinstance(answer, Outcome):
            batch.finish(task, answer)
        elif isinstance(answer, CancelledError):
            raise self._lost() from answer
        elif isinstance(answer, KilledWorker):
            raise TaskLost(
                "a part of the search brought worker after worker of the cluster down, most likely for want of "
                "memory; start fewer workers on each machine"
            ) from answer
        else:
            raise TaskFailed(task.function, f"{type(answer).__name__}: {answer}")

    def _check_workers(self) -> None:
        """Refuse a cluster without workers, or whose workers would not work the same."""
        try:
            self._client.wait_for_workers(1, timeout=WORKERS)
        except TimeoutError:
            raise WrongPlace(
                f"the dask scheduler at {self.address} has no workers; start some with: dask worker {self.address} "
                "--nthreads 1"
            ) from None
        answers = self._client.run(_version, on_error="return")
        for worker, answer in sorted(answers.items()):
            if isinstance(answer, Exception) and "No module named" in str(answer):
                raise WrongPlace(f"the worker at {worker} has no roundplan; install version {__version__} there")
            if isinstance(answer, str) and answer != __version__:
                raise WrongPlace(f"the worker at {worker} has roundplan {answer}; install version {__version__} there")


def _fetch(ended: SimpleQueue[tuple[Any, Any]], future: Any) -> None:
    """Bring a result here, in a thread of the library; if its worker has just been lost, once another has made it."""
    try:
        answer = future.result()
    except BaseException as error:
        answer = error
    ended.put((future, answer))


def _call(function: str, payload: bytes, shared: Shared | None, run: str) -> Outcome:
    if run in _stopped:  # it was in the worker's queue when the run was stopped
        return Outcome(None, cut=True)
    return call(function, payload, shared, lambda: run in _stopped)


def _same(shared: Shared) -> Shared:
    return shared


def _tell_workers(client: Any, run: str) -> None:
    with suppress(Exception):
        client.run(_note_stop, run, on_error="ignore")


def _note_stop(run: str) -> None:
    _stopped.add(run)


def _version() -> str:
    return __version__
