"""A worker process of this machine: how it is started, what runs in it, how it is fed.

Two pipes lead to it. Through one, orders go in and outcomes come back; through the other, the number of the run that
is to stop. The worker's end of the second also says when the parent is gone, however it died: then the worker ends too.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from types import ModuleType

from roundplan.tasks.task import Shared, Task
from roundplan.tasks.work import Outcome, call

KEPT = 2
"""Shared data that a worker holds at a time; older ones are sent again when needed."""
_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, slots=True)
class Order:
    """One call to make; ``data`` is empty where the worker holds the shared data already."""

    run: int
    function: str
    payload: bytes
    shared: str | None = None
    data: bytes | None = None


class _Held(OrderedDict[str, bytes]):
    """The shared data that a worker holds; parent and worker keep the same book."""

    def keep(self, name: str, data: bytes) -> None:
        self[name] = data
        while len(self) > KEPT:
            self.popitem(last=False)


class _Process(SpawnProcess):
    """Starts without running the user's own script again, and out of reach of Ctrl-C, which the parent decides on."""

    def start(self) -> None:
        own = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        masked = hasattr(signal, "pthread_sigmask")
        if masked:
            from multiprocessing.resource_tracker import ensure_running

            ensure_running()  # it would lift the mask
            earlier = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            super().start()
        finally:
            sys.modules["__main__"] = own
            if masked:
                signal.pthread_sigmask(signal.SIG_SETMASK, earlier)


class Worker:
    """One worker process as the parent sees it.

    Attributes
    ----------
    orders : Connection
        Readable when there is something to :meth:`receive`.
    task : Task or None
        At work on.
    ready : bool
        Waits for a task.
    """

    def __init__(self, prepare: Task | None = None) -> None:
        context = get_context("spawn")
        self.orders, far_orders = context.Pipe()
        self._stops_out, self._stops = context.Pipe(duplex=False)
        self._process = _Process(target=serve, args=(far_orders, self._stops_out), daemon=True)
        self._process.start()
        far_orders.close()
        self._stops_out.close()
        self._held = _Held()
        self.task: Task | None = None
        self.ready = False
        self._preparing = prepare is not None
        if prepare is not None:
            with suppress(OSError):  # a worker that is gone already is found out when it is asked for
                self._hand(prepare, 0)

    def begin(self, task: Task, run: int) -> None:
        """Hand a task over.

        Raises
        ------
        OSError
            If the worker is gone.
        """
        self.task, self.ready = task, False
        self._hand(task, run)

    def _hand(self, task: Task, run: int) -> None:
        name, data = None, None
        if task.shared is not None:
            name = task.shared.name
            if name not in self._held:
                data = task.shared.data
                self._held.keep(name, b"")
        self.orders.send(Order(run, task.function, task.payload, name, data))

    def receive(self) -> tuple[Task, Outcome] | None:
        """Take a message in; None = it has just become ready.

        Raises
        ------
        EOFError, OSError
            If the worker is gone.
        """
        outcome = self.orders.recv()
        if self._preparing:
            self._preparing = outcome is None
            self.ready = not self._preparing
            return None
        task, self.task, self.ready = self.task, None, True
        return None if outcome is None or task is None else (task, outcome)

    def stop(self, run: int) -> None:
        """Tell the task at work that its run is to stop."""
        with suppress(OSError):
            self._stops.send(run)

    def end(self) -> None:
        """End the process at once, whatever it does."""
        self._process.kill()
        self._process.join()
        self._process.close()
        self.orders.close()
        self._stops.close()


def serve(orders: Connection, stops: Connection) -> None:
    """Work off orders until the parent is gone: what a worker process runs."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in _ONE_THREAD:  # one process a core; no task's library takes all cores for itself
        os.environ.setdefault(name, "1")
    stopped = [0]
    threading.Thread(target=_listen, args=(stops, stopped), daemon=True).start()
    held = _Held()
    try:
        orders.send(None)
        while True:
            order: Order = orders.recv()
            orders.send(_done(order, held, stopped))
    except (EOFError, OSError):
        return


def _done(order: Order, held: _Held, stopped: list[int]) -> Outcome:
    shared = None
    if order.shared is not None:
        if order.data is not None:
            held.keep(order.shared, order.data)
        shared = Shared(order.shared, held[order.shared])
    return call(order.function, order.payload, shared, lambda: stopped[0] >= order.run)


def _listen(stops: Connection, stopped: list[int]) -> None:
    try:
        while True:
            stopped[0] = stops.recv()
    except (EOFError, OSError):
        os._exit(0)
