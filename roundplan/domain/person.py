"""Facility staff: who they are, when they work, when they are away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from roundplan.domain.role import DutyKind, Include, Role, Shift


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One member of a facility's staff.

    Attributes
    ----------
    roles : tuple of Role
        Roles the person is authorised to be seated in, the main one first.
    cover_roles : tuple of Role
        Roles the person can fill in the keep-team; empty for a learner.
    works_days : frozenset of int or None
        Weekdays (Monday 0) on which the person can be seated; None = any working day. Never limits cover.
    second_seat : bool
        May also sit as a guest in another facility's team.
    placeholder : bool
        Made from ``staff_counts``; the name is still wanted and the plan stays a draft.
    """

    code: str
    name: str
    facility: str
    roles: tuple[Role, ...]
    cover_roles: tuple[Role, ...]
    languages: tuple[str, ...] = ()
    works_days: frozenset[int] | None = None
    second_seat: bool = False
    include: Include = Include.MAY
    learner: bool = False
    placeholder: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """One roster row."""

    person: str
    date: date
    kind: DutyKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """Leave of a person or trainer, or a crew's vehicle out of use; both dates included.

    Attributes
    ----------
    shift : Shift or None
        Of staff: the one shift of each date in which they are not there, a night by its evening; None = all day and
        night. Who is not there by day is not seated on that date either.
    """

    who: str
    first: date
    last: date
    kind: str = ""
    shift: Shift | None = None

    def covers(self, day: date) -> bool:
        """Whether the date falls in the absence."""
        return self.first <= day <= self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """Staff lent to another facility; both dates included."""

    person: str
    facility: str
    first: date
    last: date

    def covers(self, day: date) -> bool:
        """Whether the person is lent on the date."""
        return self.first <= day <= self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerEntry:
    """One line of past training."""

    person: str
    role: Role
    date: date
    round: str = ""
    result: str = "trained"
