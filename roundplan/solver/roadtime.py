"""Departures and arrivals: what a way means on a date, with breaks, daylight and crossing hours."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import date

from roundplan.domain.clock import DAY, HOUR, MINUTE
from roundplan.domain.place import Road
from roundplan.domain.plan import Drive
from roundplan.domain.rules import Rule
from roundplan.domain.settings import TravelSettings
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.daylight import Daylight
from roundplan.travel.network import RoadNetwork, Way

SHORT_DRIVE = 15 * MINUTE


def breaks_before(travel: TravelSettings, wheel: int) -> int:
    """Return the seconds of breaks taken before so many seconds at the wheel are completed."""
    every = round(travel.break_every * HOUR)
    if every <= 0 or wheel <= 0:
        return 0
    return ((wheel + every - 1) // every - 1) * travel.break_minutes * MINUTE


@dataclass(frozen=True, slots=True)
class Passage:
    """A way on a date with the departures at which it can be driven.

    Attributes
    ----------
    earliest, latest : int
        First and last departure, seconds after midnight.
    seconds : int
        From departure to arrival, breaks included.
    """

    way: Way
    date: date
    earliest: int
    latest: int
    seconds: int

    @property
    def is_leg(self) -> bool:
        """Whether there is anything to drive."""
        return self.way.source != "near"

    def drive(self, depart: int) -> Drive:
        """Return the drive that departs at the given second."""
        return Drive(
            date=self.date,
            start=self.way.start,
            end=self.way.end,
            depart=depart,
            arrive=depart + self.seconds,
            drive_seconds=self.way.seconds,
            break_seconds=self.seconds - self.way.seconds,
            km=self.way.km,
            source=self.way.source,
            factor=self.way.factor,
            via=self.way.via,
        )


class RoadClock:
    """Answers which passages exist between two sites on a date.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    off : frozenset of Rule
        Rules that are switched off (daylight and road-open matter here).
    """

    def __init__(self, training_round: TrainingRound, off: frozenset[Rule] = frozenset()) -> None:
        self._travel = training_round.settings.travel
        self._daylight = Daylight(training_round)
        self._in_daylight = self._travel.daylight and Rule.DAYLIGHT not in off
        self._gates = Rule.ROAD_OPEN not in off
        if not self._gates:
            training_round = training_round.replace(
                roads=tuple(_always_open(road) for road in training_round.roads),
            )
        self._network = RoadNetwork(training_round)
        self._cache: dict[tuple[str, str, date, int], tuple[Passage, ...]] = {}

    def sunrise(self, site: str, day: date) -> int:
        """Return the first whole minute of daylight."""
        if not self._in_daylight:
            return 0
        return -(-self._daylight.sunrise(site, day) // MINUTE) * MINUTE

    def state(self, day: date) -> object:
        """Return what differs between the roads of dates; dates of one state have the same ways."""
        return self._network.state(day)

    def least(self, start: str, end: str, day: date) -> tuple[int, int] | None:
        """Return seconds at the wheel, and with breaks, of the fastest way, daylight and crossing hours left aside."""
        wheel = min((way.seconds for way in self._network.ways(start, end, day)), default=None)
        return None if wheel is None else (wheel, wheel + breaks_before(self._travel, wheel))

    def passages(self, start: str, end: str, day: date, margin: int) -> tuple[Passage, ...]:
        """Return the passages of a date, fastest first.

        Parameters
        ----------
        margin : int
            Minutes before sunset by which the drive ends.
        """
        key = (start, end, day, margin)
        if key not in self._cache:
            found = (self._passage(way, day, margin) for way in self._network.ways(start, end, day))
            self._cache[key] = tuple(p for p in found if p is not None)
        return self._cache[key]

    def _passage(self, way: Way, day: date, margin: int) -> Passage | None:
        breaks = breaks_before(self._travel, way.seconds)
        seconds = way.seconds + breaks
        if way.source == "near":
            return Passage(way, day, 0, DAY, 0)
        earliest, latest = self.sunrise(way.start, day), DAY - seconds
        if self._in_daylight:
            limit = self._daylight.sunset(way.end, day)
            if way.seconds > SHORT_DRIVE:
                limit -= margin * MINUTE
            latest = min(latest, limit // MINUTE * MINUTE - seconds)
        for gate in way.gates if self._gates else ():
            enter = gate.enter_after + breaks_before(self._travel, gate.enter_after)
            leave = gate.leave_after + breaks_before(self._travel, gate.leave_after)
            earliest = max(earliest, gate.open_from - enter)
            latest = min(latest, gate.open_to - leave)
        return Passage(way, day, earliest, latest, seconds) if earliest <= latest else None


def _always_open(road: Road) -> Road:
    return dataclasses.replace(road, closures=(), open_from=None, open_to=None)
