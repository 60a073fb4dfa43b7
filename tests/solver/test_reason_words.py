"""Reasons say what is true of all the people of a role, those with a seat included."""

from __future__ import annotations

from rounds import day, settings, staff, tiny_round, varied

from roundplan.domain.role import Include
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
