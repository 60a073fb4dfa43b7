"""Tasks on this machine.

The workers are processes of their own, fed one task at a time, so that the death of one names the task that it was at,
leaves the others alone, and a task can be ended from outside whatever library code it is in. (The standard library's
process pool gives up all that runs when one worker dies.)
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from multiprocessing.connection import wait
from types import TracebackType
from typing import Self

from roundplan.tasks.batch import Batch
from roundplan.tasks.child import Worker
from roundplan.tasks.store import Store
from roundplan.tasks.task import Task, TaskLost, never
from roundplan.tasks.work import Outcome, call

POLL = 0.05
"""Seconds between two looks at ``stop``."""
GRACE = 1.0
"""Seconds that tasks have from the wish to stop until they are ended."""
DEATHS = 3
"""Workers that one task may cost."""


class LocalPool:
    """Tasks in worker processes of this machine.

    Parameters
    ----------
    processes : int
        Workers, one a core. With 0 the tasks run in the calling process one after another, which saves the start of a
        worker; so they do with 1 where no ``stop`` is given. Where one is, only another process can be ended in the
        middle of a task that does not look at :func:`roundplan.tasks.stopping`.
    store : Store or None
        Keeps each result as soon as it is there.
    prepare : Task or None
        Run by each worker when it starts; workers then start with the pool, not with the first tasks.
    """

    def __init__(self, processes: int, store: Store | None = None, prepare: Task | None = None) -> None:
        self._processes = processes
        self._store = store
        self._prepare = prepare
        self._workers: list[Worker] = []
        self._runs = 0

    def __enter__(self) -> Self:
        if self._prepare is not None:
            self._workers += [Worker(self._prepare) for _ in range(self._processes)]
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._end(self._workers)

    def run(
        self,
        tasks: Sequence[Task],
        stop: Callable[[], bool] = never,
        on_done: Callable[[int], None] | None = None,
    ) -> list[bytes | None]:
        """Run tasks; see :class:`roundplan.tasks.Pool`."""
        batch = Batch(tasks, self._store, on_done)
        if self._processes < 1 or (self._processes == 1 and stop is never):
            _run_here(batch, stop)
        else:
            self._runs += 1
            try:
                self._run(batch, stop)
            finally:
                self._end([worker for worker in self._workers if worker.task is not None])
        return batch.results

    def _run(self, batch: Batch, stop: Callable[[], bool]) -> None:
        deaths: Counter[str] = Counter()
        while batch.waiting or any(worker.task is not None for worker in self._workers):
            if stop():
                self._wind_down(batch)
                return
            self._deal(batch, deaths)
            self._collect(batch, deaths)

    def _deal(self, batch: Batch, deaths: Counter[str]) -> None:
        """Start workers where some are missing, and give tasks to those that are ready."""
        wanted = sum(worker.task is None for worker in self._workers)
        while len(self._workers) < self._processes and wanted < len(batch.waiting):
            self._workers.append(Worker(self._prepare))
            wanted += 1
        for worker in [worker for worker in self._workers if worker.ready]:
            if batch.waiting:
                try:
                    worker.begin(batch.waiting.popleft(), self._runs)
                except OSError:
                    self._died(worker, batch, deaths)

    def _collect(self, batch: Batch, deaths: Counter[str]) -> None:
        """Take in what the workers send within the time between two looks at ``stop``."""
        by_pipe = {worker.orders: worker for worker in self._workers}
        for pipe in wait(list(by_pipe), POLL):
            worker = by_pipe[pipe]  # type: ignore[index]
            try:
                done = worker.receive()
            except (EOFError, OSError):
                self._died(worker, batch, deaths)
            else:
                if done is not None:
                    batch.finish(*done)

    def _died(self, worker: Worker, batch: Batch, deaths: Counter[str]) -> None:
        """Do without a worker; its task is run again by another.

        Raises
        ------
        TaskLost
            If that has happened too often.
        """
        task, idle = worker.task, worker.ready
        self._end([worker])
        if idle:
            return  # another is started when there is something to do
        key = "" if task is None else task.key
        deaths[key] += 1
        if deaths[key] >= DEATHS:
            what = "a part of the search was" if task is not None else "processes for the search were"
            raise TaskLost(
                f"{what} ended from outside {DEATHS} times, most likely for want of memory; give fewer processes with "
                "--processes, or close other programs"
            )
        if task is not None:
            batch.waiting.appendleft(task)

    def _wind_down(self, batch: Batch) -> None:
        """Tell the tasks at work to stop, and take in what they have within the time that they are given."""
        until = time.monotonic() + GRACE
        for worker in self._workers:
            if worker.task is not None:
                worker.stop(self._runs)
        while busy := {worker.orders: worker for worker in self._workers if worker.task is not None}:
            ready = wait(list(busy), max(until - time.monotonic(), 0))
            if not ready:
                return
            for pipe in ready:
                worker = busy[pipe]  # type: ignore[index]
                try:
                    done = worker.receive()
                except (EOFError, OSError):
                    self._end([worker])
                else:
                    if done is not None:
                        batch.finish(*done)

    def _end(self, workers: list[Worker]) -> None:
        for worker in list(workers):
            worker.end()
            self._workers.remove(worker)


def _run_here(batch: Batch, stop: Callable[[], bool]) -> None:
    while batch.waiting and not stop():
        task = batch.waiting.popleft()
        outcome: Outcome = call(task.function, task.payload, task.shared, stop)
        batch.finish(task, outcome)
