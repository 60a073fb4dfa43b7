"""The clock of a teaching day: where slots, lunch and pauses fall for a given start."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import gcd

from roundplan.domain.clock import HOUR, MINUTE
from roundplan.domain.plan import Pause
from roundplan.domain.settings import SessionSettings

MOST_SLOTS = 24
"""Slots of a day that are considered at most."""
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
    """Return the end for every (start, slots) that fits the teaching window; no slot at all on a date without a team.

    Parameters
    ----------
    until : int, optional
        Latest end instead of ``teach_to``, seconds after midnight.
    """
    latest = settings.teach_to if until is None else until
    table: dict[tuple[int, int], int] = {}
    for start in range(settings.teach_from, latest, settings.start_step):
        count = 0 if settings.days_per_team < settings.days else 1
        while count <= MOST_SLOTS:
            day = timetable(settings, start, count)
            if day is not None and day.end <= latest:
                table[start, count] = day.end
            elif _lay(settings, start, count, None).end > latest:
                break
            count += 1
    return table


@dataclass(frozen=True, slots=True)
class Piece:
    """Starts that lie next to each other and for which the end of a session is one straight line.

    Attributes
    ----------
    first, last : int
        First and last start, seconds after midnight.
    slots : int
        Slots of the session.
    end : int
        End of the session that begins at ``first``.
    moves : bool
        Whether the end moves with the start, second by second; otherwise it stays.
    """

    first: int
    last: int
    slots: int
    end: int
    moves: bool

    def ends(self, start: int) -> int:
        """Return the end of a session that begins at a start of the piece."""
        return self.end + (start - self.first if self.moves else 0)


def day_pieces(settings: SessionSettings, most: int, until: int | None = None) -> tuple[Piece, ...]:
    """Return the starts, slots and ends that fit the teaching window, as straight pieces.

    Every length and every set time is a multiple of their greatest common divisor, so the end changes its course at
    multiples of it only: the ends of each such block and of its inside tell the whole.

    Parameters
    ----------
    most : int
        Most slots.
    until : int, optional
        Latest end instead of ``teach_to``, seconds after midnight.
    """
    latest = settings.teach_to if until is None else until
    return tuple(piece for count in range(1, most + 1) for piece in _pieces_of(settings, count, latest))


def _pieces_of(settings: SessionSettings, count: int, latest: int) -> Iterator[Piece]:
    held: Piece | None = None
    last_end = 0
    for start in _telling_starts(settings, latest):
        day = timetable(settings, start, count)
        end = day.end if day is not None and day.end <= latest else None
        if held is not None and end is not None:
            moves = end - last_end == start - held.last
            straight = moves or end == last_end
            if straight and (held.first == held.last or moves == held.moves):
                held, last_end = Piece(held.first, start, count, held.end, moves), end
                continue
        if held is not None:
            yield held
        held = None if end is None else Piece(start, start, count, end, True)
        last_end = end or 0
    if held is not None:
        yield held


def _telling_starts(settings: SessionSettings, latest: int) -> Iterator[int]:
    """Yield the starts between which nothing happens: each block's first, and the ends of its inside."""
    minutes = (settings.opening, settings.lunch, settings.closing)
    set_times = (NOON, LUNCH_FROM, LUNCH_TO, latest, settings.teach_from)
    pauses = (moment for pause in settings.pause for moment in pause)
    block = gcd(settings.slot_seconds, *(MINUTE * m for m in minutes), *set_times, *pauses)
    step, origin = settings.start_step, settings.teach_from
    for begin in range(origin, latest, block):
        found = {begin} if (begin - origin) % step == 0 else set()
        inside = range(origin + ((begin - origin) // step + 1) * step, min(begin + block, latest), step)
        yield from sorted(found | {inside[0], inside[-1]} if inside else found)
