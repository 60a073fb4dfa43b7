"""The path of a large round (relaxation, first plan, widening), against small rounds solved by enumeration."""

from __future__ import annotations

import brute_force
import pytest
import tiny_variants

from roundplan.audit import audit_plan, measure
from roundplan.domain.rules import Aim
from roundplan.solver import find_plan, search

COVERAGE = (Aim.FIRST_TEAMS, Aim.MUST_PEOPLE, Aim.FURTHER_TEAMS)
"""Tiers that the relaxation bounds."""


@pytest.mark.parametrize("name", sorted(tiny_variants.VARIANTS)[::3])
def test_no_plan_beats_the_relaxation(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "SMALL", 0)
    training_round = tiny_variants.VARIANTS[name]()
    best = brute_force.best_plan(training_round)
    assert best is not None
    plan = find_plan(training_round, seconds=4, seed=1, workers=2)
    assert not audit_plan(plan, training_round)
    measured = measure(plan, training_round)
    for tier in plan.tiers:
        assert tier.value == measured[tier.aim]
    # Given the earlier tiers, the best value lies between what was found and what was proven.
    for tier in plan.tiers:
        if tier.aim not in COVERAGE:
            break
        assert tier.value <= best.values[tier.aim]
        assert tier.bound is None or tier.bound >= best.values[tier.aim]
        if tier.value < best.values[tier.aim]:
            break
