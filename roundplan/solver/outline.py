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
    teams : int
        How many teams.
    on_site : bool
        At home, with own people counting as cover while not seated.
    seats : tuple of tuple of OutlineSeat
        On site one tuple a team; otherwise ONE tuple with the seats of all teams, still to be dealt
        out: each role of the minimum stands there at least ``teams`` times.
    """

    facility: str
    first: datetime.date
    mode: Mode
    teams: int
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
        Venue and start date of the session taught.
    night : str
        Where the crew sleeps (its base = the trip is over).
    aboard : tuple of str
        Trainers.
    """

    crew: str
    date: datetime.date
    morning: Arc | None
    evening: Arc | None
    transit: Arc | None
    session: tuple[str, datetime.date] | None
    night: str
    aboard: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """The whole round."""

    sessions: tuple[SessionOutline, ...] = ()
    crew_days: tuple[CrewDayOutline, ...] = ()
    values: dict[str, int] = field(default_factory=dict)
