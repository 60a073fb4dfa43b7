"""Published overnight tours, planned as ordinary rounds: fewest crew days first, then least travel, both proven."""

from __future__ import annotations

from pathlib import Path

import pytest
from overnight_tours import Tour, data_folder, published_tours, write_inputs

from roundplan.domain.plan import Plan, Status
from roundplan.domain.rules import Aim
from roundplan.domain.training_round import TrainingRound
from roundplan.workflow import audit_plan, make_plan, read_round

# Points of Solomon's r101 (1987), first ten customers; service 10, a day at most 230 units. Published optimum of the
# problem with hotels at the depot and at customer 1: two days, travel 172.8 (Barbosa and Uchoa 2020, set 2 of
# Vansteenwegen, Souffriau and Sörensen 2012), found again by exhaustive dynamic programming.
R101_10 = Tour(
    "r101.10",
    (
        (35, 35, 0), (41, 49, 10), (35, 17, 10), (55, 45, 10), (55, 20, 10), (15, 30, 10), (25, 30, 10), (20, 50, 10),
        (10, 43, 10), (55, 60, 10), (30, 60, 10),
    ),
    limit=230,
    days=2,
    travel=172.8,
)  # fmt: skip
DATA = data_folder()
IN_THE_BENCH = "rc101.15"
"""Takes longest to prove, so tests/bench/bench_tours.py alone plans it."""
OTHERS = [t for t in published_tours(DATA) if t.name not in (R101_10.name, IN_THE_BENCH)] if DATA is not None else []


def planned(tour: Tour, folder: Path) -> tuple[TrainingRound, Plan]:
    training_round = read_round(write_inputs(tour, folder / "inputs")).training_round
    return training_round, make_plan(training_round, seconds=60, seed=1, workers=2)


def travelled(plan: Plan) -> float:
    return sum(leg.drive.km for trip in plan.trips for day in trip.days for leg in day.legs)


def check(tour: Tour, folder: Path) -> Plan:
    training_round, plan = planned(tour, folder)
    assert audit_plan(plan, training_round) == ()
    assert len({team.facility for team in plan.teams}) == len(tour.points) - 1
    assert sum(len(trip.days) for trip in plan.trips) == tour.days
    assert travelled(plan) == pytest.approx(tour.travel)
    cost = next(tier for tier in plan.tiers if tier.aim is Aim.COST)
    assert (cost.value, cost.bound, cost.status) == (tour.cost, tour.cost, Status.OPTIMAL)
    return plan


def test_the_smallest_tour_of_two_days_is_found_and_proven(tmp_path: Path) -> None:
    plan = check(R101_10, tmp_path)
    for trip in plan.trips:
        for day in trip.days:
            assert day.night in (None, "C01")
            minutes = sum(leg.drive.drive_seconds for leg in day.legs) / 60 + 10 * len(day.sessions)
            assert minutes <= 230


@pytest.mark.skipif(DATA is None, reason="no folder with the published tables (OVERNIGHT_TOURS, ../shared/published)")
def test_the_copied_points_are_the_published_ones() -> None:
    assert DATA is not None
    assert R101_10 in published_tours(DATA)


@pytest.mark.skipif(DATA is None, reason="no folder with the published tables (OVERNIGHT_TOURS, ../shared/published)")
@pytest.mark.parametrize("tour", OTHERS, ids=lambda tour: tour.name)
def test_the_other_tours_are_found_and_proven(tour: Tour, tmp_path: Path) -> None:
    check(tour, tmp_path)
