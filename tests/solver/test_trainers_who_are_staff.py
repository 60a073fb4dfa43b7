"""A trainer who is facility staff does not travel while on leave from the facility or about a night duty there."""

from __future__ import annotations

from rounds import TRAINERS, day, staff, tiny_round, varied

from roundplan.domain.person import Absence, Duty
from roundplan.domain.role import DutyKind
from roundplan.domain.rules import Rule
from roundplan.solver.facts import Facts


def facts(*off: Rule, **tables: object) -> Facts:
    trainers = varied(TRAINERS, "T1", person="ALFA-P3")
    people = staff("ALFA", "PPPAANN") + staff("BETA")
    return Facts(tiny_round(trainers=trainers, people=people, **tables), frozenset(off))


def free_days(found: Facts) -> list[int]:
    return [n for n in range(4) if found.trainer_free(found.round.trainer("T1"), day(n))]


def test_leave_from_the_facility_counts_for_the_trainer() -> None:
    leave = Absence(who="ALFA-P3", first=day(1), last=day(2))
    assert free_days(facts(absences=(leave,))) == [0, 3]
    assert free_days(facts(Rule.TRAINER_LIMITS, absences=(leave,))) == [0, 1, 2, 3]


def test_a_night_duty_takes_its_date_and_the_next() -> None:
    night = Duty(person="ALFA-P3", date=day(1), kind=DutyKind.NIGHT)
    day_duty = Duty(person="ALFA-P3", date=day(3), kind=DutyKind.DAY)
    assert free_days(facts(duties=(night, day_duty))) == [0, 3]
