"""What a facility can send in the whole round: never below what the whole model finds, and below the rough count."""

from __future__ import annotations

import pytest
from ortools.sat.python import cp_model
from random_small_rounds import small_round
from rounds import day, facility, host, settings, staff, tiny_round

from roundplan.domain.person import Absence
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.skeleton.releases import Releases
from roundplan.solver.skeleton.round_release import most_in_round

SEEDS = range(0, 400, 16)


def most_of(facts: Facts, code: str) -> int:
    """Return the most teams of one facility that the whole model can send, all others left to help or stay."""
    choices = Choices(facts)
    add_limits(choices)
    choices.model.maximize(sum(sending.teams for sending in choices.sendings if sending.facility == code))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_deterministic_time = 5.0
    status = solver.solve(choices.model)
    return int(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else 0


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_sends_more(seed: int) -> None:
    facts = Facts(small_round(seed))
    for sending in facts.round.facilities:
        assert most_of(facts, sending.code) <= most_in_round(facts, sending.code) <= sending.teams_wanted


def anaesthetists_take_turns(*absences: Absence) -> TrainingRound:
    """Return two dates on which BETA, with two people a role, could send a team; one anaesthetist always stays."""
    return tiny_round(
        facilities=(host("ALFA", 0.3, 0.3), facility("BETA", 0.3, 0.6, teams_wanted=2)),
        people=staff("ALFA", "PPAANN") + staff("BETA", "PPAANN"),
        absences=absences,
        settings=settings(round={"last_day": day(1)}, teams={"guests": 0}),
    )


def test_turns_by_hand() -> None:
    # Monday one of the two goes and the other covers, Tuesday the other way round: two teams.
    facts = Facts(anaesthetists_take_turns())
    assert most_in_round(facts, "BETA") == 2
    # One of them is on leave on Monday: then nobody would be left to cover, so only Tuesday remains, for one team,
    # although there are people enough for two teams in all.
    facts = Facts(anaesthetists_take_turns(Absence(who="BETA-A2", first=day(0), last=day(0))))
    assert Releases(facts).in_all(facts.round.facility("BETA")) == 2
    assert most_in_round(facts, "BETA") == 1
    assert most_of(facts, "BETA") == 1
