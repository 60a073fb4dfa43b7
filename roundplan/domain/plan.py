"""A plan: everything a reader or a rule needs to know, by code and clock.

Times of day are whole seconds after local midnight. Money is in minor units.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.role import Lead, Role, Shift
from roundplan.domain.rules import Aim, Rule
from roundplan.domain.saying import Saying

PLAN_FORMAT = 1
"""Version of the layout of plan.json."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One role in one team, filled by one named person."""

    role: Role
    person: str
    guest: bool = False
    standby: str | None = None
    provisional: bool = False


class Direction(StrEnum):
    """Whether participants travel to the venue or home."""

    OUT = "out"
    BACK = "back"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """A drive between two points on one date.

    Attributes
    ----------
    drive_seconds : int
        Time at the wheel, road-time factor applied, breaks not counted.
    break_seconds : int
        Breaks between ``depart`` and ``arrive``: arrive = depart + drive + breaks.
    source : str
        ``entered``, ``network`` or ``straight line``.
    factor : float
        Road-time factor that was applied (the length-weighted mix where a path holds both kinds).
    via : tuple of str
        Codes passed on the way, both ends left out.
    """

    date: date
    start: str
    end: str
    depart: int
    arrive: int
    drive_seconds: int
    break_seconds: int = 0
    km: float
    source: str
    factor: float = 1.0
    via: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outing:
    """How one facility's people of one team get to the session and back.

    Attributes
    ----------
    facility : str
        Home facility of these people (the guest's own for a guest).
    people : tuple of str
        Who travels. At their own facility or within 2 km of it there are no drives.
    drives : tuple of Drive
        Alternating out and back; the last is the way home.
    nights : tuple of (date, str)
        Nights (by evening) lodged, and at which site.
    """

    facility: str
    people: tuple[str, ...]
    drives: tuple[Drive, ...] = ()
    nights: tuple[tuple[date, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """The people who simulate together.

    Attributes
    ----------
    code : str
        ``T01`` …, unique in the plan.
    facility : str
        Facility whose usual team it mirrors, and which coverage credits.
    number : int
        1 for the facility's first team of the round, 2 for its second …
    station : int
        Number of the station within the session.
    dates : tuple of date
        Consecutive session dates it attends.
    """

    code: str
    facility: str
    number: int
    session: str
    station: int
    dates: tuple[date, ...]
    seats: tuple[Seat, ...]
    outings: tuple[Outing, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One box model and its trainers on all dates of a session."""

    number: int
    crew: str
    director: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldLead:
    """A lead that a trainer holds for a crew's part of a session (directors stand with the station)."""

    lead: Lead
    trainer: str
    crew: str


class SlotKind(StrEnum):
    """What a slot is for."""

    SIMULATION = "simulation"
    DEMONSTRATION = "demonstration"
    RESERVE = "reserve"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One simulation's time at a station.

    Attributes
    ----------
    case : str or None
        Case code; None in a reserve slot and where the tables list no case.
    observers : tuple of str
        Person codes who watch with a task; trainers' codes may stand there too.
    wall : int or None
        Number of the wall within station and session, from 1.
    wall_end : int or None
        1 or 2, the end of the box at which the incision is made.
    """

    date: date
    station: int
    number: int
    start: int
    end: int
    kind: SlotKind
    team: str | None = None
    case: str | None = None
    director: str | None = None
    observers: tuple[str, ...] = ()
    wall: int | None = None
    wall_end: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """Lunch or another pause of a session's day."""

    start: int
    end: int
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionDay:
    """The clock of one date of a session: ``start`` of the opening to the ``end`` of the closing."""

    date: date
    start: int
    end: int
    pauses: tuple[Pause, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One venue, one course of consecutive dates, one or more stations, one crew or more."""

    code: str
    venue: str
    days: tuple[SessionDay, ...]
    crews: tuple[str, ...]
    stations: tuple[Station, ...]
    leads: tuple[HeldLead, ...]
    slots: tuple[Slot, ...] = ()

    @property
    def dates(self) -> tuple[date, ...]:
        """Dates of the session."""
        return tuple(day.date for day in self.days)


class CoverKind(StrEnum):
    """Why cover is named.

    own: the facility's keep-team while its people are away or seated;
    referral: the augmented keep-team of the site that takes its emergencies;
    slot: the keep-team while one own team is seated on site (``team`` says which).
    """

    OWN = "own"
    REFERRAL = "referral"
    SLOT = "slot"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """Who fills a keep-team in one shift.

    Attributes
    ----------
    facility : str
        Where the named people are present.
    named : tuple of (Role, str)
        One person for each role of the keep-team.
    for_facility : str or None
        Referral only: whose people are away.
    team : str or None
        Slot only: the team seated meanwhile.
    """

    facility: str
    date: date
    shift: Shift
    kind: CoverKind = CoverKind.OWN
    named: tuple[tuple[Role, str], ...]
    for_facility: str | None = None
    team: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One drive of a crew."""

    drive: Drive
    driver: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Aboard:
    """A trainer with the crew on one date; where they join or leave it, if they do that date."""

    trainer: str
    joins_at: str | None = None
    leaves_at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewDay:
    """One date of a trip.

    Attributes
    ----------
    legs : tuple of Leg
        In the order driven.
    sessions : tuple of str
        Codes of the sessions taught on the date.
    night : str or None
        Site where the crew sleeps; None on the last date (back at base).
    """

    date: date
    legs: tuple[Leg, ...] = ()
    sessions: tuple[str, ...] = ()
    night: str | None = None
    aboard: tuple[Aboard, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Units of an item taken on board at a place on a date."""

    item: str
    quantity: float
    place: str
    date: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """A crew's tour from its base until it is back there.

    Attributes
    ----------
    box_models : int
        Box models carried.
    weight_kg, volume_l : float
        The most on board at any time: people, luggage, kit and consumables; kit and consumables alone for volume.
    """

    code: str
    crew: str
    days: tuple[CrewDay, ...]
    box_models: int
    loads: tuple[Load, ...] = ()
    weight_kg: float = 0.0
    volume_l: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """A day duty that a seated person has to swap."""

    person: str
    date: date
    shift: Shift


class Status(StrEnum):
    """How sure a tier's value is."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    NO_BOUND = "no bound"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tier:
    """What one aim reached, and how much better any plan could be, given the earlier tiers."""

    aim: Aim
    value: int
    bound: int | None
    status: Status

    @property
    def gap(self) -> float | None:
        """``|bound − value| / max(|value|, 1)``; None without a bound."""
        if self.bound is None:
            return None
        return abs(self.bound - self.value) / max(abs(self.value), 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why a facility (or a further team of it, or a person) is left out.

    Attributes
    ----------
    words : str
        The reason in English.
    when : Saying or None
        On which dates it holds; said before the rest.
    said : tuple of Saying
        The same in sentences that can be said in other languages; empty where there are only the words.
    """

    who: str
    rule: Rule | None
    words: str
    team_number: int | None = None
    when: Saying | None = None
    said: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CostEntry:
    """One priced line of a plan."""

    line: str
    what: str
    quantity: float
    unit: str
    price: int
    amount: int
    session: str | None = None
    trip: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """How the plan was found; holds no clock value, so that equal searches give equal files."""

    mode: str = "integrated"
    seed: int = 1
    workers: int = 1
    reproducible: bool = False
    stopped: str = "finished"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A whole round, planned."""

    round_name: str
    version: int = 1
    status: str = "draft"
    fingerprint: str = ""
    program: str = ""
    search: Search = Search()
    sessions: tuple[Session, ...] = ()
    teams: tuple[Team, ...] = ()
    trips: tuple[Trip, ...] = ()
    cover: tuple[Cover, ...] = ()
    swaps: tuple[Swap, ...] = ()
    tiers: tuple[Tier, ...] = ()
    reasons: tuple[Reason, ...] = ()
    costs: tuple[CostEntry, ...] = ()
    format: int = PLAN_FORMAT
