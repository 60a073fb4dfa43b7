"""One entry of a calendar, before it is written: what, when, where, and the key that it keeps from plan to plan."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from roundplan.domain.clock import MINUTE

_NAMESPACE = uuid.UUID("b2b8f3f0-6c1e-5f0a-9a34-0d6f5b1c7e21")  # this program's own; changed, all entries would be new


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry.

    Attributes
    ----------
    key : tuple of str
        What the entry is about, such as kind, date and number: entries with equal keys are the same one, moved or
        changed.
    start, end : datetime or date
        Local time without a zone; of whole days the dates, the end left out.
    place : tuple of (float, float) or None
        Latitude and longitude in degrees.
    busy : bool
        Whether the time counts as taken.
    """

    key: tuple[str, ...]
    start: datetime | date
    end: datetime | date
    summary: str
    lines: tuple[str, ...] = ()
    location: str = ""
    place: tuple[float, float] | None = None
    busy: bool = True


def entry_uid(round_name: str, person: str, key: tuple[str, ...]) -> str:
    """Return an entry's identity, the same in every version: UUID 5 of round, slot and whose calendar it is in."""
    return str(uuid.uuid5(_NAMESPACE, json.dumps([round_name, person, *key])))


def begin(day: date, seconds: int) -> datetime:
    """Return a time of day as local time without a zone, rounded down to the minute as documents say it."""
    return _local(day, seconds - seconds % MINUTE)


def finish(day: date, seconds: int) -> datetime:
    """Return a time of day as local time without a zone, rounded up to the minute; past midnight the next date's."""
    return _local(day, seconds + -seconds % MINUTE)


def _local(day: date, seconds: int) -> datetime:
    return datetime.combine(day, datetime.min.time()) + timedelta(seconds=seconds)
