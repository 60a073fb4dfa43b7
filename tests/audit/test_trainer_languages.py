"""A trainer without languages speaks the round's; one with languages speaks those alone."""

from __future__ import annotations

import dataclasses

import pytest
from short_rounds import short_round

from roundplan.audit import audit_plan
from roundplan.domain.rules import Rule
from roundplan.solver import find_plan


@pytest.mark.parametrize(("entered", "missing"), [((), False), (("en",), False), (("fr",), True)])
def test_a_trainer_without_languages_speaks_the_rounds(entered: tuple[str, ...], missing: bool) -> None:
    training_round = short_round(dates=1)
    plan = find_plan(training_round, seconds=30, seed=1, workers=1)
    changed = training_round.replace(
        trainers=tuple(dataclasses.replace(one, languages=entered) for one in training_round.trainers)
    )
    found = [breach for breach in audit_plan(plan, changed) if breach.rule is Rule.CREW_STAFFED]
    assert bool(found) is missing
