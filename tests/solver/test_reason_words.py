"""Reasons say what is true of all the people of a role, those with a seat included."""

from __future__ import annotations

from rounds import day, settings, staff, tiny_round, varied

from roundplan.domain.role import Include
from roundplan.domain.rules import Rule
from roundplan.solver import find_plan
from roundplan.solver.assembly.why_not import Diagnosis
from roundplan.solver.facts import Facts


def test_the_last_one_of_a_role_is_not_called_the_only_one() -> None:
    people = varied(staff("BETA"), "BETA-N2", include=Include.NO)
    training_round = tiny_round(people=(*staff("ALFA"), *people), settings=settings(teams={"guests": 0}))
    facts = Facts(training_round)
    diagnosis = Diagnosis(facts, training_round.facility("BETA"), frozenset({"BETA-N1"}))
    assert str(diagnosis.on(facts.modes["BETA", "ALFA", day(0)][0]).said) == (
        "1 of its 2 people authorised as anaesthetist has a seat in the round already and the other is marked 'no'"
    )


def test_one_day_of_notice_is_one_day() -> None:
    late = {"announce_on": day(3), "plan_date": day(3)}
    training_round = tiny_round(settings=settings(round=late, teams={"notice_off_site": 1, "notice_on_site": 0}))
    (reason,) = [r for r in find_plan(training_round, seconds=10, seed=1, workers=1).reasons if r.who == "BETA"]
    assert reason.rule is Rule.NOTICE
    assert reason.words == "no date that it could attend leaves 1 day from the announcement"
