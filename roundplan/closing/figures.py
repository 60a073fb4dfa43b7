"""The figures of a final report: planned beside done, counted by role and facility; nobody's name or code is in them.

They are kept in the record as they are, so that the report stays true when all that names people has been removed.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from roundplan.closing.done import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFigures:
    """One session: teams, simulations and people as planned and as done."""

    venue: str
    dates: tuple[str, ...]
    standing: str
    causes: tuple[str, ...]
    teams: int
    teams_trained: int
    simulations: int
    run: int
    walls: int
    walls_used: int
    people: int
    trained: int
    partly: int
    absent: int
    not_said: int
    not_held: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupFigures:
    """People of one role, or one facility: seats planned, and of those who were expected or came, what they were."""

    name: str
    district: str = ""
    planned: int
    trained: int
    partly: int
    absent: int
    not_said: int
    not_held: int
    teams: int = 0
    teams_trained: int = 0
    actions: int = 0
    incidents: int = 0
    due: str = ""
    alarm: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFigures:
    """One consumable: units planned for the whole round, units that were counted, and its quantity before and after."""

    name: str
    unit: str
    per: str
    planned: int
    used: float
    sessions: int
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFigures:
    """One cost line in minor units."""

    line: str
    planned: int
    budgeted: int | None
    spent: int
    payments: int
    without_receipt: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """All figures of a round that was held.

    Attributes
    ----------
    next_first, next_last : str
        Dates that are proposed for the next round.
    raised : tuple of str
        Names of facilities that move up a priority.
    left : int
        People who have left.
    besides, replaced : int
        People who came though nobody expected them, and in whose place somebody else came.
    lifted : int
        Trainers and crews whose dates of availability were over and were left open.
    """

    round_name: str
    version: int
    currency: str
    digits: int
    sessions: tuple[SessionFigures, ...]
    roles: tuple[GroupFigures, ...]
    facilities: tuple[GroupFigures, ...]
    items: tuple[ItemFigures, ...]
    lines: tuple[LineFigures, ...]
    besides: int
    replaced: int
    next_name: str
    next_first: str
    next_last: str
    raised: tuple[str, ...]
    left: int
    lifted: int
    programme_actions: int
    programme_incidents: int

    def as_plain(self) -> dict[str, Any]:
        """Return the figures as lists, mappings and plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def from_plain(cls, plain: dict[str, Any]) -> Figures:
        """Return the figures from what :meth:`as_plain` gave."""
        parts = {
            "sessions": SessionFigures,
            "roles": GroupFigures,
            "facilities": GroupFigures,
            "items": ItemFigures,
            "lines": LineFigures,
        }
        read = {name: tuple(kind(**_tuples(row)) for row in plain[name]) for name, kind in parts.items()}
        return cls(**_tuples(plain) | read)


def _tuples(row: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}


def took_place(figures: Figures) -> int:
    """Return the sessions that were held, whole or in part."""
    return sum(row.standing in (Standing.HELD.value, Standing.PARTLY.value) for row in figures.sessions)
