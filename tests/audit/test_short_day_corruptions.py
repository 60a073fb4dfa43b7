"""A date with several short sessions, spoilt in one place at a time: each fault is found under its rule."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from rounds import day, settings, varied
from short_rounds import short_round

from roundplan.audit import audit_plan
from roundplan.domain.plan import Aboard, CrewDay, Leg, Plan, Session, Trip
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver import find_plan

MINUTE, HOUR = 60, 3600
Spoil = Callable[[Plan], Plan]


@cache
def short_day() -> tuple[Plan, TrainingRound]:
    """Return a plan of one date with three sessions, S01 to S03, which keeps every rule."""
    training_round = short_round(dates=1)
    plan = find_plan(training_round, seconds=30, seed=1, workers=1)
    assert audit_plan(plan, training_round) == ()
    assert plan.trips[0].days[0].sessions == ("S01", "S02", "S03")
    return plan, training_round


def the_day(edit: Callable[[CrewDay], CrewDay]) -> Spoil:
    def apply(plan: Plan) -> Plan:
        trip = plan.trips[0]
        changed: Trip = dataclasses.replace(trip, days=(edit(trip.days[0]),))
        return dataclasses.replace(plan, trips=(changed,))

    return apply


def leg(number: int, later: int) -> Spoil:
    """Move a leg of the date by so many seconds."""

    def edit(on: CrewDay) -> CrewDay:
        drive = on.legs[number].drive
        moved = dataclasses.replace(drive, depart=drive.depart + later, arrive=drive.arrive + later)
        legs = (*on.legs[:number], Leg(drive=moved), *on.legs[number + 1 :])
        return dataclasses.replace(on, legs=legs)

    return the_day(edit)


def without_leg(number: int) -> Spoil:
    return the_day(lambda on: dataclasses.replace(on, legs=(*on.legs[:number], *on.legs[number + 1 :])))


def reordered(*codes: str) -> Spoil:
    return the_day(lambda on: dataclasses.replace(on, sessions=codes))


def session(code: str, later: int = 0, **changes: Any) -> Spoil:
    """Move a session with its slots by so many seconds, and change some of its fields."""

    def moved(held: Session) -> Session:
        days = tuple(dataclasses.replace(d, start=d.start + later, end=d.end + later) for d in held.days)
        slots = tuple(dataclasses.replace(s, start=s.start + later, end=s.end + later) for s in held.slots)
        return dataclasses.replace(held, **{"days": days, "slots": slots} | changes)

    return lambda plan: dataclasses.replace(
        plan, sessions=tuple(moved(s) if s.code == code else s for s in plan.sessions)
    )


def joins_at_second_venue(plan: Plan) -> Plan:
    venue = plan.sessions[1].venue
    return the_day(
        lambda on: dataclasses.replace(
            on, aboard=(Aboard(trainer="T1", joins_at=venue, leaves_at="BASE"), *on.aboard[1:])
        )
    )(plan)


def words_of(plan: Plan, training_round: TrainingRound, rule: Rule) -> str:
    return "\n".join(breach.words for breach in audit_plan(plan, training_round) if breach.rule is rule)


@pytest.mark.parametrize(
    ("spoil", "rule", "words"),
    [
        (without_leg(1), Rule.CREW_IN_ONE_PLACE, "when S02 starts elsewhere"),
        (without_leg(2), Rule.CREW_IN_ONE_PLACE, "when S03 starts elsewhere"),
        (leg(1, -10 * MINUTE), Rule.LEG_FEASIBLE, "departs before S01 is packed up"),
        (leg(2, -10 * MINUTE), Rule.LEG_FEASIBLE, "departs before S02 is packed up"),
        (leg(1, 10 * MINUTE), Rule.LEG_FEASIBLE, "when set-up of S02 begins"),
        (leg(1, 40 * MINUTE), Rule.CREW_IN_ONE_PLACE, "drives and teaches at one time"),
        (session("S02", -3 * HOUR), Rule.CREW_IN_ONE_PLACE, "teaches S01 and S02 and S03 at one time"),
        (reordered("S02", "S01", "S03"), Rule.CREW_IN_ONE_PLACE, "out of the order of time"),
        (reordered("S01", "S03"), Rule.CREW_IN_ONE_PLACE, "S02 on Mon 1 Jun 2026 stands in 0 trips"),
    ],
)
def test_the_order_of_the_day(spoil: Spoil, rule: Rule, words: str) -> None:
    plan, training_round = short_day()
    assert words in words_of(spoil(plan), training_round, rule)


def test_set_up_next_door_waits_for_the_pack_up() -> None:
    plan, training_round = short_day()
    early = session("S02", later=-40 * MINUTE, venue=plan.sessions[0].venue)(plan)
    assert "set-up of S02 begins at" in words_of(early, training_round, Rule.LEG_FEASIBLE)


def test_two_sessions_of_a_venue_and_date_must_not_overlap() -> None:
    plan, training_round = short_day()
    venue = plan.sessions[0].venue
    apart = session("S02", venue=venue)(plan)
    assert "are both at" not in words_of(apart, training_round, Rule.VENUE_CAPACITY)
    length = plan.sessions[1].days[0].start - plan.sessions[0].days[0].end
    touching = session("S02", -length, venue=venue)(plan)
    assert "are both at" not in words_of(touching, training_round, Rule.VENUE_CAPACITY)
    overlapping = session("S02", -length - MINUTE, venue=venue)(plan)
    assert "are both at" in words_of(overlapping, training_round, Rule.VENUE_CAPACITY)


def test_without_the_setting_a_date_holds_one_session_of_a_crew_and_of_a_venue() -> None:
    plan, training_round = short_day()
    whole_days = training_round.replace(settings=settings(training_round.settings, session={"short_sessions": False}))
    assert "crew CREW has S01 and S02 and S03" in words_of(plan, whole_days, Rule.CREW_IN_ONE_PLACE)
    same_venue = session("S02", venue=plan.sessions[0].venue)(plan)
    assert "are both at" in words_of(same_venue, whole_days, Rule.VENUE_CAPACITY)


def test_limits_of_the_day_count_all_its_legs_and_sessions() -> None:
    plan, training_round = short_day()
    legs = plan.trips[0].days[0].legs
    wheel = sum(leg.drive.drive_seconds for leg in legs) / HOUR
    span = (legs[-1].drive.arrive - legs[0].drive.depart) / HOUR
    for key, length, words in (
        ("wheel_hours", wheel, "is at the wheel for"),
        ("duty_day", span, "the duty day runs from"),
    ):
        enough = training_round.replace(settings=settings(training_round.settings, travel={key: length}))
        assert words not in words_of(plan, enough, Rule.LEG_FEASIBLE)
        short = training_round.replace(settings=settings(training_round.settings, travel={key: length - 0.01}))
        assert words in words_of(plan, short, Rule.LEG_FEASIBLE)


def test_a_trainer_joins_before_the_first_session_of_the_day() -> None:
    plan, training_round = short_day()
    second = plan.sessions[1].venue
    moved = training_round.replace(trainers=varied(training_round.trainers, "T1", lives_at=second))
    late = joins_at_second_venue(plan)
    assert "where the crew is not then" in words_of(late, moved, Rule.TRAINER_LIMITS)


def test_a_date_of_the_plan_is_the_first_of_the_round() -> None:
    plan, _ = short_day()
    assert {session.dates for session in plan.sessions} == {(day(0),)}
