"""The tasks of one run: which are done, which are left."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence

from roundplan.tasks.store import Store
from roundplan.tasks.task import Task, TaskFailed
from roundplan.tasks.work import Outcome


class Batch:
    """Takes results in; equal tasks count as one, and those with a stored result are done from the start.

    Attributes
    ----------
    waiting : deque of Task
        Still to be begun.
    results : list of bytes or None
        In the order of the tasks.
    """

    def __init__(self, tasks: Sequence[Task], store: Store | None, on_done: Callable[[int], None] | None) -> None:
        self.results: list[bytes | None] = [None] * len(tasks)
        self.waiting: deque[Task] = deque()
        self._store = store
        self._on_done = on_done
        self._places: dict[str, list[int]] = {}
        distinct: dict[str, Task] = {}
        for place, task in enumerate(tasks):
            key = task.key
            distinct.setdefault(key, task)
            self._places.setdefault(key, []).append(place)
        for key, task in distinct.items():
            stored = None if store is None else store.get(key)
            if stored is None:
                self.waiting.append(task)
            else:
                self._place(key, stored)

    def finish(self, task: Task, outcome: Outcome) -> None:
        """Take in how a task ended: keep its result, at once.

        Raises
        ------
        TaskFailed
            If its function raised.
        """
        if outcome.failure:
            raise TaskFailed(task.function, outcome.failure)
        if outcome.result is None:
            return
        key = task.key
        if self._store is not None and not outcome.cut:
            self._store.put(key, outcome.result)
        self._place(key, outcome.result)

    def _place(self, key: str, result: bytes) -> None:
        for place in self._places[key]:
            self.results[place] = result
            if self._on_done is not None:
                self._on_done(place)
