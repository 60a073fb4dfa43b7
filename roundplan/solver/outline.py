"""What the model decides, before teams, slots, cover names and clocks are written out as a plan."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from roundplan.domain.role import Lead, Role
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Arc


@dataclass(frozen=True, slots=True)
class OutlineSeat:
    """A person in a role; for a guest also how they travel."""

    person: str
    role: Role
    guest_mode: Mode | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Teams of one facility at one session from one date in one mode.

    Attributes
    ----------
    on_site : bool
        At home, with own people counting as cover while not seated.
    seats : tuple of tuple of OutlineSeat
        One tuple a team.
    """

    facility: str
    first: datetime.date
    mode: Mode
    on_site: bool
    seats: tuple[tuple[OutlineSeat, ...], ...]


@dataclass(frozen=True, slots=True)
class SessionOutline:
    """One session.

    Attributes
    ----------
    stations : dict
        Stations by crew code.
    clocks : dict
        By date: (start in seconds after midnight, number of slots of the day, reserve included).
    leads : tuple of (crew, lead, trainer)
        Directors stand there once a station.
    """

    venue: str
    start: datetime.date
    stations: dict[str, int]
    clocks: dict[datetime.date, tuple[int, int]]
    leads: tuple[tuple[str, Lead, str], ...]
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class CrewDayOutline:
    """One date of a crew on a trip.

    Attributes
    ----------
    morning, evening, transit : Arc or None
        The moves of the date; an arc without passage is no leg.
    session : (str, date) or None
        Venue and start date of the session taught; of the first where there are several.
    more : tuple of (Arc, (str, date))
        The further sessions of the date in order, each with the move that leads to it.
    night : str
        Where the crew sleeps (its base = the trip is over).
    aboard : tuple of str
        Trainers.
    home_for_the_night : tuple of str
        Those of them who leave that evening and join again the next morning.
    """

    crew: str
    date: datetime.date
    morning: Arc | None
    evening: Arc | None
    transit: Arc | None
    session: tuple[str, datetime.date] | None
    night: str
    aboard: tuple[str, ...]
    more: tuple[tuple[Arc, tuple[str, datetime.date]], ...] = ()
    home_for_the_night: tuple[str, ...] = ()

    @property
    def sessions(self) -> tuple[tuple[str, datetime.date], ...]:
        """Venue and start date of every session of the date, in order."""
        return () if self.session is None else (self.session, *(session for _, session in self.more))


@dataclass(frozen=True, slots=True)
class Outline:
    """The whole round."""

    sessions: tuple[SessionOutline, ...] = ()
    crew_days: tuple[CrewDayOutline, ...] = ()
    values: dict[str, int] = field(default_factory=dict)
