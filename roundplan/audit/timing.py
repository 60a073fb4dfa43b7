"""The audit's own clock: moments, stretches of time, shifts, breaks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from roundplan.domain.clock import DAY, HOUR, MINUTE
from roundplan.domain.role import Shift
from roundplan.domain.settings import CoverSettings, TravelSettings

ONE_DAY = timedelta(days=1)
ShiftKey = tuple[date, Shift]


def moment(day: date, seconds: int) -> int:
    """Return seconds since the first day of the calendar."""
    return day.toordinal() * DAY + seconds


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time in moments, the end left out."""

    start: int
    end: int

    def meets(self, other: Stretch) -> bool:
        """Whether the two have more than an instant in common."""
        return max(self.start, other.start) < min(self.end, other.end)

    def dates(self) -> Iterator[date]:
        """Yield the dates with any second in the stretch."""
        if self.end <= self.start:
            return
        for number in range(self.start // DAY, (self.end - 1) // DAY + 1):
            yield date.fromordinal(number)

    def shifts(self, cover: CoverSettings) -> Iterator[ShiftKey]:
        """Yield the shifts with any second in the stretch, a night by the evening on which it starts."""
        if self.end <= self.start:
            return
        for number in range(self.start // DAY - 1, (self.end - 1) // DAY + 1):
            day = date.fromordinal(number)
            for shift in Shift:
                if self.meets(shift_stretch((day, shift), cover)):
                    yield day, shift


def shift_stretch(key: ShiftKey, cover: CoverSettings) -> Stretch:
    """Return when a shift begins and ends."""
    day, shift = key
    if shift is Shift.DAY:
        return Stretch(moment(day, cover.day_from), moment(day, cover.night_from))
    return Stretch(moment(day, cover.night_from), moment(day + ONE_DAY, cover.day_from))


def shift_number(key: ShiftKey) -> int:
    """Return a number that rises by one from each shift to the next."""
    return 2 * key[0].toordinal() + (key[1] is Shift.NIGHT)


def break_seconds(wheel: int, travel: TravelSettings) -> int:
    """Return the breaks due on a drive: one after each full ``break_every`` after which driving goes on."""
    every = int(travel.break_every * HOUR)
    if every <= 0 or wheel <= 0:
        return 0
    return (-(-wheel // every) - 1) * travel.break_minutes * MINUTE
