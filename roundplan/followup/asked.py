"""What a version of the plan asks its facilities: each seat, each person who stays, each shift to confirm."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.plan import Cover, Plan, Seat, Team
from roundplan.domain.role import Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.slips.numbering import letters_of, seats_asked, shifts_asked
from roundplan.slips.reply_code import row_code


class Kind(StrEnum):
    """What is asked about."""

    SEAT = "seat"
    COVER = "cover"
    SHIFT = "shift"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One thing that a facility replies to.

    Attributes
    ----------
    subject : str
        What it is whichever version asks: an answer holds in every later version that asks the same.
    code : str
        Reply code; that of the shift for ``cover``.
    number : int
        Number of the row within the facility's codes.
    dates : tuple of date
        Dates of the session, or the shift's date.
    standby : str or None
        Who takes the seat if its holder cannot come.
    venue : str
        Code of the venue; empty for cover.
    """

    kind: Kind
    facility: str
    code: str
    number: int
    subject: str
    dates: tuple[date, ...]
    team: str = ""
    person: str = ""
    role: Role | None = None
    shift: Shift | None = None
    cover: str = ""
    standby: str | None = None
    venue: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """All that one version asks, and where to find it."""

    version: int
    rows: tuple[Asked, ...]
    letters: dict[str, str]

    def numbered(self) -> dict[tuple[str, int], Asked]:
        """Return seats and shifts by the facility's letters and the number of the row."""
        return {(self.letters[row.facility], row.number): row for row in self.rows if row.kind is not Kind.COVER}


def question(plan: Plan, training_round: TrainingRound) -> Question:
    """Return all that a plan asks, facility by facility."""
    letters = {f.code: letters_of(training_round, f.code) for f in training_round.facilities}
    rows = [row for f in training_round.facilities for row in _facility(plan, training_round, f.code, letters[f.code])]
    return Question(plan.version, tuple(rows), letters)


def _facility(plan: Plan, training_round: TrainingRound, facility: str, letters: str) -> Iterator[Asked]:
    venues = {session.code: session.venue for session in plan.sessions}
    teams = {team.code: team for team in plan.teams}
    number = 0
    for number, (team, seat) in enumerate(seats_asked(plan, training_round, facility), start=1):
        yield _seat(facility, (number, row_code(letters, number, plan.version)), team, seat, venues[team.session])
    for place, (shift, covers) in enumerate(shifts_asked(plan, facility).items(), start=number + 1):
        code = (place, row_code(letters, place, plan.version))
        yield _shift(facility, code, shift, covers)
        for cover in covers:
            yield from _covers(code, cover, teams.get(cover.team or ""))


def _seat(facility: str, code: tuple[int, str], team: Team, seat: Seat, venue: str) -> Asked:
    dates = [day.isoformat() for day in team.dates]
    return Asked(
        kind=Kind.SEAT,
        facility=facility,
        number=code[0],
        code=code[1],
        subject=_subject(Kind.SEAT, facility, team.facility, seat.person, seat.role, venue, *dates),
        dates=team.dates,
        team=team.code,
        person=seat.person,
        role=seat.role,
        standby=seat.standby,
        venue=venue,
    )


def _shift(facility: str, code: tuple[int, str], shift: tuple[date, Shift], covers: tuple[Cover, ...]) -> Asked:
    people = sorted({person for cover in covers for _, person in cover.named})
    return Asked(
        kind=Kind.SHIFT,
        facility=facility,
        number=code[0],
        code=code[1],
        subject=_subject(Kind.SHIFT, facility, shift[0].isoformat(), shift[1], *people),
        dates=(shift[0],),
        shift=shift[1],
    )


def _covers(code: tuple[int, str], cover: Cover, team: Team | None) -> Iterator[Asked]:
    whose = f"{team.facility} {team.number}" if team else ""
    for role, person in cover.named:
        day = cover.date.isoformat()
        yield Asked(
            kind=Kind.COVER,
            facility=cover.facility,
            number=code[0],
            code=code[1],
            subject=_subject(Kind.COVER, cover.facility, day, cover.shift, cover.kind, whose, role, person),
            dates=(cover.date,),
            team=cover.team or "",
            person=person,
            role=role,
            shift=cover.shift,
            cover=cover.kind,
        )


def _subject(*parts: str) -> str:
    return json.dumps([str(part) for part in parts], ensure_ascii=False)
