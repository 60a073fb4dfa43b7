"""Repairs of random tiny rounds lose and change as little as trying every plan does, and are lawful."""

from __future__ import annotations

import dataclasses
from functools import cache

import pytest
from brute_repair import BruteRepair, Least
from random_small_rounds import small_round
from repair_facts import befallen

from roundplan.audit import audit_plan
from roundplan.domain.changes import loss_scale
from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
from roundplan.domain.repair import Repaired, RepairTask
from roundplan.draft import completed
from roundplan.solver import find_plan, repair_plan
from roundplan.solver.repair import frames

SEEDS = (0, 2, 3, 13, 16, 17, 23, 32, 33, 36, 39, 41, 44, 319)
"""Seeds of which everything is tried in a moment: a plan, something that befalls it, some seats confirmed."""
WORK = 4.0
"""Deterministic work for the plan and for its repair: the same on every machine."""


@cache
def task_of(seed: int) -> RepairTask:
    """Return a planned tiny round that something has befallen."""
    drawn = small_round(seed, tiny=True)
    search = dataclasses.replace(drawn.settings.search, work_limit=WORK)
    training_round = drawn.replace(settings=dataclasses.replace(drawn.settings, search=search))
    plan = find_plan(training_round, seconds=0, seed=1, workers=1, reproducible=True)
    return befallen(seed, completed(plan, training_round), training_round)


@cache
def least_of(seed: int) -> Least | None:
    """Return what trying everything comes to."""
    return BruteRepair(task_of(seed)).least()


def repaired(task: RepairTask) -> Repaired | None:
    """Return the repair, or None if it is proven that there is none."""
    try:
        return repair_plan(task, seconds=0, seed=1, workers=1, reproducible=True, gains=False)
    except ProvenImpossible:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_repairs_are_least_lawful_and_keep_what_is_confirmed(seed: int) -> None:
    task = task_of(seed)
    found, least = repaired(task), least_of(seed)
    assert (found is None) == (least is None)
    if found is None or least is None:
        return
    assert found.coverage_lost.value == figure(task, least)
    assert found.stability.value == least.points
    assert (found.coverage_lost.gap, found.stability.gap) == (0, 0)
    assert audit_plan(completed(found.plan, task.training_round), task.training_round) == ()
    seats = {(team.dates[0], s.role, s.person) for team in found.plan.teams for s in team.seats}
    dates = {team.code: team.dates[0] for team in task.announced.teams}
    assert {(dates[ref.team], ref.role, ref.person) for ref in task.confirmed} <= seats


@pytest.mark.parametrize("seed", SEEDS)
def test_parts_of_a_round_give_lawful_repairs_and_true_bounds(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(frames, "BASE", 0)  # as in a large round, which is never one model
    task, least = task_of(seed), least_of(seed)
    try:
        found = repaired(task)
    except TimeRanOut:
        return  # what lies beyond the parts that were opened
    if found is None or least is None:
        assert found is None
        assert least is None
        return
    assert audit_plan(completed(found.plan, task.training_round), task.training_round) == ()
    lost, points = found.coverage_lost, found.stability
    assert lost.bound is not None
    assert lost.bound <= figure(task, least) <= lost.value
    if lost.value == figure(task, least):
        assert points.bound is None or points.bound <= least.points
        assert least.points <= points.value


def figure(task: RepairTask, least: Least) -> int:
    """Return a loss in one figure."""
    person, first = loss_scale(task.announced, task.training_round)
    return first * least.lost[0] + person * least.lost[1] + least.lost[2]
