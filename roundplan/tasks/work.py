"""The worker's side: calls a task's function, and tells it when it should stop."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from roundplan.tasks.task import Shared, Stopped, never


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a task ended.

    Attributes
    ----------
    result : bytes or None
        What its function returned; None if it stopped without a result or failed.
    cut : bool
        It was told to stop, so another run might find more: not to be stored.
    failure : str
        Traceback of a function that raised; empty otherwise.
    """

    result: bytes | None
    cut: bool = False
    failure: str = ""


@dataclass(slots=True, eq=False)
class _Watch:
    """Whether a running task is asked to stop, and whether it knows."""

    asked: Callable[[], bool]
    known: bool = False


_running: list[_Watch] = []
_own: ContextVar[_Watch | None] = ContextVar("_own", default=None)


def stopping() -> bool:
    """Tell whether the task at work is asked to stop; cheap enough to ask a thousand times a second.

    A function that looks here ends early with what it has; its result is returned but not stored, since it depends on
    when it was stopped. In a thread that a library has started there is no telling which of several tasks asks; true
    only if all of them should stop. False outside a task.
    """
    own = _own.get()
    watches = [own] if own is not None else list(_running)
    asked = bool(watches) and all(watch.asked() for watch in watches)
    if asked:
        for watch in watches:
            watch.known = True
    return asked


def call(function: str, payload: bytes, shared: Shared | None = None, asked: Callable[[], bool] = never) -> Outcome:
    """Call a task's function; whatever it raises is part of the outcome.

    Parameters
    ----------
    function, payload, shared
        As in :class:`roundplan.tasks.Task`.
    asked : callable
        Whether the task should stop.
    """
    watch = _Watch(asked)
    _running.append(watch)
    token = _own.set(watch)
    try:
        target = _named(function)
        result = target(payload) if shared is None else target(payload, shared)
        if not isinstance(result, bytes):
            raise TypeError(f"returned {type(result).__name__}, not bytes")
    except Stopped:
        return Outcome(None, cut=True)
    except Exception:
        return Outcome(None, failure=traceback.format_exc())
    finally:
        _own.reset(token)
        _running.remove(watch)
    return Outcome(result, cut=watch.known)


def _named(function: str) -> Any:
    module, _, name = function.partition(":")
    return getattr(import_module(module), name)
