"""Every hard rule binds somewhere: with it the audit finds nothing, without it the audit finds its breach."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from binding_rounds import BINDING

from roundplan.audit import audit_plan
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver import find_plan


def test_every_rule_has_a_round_in_which_it_binds() -> None:
    assert set(BINDING) == set(Rule)


ROUNDS = [(rule, factory) for rule, factories in BINDING.items() for factory in factories]


@pytest.mark.parametrize(("rule", "factory"), ROUNDS, ids=[f"{rule}: {f.__name__}" for rule, f in ROUNDS])
def test_rule_binds(rule: Rule, factory: Callable[[], TrainingRound]) -> None:
    training_round = factory()
    lawful = find_plan(training_round, seconds=20, seed=1, workers=1)
    assert lawful.teams
    assert audit_plan(lawful, training_round) == ()
    lawless = find_plan(training_round, seconds=20, seed=1, workers=1, switched_off=frozenset({rule}))
    assert rule in {breach.rule for breach in audit_plan(lawless, training_round)}
