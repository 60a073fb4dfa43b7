"""What the manager has decided beforehand: locks and budget lines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.role import Role


class Do(StrEnum):
    """A lock keeps something or forbids it."""

    KEEP = "keep"
    FORBID = "forbid"


class LockKind(StrEnum):
    """What a lock speaks of.

    seat: ``who`` (a person) sits, on ``date``, in ``role`` at ``place`` (blank = any);
    session: there is a session at ``place`` on ``date`` by ``crew`` (blank = any);
    visit: ``who`` (a facility) sends a team on ``date`` to ``place`` (blank = any);
    person: ``who`` (a person) is seated, or a trainer travels, on ``date`` (blank = at all);
    facility: ``who`` (a facility) has a team.
    """

    SEAT = "seat"
    SESSION = "session"
    VISIT = "visit"
    PERSON = "person"
    FACILITY = "facility"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock:
    """One decision that the plan must follow."""

    do: Do
    kind: LockKind
    who: str | None = None
    role: Role | None = None
    date: date | None = None
    place: str | None = None
    crew: str | None = None
    why: str = ""


class CostLine(StrEnum):
    """The lines that a round's cost is made of."""

    CREW_TRAVEL = "crew travel"
    CREW_DAYS = "crew days"
    TRAINERS = "trainers"
    PARTICIPANTS = "participants"
    PARTICIPANT_TRAVEL = "participant travel"
    VENUES = "venues"
    LODGING = "lodging"
    LUNCHES = "lunches"
    CONSUMABLES = "consumables"
    PRINTING = "printing"
    CONTINGENCY = "contingency"


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """Money set aside for one cost line, in minor units."""

    line: CostLine
    amount: int
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """How to reach someone; kept apart from the round and its snapshot."""

    who: str
    phone: str = ""
    email: str = ""
