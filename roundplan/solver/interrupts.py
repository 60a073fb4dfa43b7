"""Ctrl-C during a search: a wish to stop, not an accident."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def interrupts_noted(note: Callable[[], None]) -> Iterator[None]:
    """Call ``note`` on Ctrl-C instead of breaking off; outside the main thread nothing changes."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    earlier = signal.signal(signal.SIGINT, lambda _number, _frame: note())
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, earlier)
