"""Sets of dates as people write them: weekdays, single dates, stretches of dates."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

WEEKDAY_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
"""Weekday codes of RFC 5545, Monday first (index = ``date.weekday()``)."""


@dataclass(frozen=True, slots=True)
class DaySet:
    """Dates given by weekday, one by one, or as stretches with both ends included."""

    weekdays: frozenset[int] = frozenset()
    dates: frozenset[date] = frozenset()
    stretches: tuple[tuple[date, date], ...] = ()

    def __contains__(self, day: date) -> bool:
        return (
            day.weekday() in self.weekdays
            or day in self.dates
            or any(first <= day <= last for first, last in self.stretches)
        )

    def __bool__(self) -> bool:
        return bool(self.weekdays or self.dates or self.stretches)


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of dates, both included."""

    first: date
    last: date

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def __iter__(self) -> Iterator[date]:
        day = self.first
        while day <= self.last:
            yield day
            day += timedelta(days=1)
