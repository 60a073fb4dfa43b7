"""What a task is, and what every pool of tasks does."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import TracebackType
from typing import Protocol, Self

from roundplan import __version__
from roundplan.domain.outcome import WrongPlace


def never() -> bool:
    """Never ask to stop."""
    return False


@dataclass(frozen=True, slots=True)
class Shared:
    """Bytes that many tasks read; each worker gets them once.

    It hashes and compares by name, so that a function keeps what it decodes with ``lru_cache`` on this object.

    Attributes
    ----------
    name : str
        Stands for the data in the key of each task.
    data : bytes
        The data themselves.
    """

    name: str
    data: bytes = field(compare=False, repr=False)


def share(data: bytes, name: str | None = None) -> Shared:
    """Return bytes that many tasks read.

    Parameters
    ----------
    data : bytes
        For example a pickled round.
    name : str, optional
        What the data stand for, the same in every run and for nothing else. Must be given where equal content can come
        out as other bytes in another process, as sets in a pickle do: :func:`roundplan.tasks.fingerprint` makes it.
        None = the SHA-256 of the data.
    """
    return Shared(hashlib.sha256(data).hexdigest() if name is None else name, data)


@dataclass(frozen=True, slots=True)
class Task:
    """One independent piece of work.

    Attributes
    ----------
    function : str
        ``package.module:function``, importable in the worker. It is called with the payload, and with ``shared``
        second if that is given, and returns bytes.
    payload : bytes
        Its input: the same bytes in every run for the same work, since they name the stored result.
    shared : Shared or None
        What it reads beside.
    """

    function: str
    payload: bytes
    shared: Shared | None = None

    @property
    def key(self) -> str:
        """SHA-256 of program version, function, name of the shared data and payload; names the stored result."""
        digest = hashlib.sha256()
        shared = b"" if self.shared is None else self.shared.name.encode()
        for part in (__version__.encode(), self.function.encode(), shared, self.payload):
            digest.update(len(part).to_bytes(8, "big"))
            digest.update(part)
        return digest.hexdigest()


class Pool(Protocol):
    """Runs tasks; a context manager."""

    def __enter__(self) -> Self:
        """Open the pool."""
        ...

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """End all that still runs."""
        ...

    def run(
        self,
        tasks: Sequence[Task],
        stop: Callable[[], bool] = never,
        on_done: Callable[[int], None] | None = None,
    ) -> list[bytes | None]:
        """Run tasks; equal ones run once, and those with a stored result not at all.

        Parameters
        ----------
        tasks : sequence of Task
            Begun in this order.
        stop : callable
            Polled at least every 0.1 seconds; once true no task begins, and running ones are told so
            (:func:`roundplan.tasks.stopping`) and ended a second later if need be.
        on_done : callable, optional
            Given the place of each task that is done, in the order in which they end.

        Returns
        -------
        list of bytes or None
            Results in the order of the tasks; None = not done because of ``stop``.

        Raises
        ------
        TaskFailed
            If a function raised.
        TaskLost
            If a task brought its worker down again and again.
        WrongPlace
            If a result cannot be stored, or the cluster cannot be reached.
        """
        ...


class Stopped(Exception):
    """Raised by a task's function that was told to stop and has nothing to return."""


class TaskFailed(Exception):
    """A task's function raised; the note gives its traceback."""

    def __init__(self, function: str, traceback: str) -> None:
        last = traceback.strip().splitlines()[-1] if traceback.strip() else "no details"
        super().__init__(f"{function}: {last}")
        self.add_note(traceback)


class TaskLost(WrongPlace):
    """A task's worker ended again and again before there was a result; the text says so in plain words."""
