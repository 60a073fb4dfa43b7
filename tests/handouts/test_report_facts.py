"""Report, summary, map and labels of generated rounds say what plan.json says."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import pytest
from html_sample import sample_plan, sample_round
from report_facts import Facts

from roundplan.audit import audit_plan
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.surfaces import Surfaces

sys.path.append(str(Path(__file__).parents[1] / "bench"))

SIZES = ((6, 5, 1, 2), (6, 5, 1, 3), (8, 6, 2, 3))
"""Facilities, weekdays, crews and seed of the rounds."""


def generated(facilities: int, days: int, crews: int, seed: int) -> tuple[Plan, TrainingRound]:
    from generator import generate
    from rivals.greedy import greedy_plan

    training_round = generate(facilities, days, crews, seed=seed)
    return greedy_plan(training_round, seconds=60, seed=1), training_round


@pytest.mark.parametrize("size", SIZES)
def test_pages_of_a_generated_round_say_what_the_plan_says(size: tuple[int, int, int, int]) -> None:
    plan, training_round = generated(*size)
    assert len(plan.teams) >= 4
    assert audit_plan(plan, training_round) == ()
    assert Facts(plan, training_round).faults() == []
    check_surfaces(PlanIndex(plan, training_round))


def check_surfaces(index: PlanIndex) -> None:
    """Assert that each drive's hops are together as long as the drive; those without a road row have no length."""
    surfaces = Surfaces(index)
    drives = [leg.drive for trip in index.plan.trips for day in trip.days for leg in day.legs]
    drives += [drive for team in index.plan.teams for outing in team.outings for drive in outing.drives]
    assert drives
    for drive in drives:
        lengths = [hop.km for hop in surfaces.hops(drive)]
        total = sum(length for length in lengths if length is not None)
        assert total <= drive.km + 0.001
        if None not in lengths:
            assert total == pytest.approx(drive.km)


def test_a_fact_that_is_wrong_is_found() -> None:
    plan, training_round = sample_plan(), sample_round()
    facts = Facts(plan, training_round)
    facts.plan["teams"] = facts.plan["teams"][1:]
    facts.plan["costs"] = facts.plan["costs"][1:]
    facts.plan["trips"] = facts.plan["trips"][1:]
    found = " ".join(facts.faults())
    for what in (
        "coverage of",
        "cost of",
        "total cost",
        "timeline",
        "load of",
        "labels",
        "drives on the map",
        "summary",
    ):
        assert what in found, what


def test_a_changed_plan_changes_what_the_pages_say() -> None:
    plan, training_round = sample_plan(), sample_round()
    fewer = dataclasses.replace(plan, costs=plan.costs[1:])
    assert list(Facts(fewer, training_round).costs()) == []
