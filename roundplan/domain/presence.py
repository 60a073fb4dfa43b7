"""Who is there: presence by shift from leave, roster and relief, before any plan sends anyone away."""

from __future__ import annotations

from datetime import date, timedelta

from roundplan.domain.person import Person
from roundplan.domain.role import DutyKind, Shift
from roundplan.domain.saying import Phrase, phrase
from roundplan.domain.training_round import TrainingRound

ONE_DAY = timedelta(days=1)


def shift_kind(shift: Shift) -> DutyKind:
    """Return the duty kind that staffs a shift."""
    return DutyKind.DAY if shift is Shift.DAY else DutyKind.NIGHT


def serving_at(training_round: TrainingRound, facility: str, day: date) -> tuple[Person, ...]:
    """Return those who serve at the facility on the date and are not on leave all of it, lent staff included."""
    return tuple(
        person
        for person in training_round.ever_at(facility)
        if training_round.located_at(person.code, day) == facility and not training_round.off(person.code, day)
    )


def has_roster(training_round: TrainingRound, facility: str, day: date, shift: Shift) -> bool:
    """Whether the facility has roster rows for the shift (an on-call row counts for both)."""
    kinds = {shift_kind(shift), DutyKind.ON_CALL}
    return any(
        duty.kind in kinds
        for person in serving_at(training_round, facility, day)
        for duty in training_round.duties_on(person.code, day)
    )


def present(training_round: TrainingRound, facility: str, day: date, shift: Shift) -> tuple[Person, ...]:
    """Return the people present at a facility in a shift if nobody trains.

    Where the shift has roster rows only those rostered or on call count. Without rows, everybody counts
    but those on leave, lent elsewhere or marked off; a night duty counts for its night only, so its holder
    does not count in the day shifts before and after.
    """
    staff = serving_at(training_round, facility, day)
    wanted = {shift_kind(shift), DutyKind.ON_CALL}
    kinds = {p.code: {duty.kind for duty in training_round.duties_on(p.code, day)} for p in staff}
    there = [p for p in staff if not training_round.off(p.code, day, shift)]
    if any(kinds[p.code] & wanted for p in staff):
        return tuple(p for p in there if kinds[p.code] & wanted)

    def counts(person: Person) -> bool:
        if DutyKind.OFF in kinds[person.code]:
            return False
        if shift is Shift.NIGHT:
            return True
        eve = {duty.kind for duty in training_round.duties_on(person.code, day - ONE_DAY)}
        return DutyKind.NIGHT not in kinds[person.code] | eve

    return tuple(p for p in there if counts(p))


def seat_obstacle(training_round: TrainingRound, person: Person, day: date) -> Phrase | None:
    """Return in plain words why the person cannot be seated on the date, or None.

    Covers rules staff-available, include and the refresher interval of once-only; plan-dependent rules apart.
    """
    if training_round.on_leave(person.code, day):
        return phrase("on leave")
    for on, words in (
        (day, phrase("on night duty that date")),
        (day - ONE_DAY, phrase("on night duty the night before")),
    ):
        if any(duty.kind is DutyKind.NIGHT for duty in training_round.duties_on(person.code, on)):
            return words
    if training_round.located_at(person.code, day) != person.facility:
        return phrase("lent to another facility")
    if person.works_days is not None and day.weekday() not in person.works_days:
        return phrase("not at work on that weekday")
    if not training_round.may_train(person, day):
        return phrase("marked 'no'") if person.include.value == "no" else phrase("trained too recently")
    return None


def has_day_duty(training_round: TrainingRound, person: str, day: date) -> bool:
    """Whether the roster gives the person the day shift, so that a seat means a swap."""
    return any(duty.kind is DutyKind.DAY for duty in training_round.duties_on(person, day))
