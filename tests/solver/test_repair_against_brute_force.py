"""Repairs of random tiny rounds lose and change as little as trying every plan does, and are lawful."""

from __future__ import annotations

import dataclasses

import pytest
from brute_repair import BruteRepair
from random_small_rounds import small_round
from repair_facts import befallen

from roundplan.audit import audit_plan
from roundplan.domain.changes import loss_scale
from roundplan.domain.outcome import ProvenImpossible
from roundplan.domain.repair import Repaired, RepairTask
from roundplan.draft import completed
from roundplan.solver import find_plan, repair_plan

SEEDS = (0, 2, 3, 13, 16, 17, 23, 32, 33, 36, 39, 41, 44)
"""Seeds of which everything is tried in a moment: a plan, something that befalls it, some seats confirmed."""
WORK = 4.0
"""Deterministic work for the plan and for its repair: the same on every machine."""


def task_of(seed: int) -> RepairTask:
    """Return a planned tiny round that something has befallen."""
    drawn = small_round(seed, tiny=True)
    search = dataclasses.replace(drawn.settings.search, work_limit=WORK)
    training_round = drawn.replace(settings=dataclasses.replace(drawn.settings, search=search))
    plan = find_plan(training_round, seconds=0, seed=1, workers=1, reproducible=True)
    return befallen(seed, completed(plan, training_round), training_round)


def repaired(task: RepairTask) -> Repaired | None:
    """Return the repair, or None if it is proven that there is none."""
    try:
        return repair_plan(task, seconds=0, seed=1, workers=1, reproducible=True, gains=False)
    except ProvenImpossible:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_repairs_are_least_lawful_and_keep_what_is_confirmed(seed: int) -> None:
    task = task_of(seed)
    found, least = repaired(task), BruteRepair(task).least()
    assert (found is None) == (least is None)
    if found is None or least is None:
        return
    person, first = loss_scale(task.announced, task.training_round)
    assert found.coverage_lost.value == first * least.lost[0] + person * least.lost[1] + least.lost[2]
    assert found.stability.value == least.points
    assert (found.coverage_lost.gap, found.stability.gap) == (0, 0)
    assert audit_plan(completed(found.plan, task.training_round), task.training_round) == ()
    seats = {(team.dates[0], s.role, s.person) for team in found.plan.teams for s in team.seats}
    dates = {team.code: team.dates[0] for team in task.announced.teams}
    assert {(dates[ref.team], ref.role, ref.person) for ref in task.confirmed} <= seats
