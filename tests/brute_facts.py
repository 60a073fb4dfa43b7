"""Clock arithmetic of the brute force: when a day ends, which drives are lawful, which shifts an absence touches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache

from roundplan.domain.role import Shift
from roundplan.domain.settings import SessionSettings
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.daylight import Daylight
from roundplan.travel.distance import near
from roundplan.travel.network import RoadNetwork, Way

ONE_DAY = timedelta(days=1)
NOON, LUNCH_FROM, LUNCH_TO = 12 * 3600, 11 * 3600, 14 * 3600


class NotCovered(ValueError):
    """Raised where a round uses something that the brute force does not enumerate."""


@lru_cache(maxsize=100_000)
def day_end(session: SessionSettings, start: int, slots: int) -> int | None:
    """Return the earliest end of a day with so many slots, or None if it cannot be laid out."""
    plain = _laid_out(session, start, slots, None)
    if plain <= NOON or start >= NOON:
        return plain if plain <= session.teach_to else None
    ends = [_laid_out(session, start, slots, after) for after in range(1 if slots > 1 else 0, max(slots, 1))]
    ends = [end for end in ends if end is not None and end <= session.teach_to]
    return min(ends, default=None)


def _laid_out(session: SessionSettings, start: int, slots: int, lunch_after: int | None) -> int | None:
    clock = _clear(session, start, 60 * session.opening) + 60 * session.opening
    for number in range(max(slots, 1)):
        if number == lunch_after:
            begins = _clear(session, max(clock, LUNCH_FROM), 60 * session.lunch)
            if begins > LUNCH_TO:
                return None
            clock = begins + 60 * session.lunch
        if number < slots:
            clock = _clear(session, clock, session.slot_seconds) + session.slot_seconds
    return _clear(session, clock, 60 * session.closing) + 60 * session.closing


def _clear(session: SessionSettings, clock: int, length: int) -> int:
    """Return the first time from ``clock`` on at which so many seconds touch no set pause."""
    for pause_from, pause_to in sorted(session.pause):
        if clock < pause_to and clock + length > pause_from:
            clock = pause_to
    return clock


@dataclass(frozen=True)
class Trip:
    """One lawful drive: departure, arrival, wheel time and the way."""

    depart: int
    arrive: int
    way: Way

    @property
    def elapsed(self) -> int:
        """Seconds from departure to arrival, breaks in."""
        return self.arrive - self.depart


class Facts:
    """Roads, sun, calendar and nearness of one round."""

    def __init__(self, training_round: TrainingRound) -> None:
        self.round = training_round
        self.roads = RoadNetwork(training_round)
        self.sun = Daylight(training_round)
        self.calendar = WorkingCalendar(training_round)
        self._near: dict[tuple[str, str], bool] = {}

    def near(self, a: str, b: str) -> bool:
        """Whether no leg is needed between two sites."""
        if (a, b) not in self._near:
            self._near[a, b] = a == b or near(self.round.site(a), self.round.site(b))
        return self._near[a, b]

    def breaks(self, driving: int) -> int:
        """Seconds of breaks taken before so many seconds at the wheel are over."""
        travel = self.round.settings.travel
        every = round(travel.break_every * 3600)
        return 0 if not every or driving <= 0 else 60 * travel.break_minutes * (-(-driving // every) - 1)

    def departures(self, way: Way, day: date, margin: int) -> tuple[int, int]:
        """Return the earliest and latest lawful departure (an empty stretch if the first is later)."""
        travel = self.round.settings.travel
        elapsed = way.seconds + self.breaks(way.seconds)
        first, last = 0, 86400 - elapsed
        if travel.daylight:
            first = self.sun.sunrise(way.start, day)
            sunset = self.sun.sunset(way.end, day)
            last = (sunset if way.seconds <= 900 else sunset - 60 * margin) - elapsed
        for gate in way.gates:
            first = max(first, gate.open_from - gate.enter_after - self.breaks(gate.enter_after))
            last = min(last, gate.open_to - gate.leave_after - self.breaks(gate.leave_after))
        return first, last

    def arriving_by(self, start: str, end: str, day: date, deadline: int, margin: int) -> Iterator[Trip]:
        """Yield for each way the latest drive that arrives by the deadline."""
        for way in self.roads.ways(start, end, day):
            elapsed = way.seconds + self.breaks(way.seconds)
            first, last = self.departures(way, day, margin)
            depart = min(last, deadline - elapsed)
            if depart >= first:
                yield Trip(depart, depart + elapsed, way)

    def leaving_from(self, start: str, end: str, day: date, earliest: int, margin: int) -> Iterator[Trip]:
        """Yield for each way the earliest drive that departs at that time or later."""
        for way in self.roads.ways(start, end, day):
            elapsed = way.seconds + self.breaks(way.seconds)
            first, last = self.departures(way, day, margin)
            depart = max(first, earliest)
            if depart <= last:
                yield Trip(depart, depart + elapsed, way)

    def shifts_touched(self, since: tuple[date, int], until: tuple[date, int]) -> frozenset[tuple[date, Shift]]:
        """Return every shift in which a stretch of time holds a minute."""
        cover = self.round.settings.cover
        begin, finish = _moment(*since), _moment(*until)
        touched = set()
        on = since[0] - ONE_DAY
        while on <= until[0]:
            day_from, night_from = _moment(on, cover.day_from), _moment(on, cover.night_from)
            if begin < night_from and finish > day_from:
                touched.add((on, Shift.DAY))
            if begin < day_from + ONE_DAY and finish > night_from:
                touched.add((on, Shift.NIGHT))
            on += ONE_DAY
        return frozenset(touched)


def _moment(on: date, seconds: int) -> datetime:
    return datetime.combine(on, time()) + timedelta(seconds=seconds)


def dates_between(first: date, last: date) -> tuple[date, ...]:
    """Return all dates from first to last, both included."""
    return tuple(first + timedelta(days=n) for n in range((last - first).days + 1))
