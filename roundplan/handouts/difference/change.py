"""One thing that differs between two versions of a plan, and how a reader is told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from roundplan.domain.role import Role, Shift


class Effect(StrEnum):
    """Whether something is new, gone, or other than it was."""

    NEW = "new"
    GONE = "gone"
    CHANGED = "changed"


class Topic(StrEnum):
    """What a change is about, and so where in a document its row stands."""

    TEAM = "team"
    TIMES = "times"
    SEAT = "seat"
    STANDBY = "standby"
    COVER = "cover"
    REFERRAL = "referral"
    ROSTER = "roster"
    LEAVES_FIRST = "leaves first"
    SWAP = "swap"
    AWAY = "away"
    HELD = "held"
    REASON = "reason"
    DAY = "day"
    LEADS = "leads"
    SLOTS = "slots"
    LOAD = "load"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that differs.

    All codes are those of the later plan; where something is gone, those of the earlier one.

    Attributes
    ----------
    facility : str
        Whose documents it concerns, for what facilities and districts are told.
    item : str
        Code of the item, of a load.
    tell : function without arguments, returning str
        Says it in the language that is being spoken.
    """

    topic: Topic
    effect: Effect
    facility: str = ""
    team: str = ""
    session: str = ""
    trip: str = ""
    person: str = ""
    item: str = ""
    role: Role | None = None
    date: date | None = None
    shift: Shift | None = None
    tell: Callable[[], str] = field(compare=False, repr=False)

    def words(self) -> str:
        """Say the change as a sentence, in the language that is being spoken."""
        return self.tell()
