"""One crew-day with many short sessions, against every order tried and against PyVRP on the same whole distances."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from overnight_tours import Tour, shortest_order, write_inputs
from pyvrp import Model
from pyvrp.stop import MaxIterations

from roundplan.workflow import audit_plan, make_plan, read_round


def scattered(clients: int, seed: int) -> Tour:
    """Return clients at whole points of a square of 60 × 60 units; five minutes each, no limit that binds."""
    dice = Random(seed)
    spots = dice.sample([(x, y) for x in range(61) for y in range(61)], clients + 1)
    return Tour(f"scattered {clients}", tuple((x, y, 5.0 if n else 0.0) for n, (x, y) in enumerate(spots)), limit=1430)


def lengths(tour: Tour) -> list[list[int]]:
    points = range(len(tour.points))
    return [[round(10 * tour.distance(a, b)) for b in points] for a in points]


def planned_length(tour: Tour, folder: Path) -> int:
    """Return the tenths of units driven in the plan, all clients on one date."""
    training_round = read_round(write_inputs(tour, folder / "inputs", dates=1)).training_round
    plan = make_plan(training_round, seconds=60, seed=1, workers=2)
    assert audit_plan(plan, training_round) == ()
    (day,) = (day for trip in plan.trips for day in trip.days)
    assert len(day.sessions) == len(tour.points) - 1
    return sum(round(10 * leg.drive.km) for leg in day.legs)


def pyvrp_length(distances: list[list[int]]) -> int:
    """Return the length of PyVRP's tour of one vehicle."""
    model = Model()
    stops = [model.add_location(0, 0) for _ in distances]
    model.add_depot(stops[0])
    for stop in stops[1:]:
        model.add_client(stop)
    model.add_vehicle_type(1)
    for start, row in zip(stops, distances, strict=True):
        for end, length in zip(stops, row, strict=True):
            if start is not end:
                model.add_edge(start, end, distance=length)
    found = model.solve(MaxIterations(500), seed=1, display=False)
    assert found.is_feasible()
    return int(found.best.distance())


@pytest.mark.parametrize(("clients", "seed"), [(3, 1), (6, 2), (7, 3)])
def test_as_short_as_the_shortest_of_all_orders(clients: int, seed: int, tmp_path: Path) -> None:
    tour = scattered(clients, seed)
    assert planned_length(tour, tmp_path) == shortest_order(lengths(tour))


@pytest.mark.parametrize(("clients", "seed"), [(9, 4), (13, 5)])
def test_never_longer_than_pyvrp(clients: int, seed: int, tmp_path: Path) -> None:
    tour = scattered(clients, seed)
    assert planned_length(tour, tmp_path) <= pyvrp_length(lengths(tour))
