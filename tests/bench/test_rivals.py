"""The rivals of the search: their plans keep every rule, their bounds hold, their arithmetic is checked by hand."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from bench_common import described, in_own_process, reached, table
from bench_search import coverage, verdicts
from generator import generate
from rivals.greedy import greedy_plan
from rivals.one_mip import skeleton_by_mip
from rivals.release import can_send, most_teams
from rounds import MONDAY, host, person, staff, tiny_round

from roundplan.domain.plan import Plan
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.training_round import TrainingRound

P, A, N = MINIMUM_ROLES


@pytest.fixture(scope="module")
def scarce() -> TrainingRound:
    return generate(12, 10, 2, seed=1, crews_scarce=True)


@pytest.fixture(scope="module")
def by_hand(scarce: TrainingRound) -> Plan:
    return greedy_plan(scarce, seconds=60, seed=1)


def test_greedy_plan_keeps_every_rule(scarce: TrainingRound, by_hand: Plan) -> None:
    found = described(by_hand, scarce, 0.0)
    assert found["breaches"] == 0
    assert found["teams"] >= 10
    assert all(not seat.guest for team in by_hand.teams for seat in team.seats)
    weekend = [day.date for trip in by_hand.trips for day in trip.days if day.date.weekday() > 4]
    assert weekend == []


def test_greedy_goes_to_the_nearest_first() -> None:
    """ALFA hosts and is nearer to the base than BETA, so its one team is there on the first date, BETA's beside it."""
    plan = greedy_plan(tiny_round(), seconds=60, seed=1)
    assert [(team.facility, team.dates[0]) for team in plan.teams] == [("ALFA", MONDAY), ("BETA", MONDAY)]


def test_greedy_stops_when_its_time_is_up(scarce: TrainingRound) -> None:
    assert greedy_plan(scarce, seconds=-1, seed=1).teams == ()


def test_bound_of_the_skeleton_holds_for_the_greedy_plan(scarce: TrainingRound, by_hand: Plan) -> None:
    skeleton = skeleton_by_mip(scarce, seconds=60, seed=1, workers=1)
    values = {tier.aim.value: tier.value for tier in by_hand.tiers}
    first, further = skeleton.bound["first teams"], skeleton.bound["further teams"]
    assert values["first teams"] <= first
    if values["first teams"] == first:
        assert values["further teams"] <= further
    assert skeleton.value["first teams"] <= first
    assert first <= sum(scarce.weight(f) for f in scarce.facilities)


def test_skeleton_of_the_tiny_round_by_hand() -> None:
    """One crew, one station: both facilities fit one date, so both first teams are trained and nothing is left."""
    two = tiny_round(
        facilities=(host("ALFA", 0.3, 0.3, teams_wanted=2, lodging_price=6), tiny_round().facility("BETA")),
        people=staff("ALFA", "PPPAAANNN") + staff("BETA"),
    )
    skeleton = skeleton_by_mip(two, seconds=60, seed=1, workers=1)
    assert skeleton.value == {"first teams": 3 + 3, "further teams": 6 * 3}
    assert skeleton.bound == skeleton.value


def test_one_of_two_can_go_if_the_other_stays() -> None:
    people = staff("ALFA", "PPAANN")
    assert can_send(1, people, MINIMUM_ROLES, people)
    assert not can_send(2, people, MINIMUM_ROLES, people)
    assert most_teams(4, people, (), people) == 2


def test_a_guest_seat_stands_in_for_the_role_that_cannot_go() -> None:
    people = staff("ALFA", "PPAAN")
    assert not can_send(1, people, MINIMUM_ROLES, people)
    assert can_send(1, people, MINIMUM_ROLES, people, guests=1)
    assert most_teams(2, people, MINIMUM_ROLES, people, guests_a_team=1) == 1  # one provider, one assistant to spare


def test_nobody_fills_two_roles_at_once() -> None:
    both = person("X", "ALFA", P, A)
    people = (both, *staff("ALFA", "PANN"))
    assert can_send(1, (both,), (), people, guests=2)
    assert not can_send(1, (both,), (), people, guests=1)


def test_cover_is_never_given_up_for_a_guest() -> None:
    people = staff("ALFA", "PPA")
    assert not can_send(1, people, (P, A, Role.SCRUB), people, guests=3)


def result(first: int, further: int, bound: int | None = None, **more: Any) -> dict[str, Any]:
    tiers = {"first teams": (first, bound), "must people": (0, None), "further teams": (further, bound)}
    return {"tiers": tiers, "breaches": 0} | more


def test_verdicts_compare_tiers_in_order() -> None:
    results = {
        (1, "ours"): result(10, 30, bound=30),
        (1, "greedy"): result(11, 0),
        (1, "one CP-SAT"): result(10, 29),
        (1, "one MIP"): result(12, 40, claimed=True),
    }
    far = "first teams and further teams"
    assert list(verdicts(results)) == [
        "seed 1: greedy has MORE coverage than ours",
        f"seed 1: one CP-SAT has less coverage than ours, and is over 2 % below our bound in {far}",
    ]
    assert coverage(result(1, 1) | {"breaches": 3}) is None  # no plan, whatever it covers


def test_a_run_that_takes_too_long_is_ended_and_says_so(tmp_path: Path) -> None:
    script = tmp_path / "run.py"
    script.write_text(
        "import sys, time, json\ntime.sleep(float(sys.argv[1]))\nprint('note')\nprint(json.dumps({'a': 1}))\n"
    )
    assert in_own_process([str(script), "0"])["a"] == 1
    assert in_own_process([str(script), "600"], patience=0.01)["stopped"] == "ended after 0 s"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory of a run is read from /proc")
def test_memory_of_all_processes_of_a_run_is_counted(tmp_path: Path) -> None:
    script = tmp_path / "run.py"
    script.write_text(
        "import subprocess, sys, time\n"
        "if len(sys.argv) == 1:\n"
        "    for _ in range(2): subprocess.Popen([sys.executable, __file__, 'x'])\n"
        "held = bytearray(b'x') * 40_000_000\n"
        "time.sleep(600)\n"
    )
    found = in_own_process([str(script)], most_mb=115.0)  # three processes of 40 MB each
    assert found["memory"] > 115
    assert found["stopped"].startswith("ended at")


def test_tables_are_markdown() -> None:
    assert table(["a", "b"], [["x", "1"]]) == "| a | b |\n| --- | ---: |\n| x | 1 |"
    assert reached(50, 60) == "50 / 60, gap 20.0 %"
    assert reached(0, None) == "0 / no bound"
