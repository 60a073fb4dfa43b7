"""Which seats and shifts a facility's slip asks about, and in which order they are numbered."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.domain.plan import Cover, Plan, Seat, Team
from roundplan.domain.role import Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.slips.reply_code import facility_letters

_SHIFT_ORDER = {Shift.DAY: 0, Shift.NIGHT: 1}


def letters_of(training_round: TrainingRound, facility: str) -> str:
    """Return the letters that a facility's reply codes begin with."""
    codes = [f.code for f in training_round.facilities]
    return facility_letters(codes.index(facility), len(codes))


def seats_shown(plan: Plan, training_round: TrainingRound, facility: str) -> Iterator[tuple[Team, Seat]]:
    """Yield the seats on a facility's slip: its teams' seats and its own people's seats as guests."""
    for team in sorted(plan.teams, key=lambda t: (t.dates, t.code)):
        for seat in team.seats:
            if team.facility == facility or training_round.person(seat.person).facility == facility:
                yield team, seat


def seats_asked(plan: Plan, training_round: TrainingRound, facility: str) -> tuple[tuple[Team, Seat], ...]:
    """Return the seats that a facility replies for, its own people's, numbered from 1 in this order."""
    shown = seats_shown(plan, training_round, facility)
    return tuple((team, seat) for team, seat in shown if training_round.person(seat.person).facility == facility)


def cover_shown(plan: Plan, facility: str) -> tuple[Cover, ...]:
    """Return the cover that a facility's people give, by date and shift."""
    found = (cover for cover in plan.cover if cover.facility == facility)
    return tuple(sorted(found, key=lambda c: (c.date, _SHIFT_ORDER[c.shift], c.kind.value, c.team or "")))


def shifts_asked(plan: Plan, facility: str) -> dict[tuple[date, Shift], tuple[Cover, ...]]:
    """Return the cover of each shift that a facility confirms; numbers go on from those of its seats."""
    found: dict[tuple[date, Shift], list[Cover]] = {}
    for cover in cover_shown(plan, facility):
        found.setdefault((cover.date, cover.shift), []).append(cover)
    return {shift: tuple(covers) for shift, covers in found.items()}
