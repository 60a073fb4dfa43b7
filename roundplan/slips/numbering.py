"""Which seats and shifts a facility's slip asks about, and the number that each keeps from version to version."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from roundplan.domain.plan import Cover, Plan, Seat, Team
from roundplan.domain.role import Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.slips.reply_code import facility_letters
from roundplan.slips.subjects import seat_subject, shift_subject

_SHIFT_ORDER = {Shift.DAY: 0, Shift.NIGHT: 1}

DRAFT_CHECK, TOLD_CHECK = 0, 1
"""What goes into the check letters of a draft's codes and of those that readers were told: neither is ever the other.

Numbers are never given twice, so that a code of any version that readers were told names one thing for good.
"""

Numbered = Mapping[tuple[str, str], int]
"""Numbers by facility and what has the number."""


@dataclass(frozen=True)
class Numbers:
    """Letters and numbers of reply codes.

    Attributes
    ----------
    letters : mapping of str to str
        By facility.
    rows, people : mapping of (str, str) to int
        Of seats and shifts by facility and subject, and of staff by facility and code.
    check : int
        What goes into the check letters.
    """

    letters: Mapping[str, str] = field(default_factory=dict)
    rows: Numbered = field(default_factory=dict)
    people: Numbered = field(default_factory=dict)
    check: int = TOLD_CHECK


def numbers_for(plan: Plan, training_round: TrainingRound, earlier: Numbers | None = None, *, check: int) -> Numbers:
    """Return the numbers of a plan's slips: whatever had one keeps it, the rest gets the next ones in order.

    Parameters
    ----------
    earlier : Numbers or None
        Those given so far, to seats and people that are no more, too.
    check : int
        What goes into the check letters.
    """
    known = earlier or Numbers()
    facilities = [facility.code for facility in training_round.facilities]
    staff = [(f, person.code) for f in facilities for person in training_round.staff_of(f)]
    asked = [(f, subject) for f in facilities for subject in subjects_asked(plan, training_round, f)]
    return Numbers(_lettered(known.letters, facilities), _added(known.rows, asked), _added(known.people, staff), check)


def _lettered(known: Mapping[str, str], facilities: Iterable[str]) -> dict[str, str]:
    made, codes = dict(known), list(facilities)
    fresh = [code for code in codes if code not in made]
    of, taken = len(made) + len(fresh), set(made.values())
    free = (letters for letters in (facility_letters(place, of) for place in range(of)) if letters not in taken)
    return made | dict(zip(fresh, free, strict=False))


def _added(known: Numbered, wanted: Iterable[tuple[str, str]]) -> dict[tuple[str, str], int]:
    made, last = dict(known), dict[str, int]()
    for (facility, _), number in known.items():
        last[facility] = max(number, last.get(facility, 0))
    for key in wanted:
        if key not in made:
            last[key[0]] = made[key] = last.get(key[0], 0) + 1
    return made


def subjects_asked(plan: Plan, training_round: TrainingRound, facility: str) -> Iterator[str]:
    """Yield what each row of a slip with a code of its own is about: seats first, then shifts."""
    venues = {session.code: session.venue for session in plan.sessions}
    for team, seat in seats_asked(plan, training_round, facility):
        yield seat_subject(facility, team, seat, venues[team.session])
    for (day, shift), covers in shifts_asked(plan, facility).items():
        yield shift_subject(facility, day, shift, covers)


def seats_shown(plan: Plan, training_round: TrainingRound, facility: str) -> Iterator[tuple[Team, Seat]]:
    """Yield the seats on a facility's slip: its teams' seats and its own people's seats as guests."""
    for team in sorted(plan.teams, key=lambda t: (t.dates, t.code)):
        for seat in team.seats:
            if team.facility == facility or training_round.person(seat.person).facility == facility:
                yield team, seat


def seats_asked(plan: Plan, training_round: TrainingRound, facility: str) -> tuple[tuple[Team, Seat], ...]:
    """Return the seats that a facility replies for, its own people's, in the order in which they are numbered."""
    shown = seats_shown(plan, training_round, facility)
    return tuple((team, seat) for team, seat in shown if training_round.person(seat.person).facility == facility)


def cover_shown(plan: Plan, facility: str) -> tuple[Cover, ...]:
    """Return the cover that a facility's people give, by date and shift."""
    found = (cover for cover in plan.cover if cover.facility == facility)
    return tuple(sorted(found, key=lambda c: (c.date, _SHIFT_ORDER[c.shift], c.kind.value, c.team or "")))


def shifts_asked(plan: Plan, facility: str) -> dict[tuple[date, Shift], tuple[Cover, ...]]:
    """Return the cover of each shift that a facility confirms; in a slip they are numbered on from its seats."""
    found: dict[tuple[date, Shift], list[Cover]] = {}
    for cover in cover_shown(plan, facility):
        found.setdefault((cover.date, cover.shift), []).append(cover)
    return {shift: tuple(covers) for shift, covers in found.items()}
