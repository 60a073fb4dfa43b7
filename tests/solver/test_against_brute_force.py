"""The solver reaches, tier by tier, what trying every plan reaches; and its bounds are true."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from brute_force import best_plan
from random_small_rounds import small_round
from tiny_variants import VARIANTS

from roundplan.audit import audit_plan, measure
from roundplan.domain.plan import Status
from roundplan.domain.rules import AIMS
from roundplan.domain.training_round import TrainingRound
from roundplan.solver import find_plan

SEEDS = (0, 16, 39, 100, 110, 120, 175, 181, 195, 243)
"""Seeds of random tiny rounds in which somebody can be trained and everything is tried in a moment."""


@pytest.mark.parametrize("factory", VARIANTS.values(), ids=VARIANTS.keys())
def test_solver_reaches_what_brute_force_reaches(factory: Callable[[], TrainingRound]) -> None:
    compare(factory())


@pytest.mark.parametrize("seed", SEEDS)
def test_solver_reaches_what_brute_force_reaches_in_a_random_round(seed: int) -> None:
    compare(small_round(seed, tiny=True))


def compare(training_round: TrainingRound) -> None:
    """Compare all six tiers, and what the audit says of them."""
    best = best_plan(training_round)
    assert best is not None
    plan = find_plan(training_round, seconds=20, seed=1, workers=1, reproducible=False)
    assert audit_plan(plan, training_round) == ()
    expected = [best.values[definition.aim] for definition in AIMS]
    assert [tier.aim for tier in plan.tiers] == [definition.aim for definition in AIMS]
    assert [tier.value for tier in plan.tiers] == expected
    measured = measure(plan, training_round)
    assert [measured[definition.aim] for definition in AIMS] == expected
    for definition, tier in zip(AIMS, plan.tiers, strict=True):
        assert tier.bound is not None
        assert tier.bound >= tier.value if definition.maximise else tier.bound <= tier.value
        assert (tier.status is Status.OPTIMAL) == (tier.bound == tier.value)


def test_at_least_twenty_rounds_are_compared() -> None:
    assert len(VARIANTS) >= 20
