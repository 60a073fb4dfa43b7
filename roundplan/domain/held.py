"""What became of a planned session, as the people who held it write it down; no personal score stands anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.decision import CostLine
from roundplan.domain.plan import Plan, Team
from roundplan.domain.role import Role


class Came(StrEnum):
    """Whether somebody came, or a date of a session was held."""

    YES = "yes"
    NO = "no"
    PARTLY = "partly"


class Cause(StrEnum):
    """Why a date of a session was not held, or not whole."""

    PATIENT = "patient first"
    STAFF = "staff"
    ROAD = "road"
    KIT = "kit"
    OTHER = "other"


class Hindrance(StrEnum):
    """Why somebody who was expected did not come."""

    PATIENT = "patient first"
    LEAVE = "leave or illness"
    ROAD = "road"
    LEFT = "left the facility"
    OTHER = "other"


class NoteKind(StrEnum):
    """What a debrief or a day leaves to be done or to be known."""

    ACTION = "debrief action"
    INCIDENT = "incident"


class Result(StrEnum):
    """What a person's part in a session comes to."""

    TRAINED = "trained"
    PARTLY = "partly"
    ABSENT = "absent"
    CAME = "came, without a simulation"
    NOT_SAID = "not said"
    NOT_HELD = "session not held"


@dataclass(frozen=True, slots=True, kw_only=True)
class DateHeld:
    """One date of a session.

    Attributes
    ----------
    session : str
        Key of the session (:func:`session_keys`).
    cause : Cause or None
        Of a date not held, or not whole.
    """

    session: str
    date: date
    held: Came
    cause: Cause | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sat:
    """One person expected in a seat, or who came without being expected.

    Attributes
    ----------
    team : str
        Key of the team (:func:`team_key`).
    person : str
        Code; of somebody who stands on no staff list the name.
    expected : bool
        Whether the plan names them for this seat.
    simulations : frozenset of int or None
        Simulations of the team, from 1, in which the person was seated; None = all that the team ran.
    instead : str
        Who came in their place: code or name.
    """

    session: str
    team: str
    role: Role
    person: str
    expected: bool = True
    came: Came
    simulations: frozenset[int] | None = None
    instead: str = ""
    why: Hindrance | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotRun:
    """One slot of the plan as it was run; None = as planned."""

    session: str
    date: date
    station: int
    number: int
    run: bool | None = None
    team: str | None = None
    case: str | None = None
    wall: int | None = None
    wall_end: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Units of an item that a session used, and that were left when it was packed up; None = not counted."""

    session: str
    item: str
    used: float | None = None
    left: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """A debrief action or an incident; ``facility`` is empty for the programme."""

    session: str
    kind: NoteKind
    facility: str
    what: str
    owner: str = ""
    due: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """Money that was paid, in minor units; ``session`` is empty for what the office paid."""

    session: str
    line: CostLine
    what: str
    amount: int
    receipt: str = ""
    paid_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InStore:
    """Units of an item counted at a place after the round."""

    item: str
    place: str
    quantity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """All that is known of what was held.

    Attributes
    ----------
    left : frozenset of str
        Codes of people who have left their facility.
    """

    dates: tuple[DateHeld, ...] = ()
    sat: tuple[Sat, ...] = ()
    slots: tuple[SlotRun, ...] = ()
    counted: tuple[Counted, ...] = ()
    noted: tuple[Noted, ...] = ()
    spent: tuple[Spent, ...] = ()
    in_store: tuple[InStore, ...] = ()
    left: frozenset[str] = frozenset()


def session_keys(plan: Plan) -> dict[str, str]:
    """Return a key for each session by its code: venue and first date, which stay when codes move on.

    Two sessions at one venue on one date are told apart by their order on the clock.
    """
    keys: dict[str, str] = {}
    for session in sorted(plan.sessions, key=lambda s: (s.venue, s.dates, s.days[0].start, s.code)):
        key, number = f"{session.venue} {session.dates[0].isoformat()}", 1
        while key in keys.values():
            number += 1
            key = f"{session.venue} {session.dates[0].isoformat()} #{number}"
        keys[session.code] = key
    return {session.code: keys[session.code] for session in plan.sessions}


def split_key(key: str) -> tuple[str, str]:
    """Return the code of the venue and the first date of a session from its key."""
    venue, _, day = key.partition(" #")[0].rpartition(" ")
    return venue, day


def team_key(team: Team) -> str:
    """Return a team's key: facility and number."""
    return f"{team.facility} {team.number}"
