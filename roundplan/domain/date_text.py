"""Dates in a few words."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from itertools import groupby

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
"""Names by number less one, whatever the locale."""


def day_text(day: date) -> str:
    """Write a date as ``3 February 2027``."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def compact_dates(days: Iterable[date]) -> str:
    """Write dates compactly: ``1–3, 9 February 2027; 2 March 2027``."""
    months = groupby(sorted(set(days)), key=lambda day: (day.year, day.month))
    return "; ".join(f"{_runs(list(group))} {MONTHS[month - 1]} {year}" for (year, month), group in months)


def _runs(days: list[date]) -> str:
    runs: list[list[date]] = []
    for day in days:
        if runs and day - runs[-1][-1] == timedelta(days=1):
            runs[-1].append(day)
        else:
            runs.append([day])
    return ", ".join(str(run[0].day) if len(run) == 1 else f"{run[0].day}–{run[-1].day}" for run in runs)
