"""The clock of a teaching day: where slots, lunch and pauses fall for a given start."""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.domain.clock import HOUR, MINUTE
from roundplan.domain.plan import Pause
from roundplan.domain.settings import SessionSettings

GRID = 5 * MINUTE
NOON = 12 * HOUR
LUNCH_FROM = 11 * HOUR
LUNCH_TO = 14 * HOUR


@dataclass(frozen=True, slots=True)
class Timetable:
    """One teaching day: slot starts, pauses, and the end of the closing."""

    start: int
    slots: tuple[int, ...]
    pauses: tuple[Pause, ...]
    end: int


def timetable(settings: SessionSettings, start: int, slots: int) -> Timetable | None:
    """Lay out a day with a number of slots, each as early as it can be; None if lunch cannot be placed.

    A day that ends by noon has no lunch. Otherwise lunch is taken at the slot boundary that gives the earliest end.
    """
    without = _lay(settings, start, slots, None)
    if start >= NOON or without.end <= NOON or settings.lunch == 0:
        return without
    options = [_lay(settings, start, slots, after) for after in range(slots + 1)]
    fitting = [
        day for day in options if any(p.kind == "lunch" and LUNCH_FROM <= p.start <= LUNCH_TO for p in day.pauses)
    ]
    return min(fitting, key=lambda day: day.end, default=None)


def _lay(settings: SessionSettings, start: int, slots: int, lunch_after: int | None) -> Timetable:
    """Lay out slots with lunch after so many of them (None = no lunch)."""
    clock = _past_pauses(settings, start, settings.opening * MINUTE)
    clock += settings.opening * MINUTE
    starts: list[int] = []
    pauses: list[Pause] = []
    for number in range(slots + 1):
        if number == lunch_after:
            begin = max(clock, LUNCH_FROM) if number == 0 else clock
            begin = _past_pauses(settings, begin, settings.lunch * MINUTE)
            clock = begin + settings.lunch * MINUTE
            pauses.append(Pause(start=begin, end=clock, kind="lunch"))
        if number < slots:
            begin = _past_pauses(settings, clock, settings.slot_seconds)
            starts.append(begin)
            clock = begin + settings.slot_seconds
    end = _past_pauses(settings, clock, settings.closing * MINUTE) + settings.closing * MINUTE
    for first, last in settings.pause:
        if start < last and first < end:
            pauses.append(Pause(start=first, end=last, kind="pause"))
    return Timetable(start, tuple(starts), tuple(sorted(pauses, key=lambda p: p.start)), end)


def _past_pauses(settings: SessionSettings, begin: int, length: int) -> int:
    """Return the first moment from ``begin`` at which ``length`` seconds touch no set pause."""
    for first, last in sorted(settings.pause):
        if begin < last and first < begin + length:
            begin = last
    return begin


def day_table(settings: SessionSettings, until: int | None = None) -> dict[tuple[int, int], int]:
    """Return the end for every (start, slots) that fits the teaching window.

    Parameters
    ----------
    until : int, optional
        Latest end instead of ``teach_to``, seconds after midnight.
    """
    latest = settings.teach_to if until is None else until
    table: dict[tuple[int, int], int] = {}
    for start in range(settings.teach_from, latest, GRID):
        count = 1
        while count <= 24:
            day = timetable(settings, start, count)
            if day is not None and day.end <= latest:
                table[start, count] = day.end
            elif _lay(settings, start, count, None).end > latest:
                break
            count += 1
    return table
