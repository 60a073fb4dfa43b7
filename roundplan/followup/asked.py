"""What a version of the plan asks its facilities: each seat, each person who stays, each shift to confirm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.plan import Cover, Plan, Seat, Team
from roundplan.domain.role import Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.slips.numbering import TOLD_CHECK, Numbers, numbers_for, seats_asked, shifts_asked
from roundplan.slips.reply_code import row_code
from roundplan.slips.subjects import Kind, cover_subject, seat_subject, shift_subject

__all__ = ["Asked", "Kind", "Question", "question"]


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
    """All that one version asks, and where to find it.

    Attributes
    ----------
    numbers : Numbers
        With those of rows that are asked no more, too.
    """

    version: int
    rows: tuple[Asked, ...]
    numbers: Numbers

    def numbered(self) -> dict[tuple[str, int], Asked]:
        """Return seats and shifts by the facility's letters and the number of the row."""
        letters = self.numbers.letters
        return {(letters[row.facility], row.number): row for row in self.rows if row.kind is not Kind.COVER}

    def retired(self) -> frozenset[tuple[str, int]]:
        """Return the letters and numbers of rows that an earlier version asked and this one does not."""
        given = {(self.numbers.letters[facility], number) for (facility, _), number in self.numbers.rows.items()}
        return frozenset(given - self.numbered().keys())


def question(plan: Plan, training_round: TrainingRound, numbers: Numbers | None = None) -> Question:
    """Return all that a plan asks, facility by facility.

    Parameters
    ----------
    numbers : Numbers or None
        Those of the slips that went out; None = as if these were the first.
    """
    given = numbers or numbers_for(plan, training_round, check=TOLD_CHECK)
    rows = [row for f in training_round.facilities for row in _facility(plan, training_round, f.code, given)]
    return Question(plan.version, tuple(rows), given)


def _facility(plan: Plan, training_round: TrainingRound, facility: str, numbers: Numbers) -> Iterator[Asked]:
    venues = {session.code: session.venue for session in plan.sessions}
    teams = {team.code: team for team in plan.teams}

    def coded(subject: str) -> tuple[int, str]:
        number = numbers.rows[facility, subject]
        return number, row_code(numbers.letters[facility], number, numbers.check)

    for team, seat in seats_asked(plan, training_round, facility):
        subject = seat_subject(facility, team, seat, venues[team.session])
        yield _seat(facility, coded(subject), subject, team, seat, venues[team.session])
    for shift, covers in shifts_asked(plan, facility).items():
        subject = shift_subject(facility, *shift, covers)
        code = coded(subject)
        yield _shift(facility, code, subject, shift)
        for cover in covers:
            yield from _covers(code, cover, teams.get(cover.team or ""))


def _seat(facility: str, code: tuple[int, str], subject: str, team: Team, seat: Seat, venue: str) -> Asked:
    return Asked(
        kind=Kind.SEAT,
        facility=facility,
        number=code[0],
        code=code[1],
        subject=subject,
        dates=team.dates,
        team=team.code,
        person=seat.person,
        role=seat.role,
        standby=seat.standby,
        venue=venue,
    )


def _shift(facility: str, code: tuple[int, str], subject: str, shift: tuple[date, Shift]) -> Asked:
    return Asked(
        kind=Kind.SHIFT,
        facility=facility,
        number=code[0],
        code=code[1],
        subject=subject,
        dates=(shift[0],),
        shift=shift[1],
    )


def _covers(code: tuple[int, str], cover: Cover, team: Team | None) -> Iterator[Asked]:
    for role, person in cover.named:
        yield Asked(
            kind=Kind.COVER,
            facility=cover.facility,
            number=code[0],
            code=code[1],
            subject=cover_subject(cover, team, role, person),
            dates=(cover.date,),
            team=cover.team or "",
            person=person,
            role=role,
            shift=cover.shift,
            cover=cover.kind,
        )
