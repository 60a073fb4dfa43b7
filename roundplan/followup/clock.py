"""The one place where the program asks what time it is, once a plan lives."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

_held: ContextVar[datetime | None] = ContextVar("_held", default=None)


def now() -> datetime:
    """Return the present moment, UTC, to the second."""
    return (_held.get() or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)


def today(time_zone: str) -> date:
    """Return the date that it is now in a time zone (IANA name)."""
    return now().astimezone(ZoneInfo(time_zone)).date()


@contextmanager
def held_at(moment: datetime) -> Iterator[None]:
    """Let the clock stand still within; ``moment`` knows its time zone."""
    token = _held.set(moment)
    try:
        yield
    finally:
        _held.reset(token)
