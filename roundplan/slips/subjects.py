"""What a row of a slip is about, the same whichever version of the plan asks it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date
from enum import StrEnum

from roundplan.domain.plan import Cover, Seat, Team
from roundplan.domain.role import Role, Shift


class Kind(StrEnum):
    """What is asked about."""

    SEAT = "seat"
    COVER = "cover"
    SHIFT = "shift"


def seat_subject(facility: str, team: Team, seat: Seat, venue: str) -> str:
    """Return what a seat is about: who, in which role, with whose team, where, on which dates.

    Parameters
    ----------
    facility, venue : str
        Codes of the facility that replies and of the venue.
    """
    days = (day.isoformat() for day in team.dates)
    return _subject(Kind.SEAT, facility, team.facility, seat.person, seat.role, venue, *days)


def shift_subject(facility: str, day: date, shift: Shift, covers: Iterable[Cover]) -> str:
    """Return what a shift to confirm is about: date, shift and all who stay."""
    people = sorted({person for cover in covers for _, person in cover.named})
    return _subject(Kind.SHIFT, facility, day.isoformat(), shift, *people)


def cover_subject(cover: Cover, team: Team | None, role: Role, person: str) -> str:
    """Return what one person's staying is about."""
    whose = f"{team.facility} {team.number}" if team else ""
    return _subject(Kind.COVER, cover.facility, cover.date.isoformat(), cover.shift, cover.kind, whose, role, person)


def _subject(*parts: str) -> str:
    return json.dumps([str(part) for part in parts], ensure_ascii=False)
