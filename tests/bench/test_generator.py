"""The round generator: the same round from the same seed, and a round that is like a real one in shape."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from generator import generate, write_tables

from roundplan.domain.role import Lead, Role, Surface
from roundplan.domain.training_round import TrainingRound
from roundplan.intake import read_round
from roundplan.travel.distance import geodesic_km, near
from roundplan.travel.network import RoadNetwork

HERE = Path(__file__).parent
FINGERPRINT = """
import hashlib, json
from generator import generate
from roundplan.intake import round_to_tables
print(hashlib.sha256(json.dumps(round_to_tables(generate(12, 10, 2, seed=3))).encode()).hexdigest())
"""


@pytest.fixture(scope="module")
def sixty() -> TrainingRound:
    return generate(60, 40, 5, seed=1)


def test_same_seed_same_round_whatever_the_order_of_hashes() -> None:
    found = set()
    for number in ("1", "2"):
        paths = os.pathsep.join((str(HERE), str(HERE.parents[1])))
        environment = os.environ | {"PYTHONHASHSEED": number, "PYTHONPATH": paths}
        done = subprocess.run(
            [sys.executable, "-c", FINGERPRINT], env=environment, stdout=subprocess.PIPE, check=True, encoding="utf-8"
        )
        found.add(done.stdout)
    assert len(found) == 1
    assert generate(12, 10, 2, seed=3) == generate(12, 10, 2, seed=3)
    assert generate(12, 10, 2, seed=3) != generate(12, 10, 2, seed=4)


@pytest.mark.parametrize(
    ("facilities", "days", "crews", "scarce"), [(12, 20, 2, False), (60, 40, 2, True), (7, 5, 1, True)]
)
def test_tables_pass_the_check_and_read_as_the_same_round(
    tmp_path: Path, facilities: int, days: int, crews: int, scarce: bool
) -> None:
    made = generate(facilities, days, crews, seed=2, crews_scarce=scarce)
    write_tables(made, tmp_path)
    assert read_round(tmp_path).training_round == made  # findings would have been raised


def test_sizes_are_those_asked_for(sixty: TrainingRound) -> None:
    """Staff and teams as in the sizes that the search is benched on: about 930 staff, about 136 teams wanted."""
    weekdays = [day for day in sixty.settings.round.window if day.weekday() < 5]
    assert (len(sixty.facilities), len(weekdays), len(sixty.crews)) == (60, 40, 5)
    assert 900 <= len(sixty.people) <= 960
    assert 132 <= sum(f.teams_wanted for f in sixty.facilities) <= 140
    assert {f.teams_wanted for f in sixty.facilities} == {1, 2, 3, 4}
    assert 5 <= len(sixty.trainers) / len(sixty.crews) <= 6


def test_every_facility_has_a_team_to_send_and_one_to_stay(sixty: TrainingRound) -> None:
    for facility in sixty.facilities:
        main = Counter(person.roles[0] for person in sixty.staff_of(facility.code))
        assert 12 <= sum(main.values()) <= 22
        assert main[Role.SURGICAL_PROVIDER] in range(3, 6)
        assert main[Role.SURGICAL_ASSISTANT] in range(4, 7)
        assert main[Role.ANAESTHETIST] in range(2, 5)
        assert set(facility.usual_team) <= set(main)


def test_districts_lie_round_their_hospitals(sixty: TrainingRound) -> None:
    sizes = Counter(facility.district for facility in sixty.facilities)
    assert all(6 <= size <= 12 for size in sizes.values())
    for facility in sixty.facilities:
        centre = sixty.facility(f"{facility.code[:4]}F01")
        assert centre.district == facility.district
        assert geodesic_km(facility, centre) < 90
        assert facility.refers_to in (None, centre.code)


@pytest.mark.parametrize("facilities", [12, 60, 300])
def test_land_grows_with_the_facilities(facilities: int) -> None:
    """About 60 facilities on 300 by 250 km."""
    made = generate(facilities, 5, 2, seed=1).facilities
    far = max(geodesic_km(a, b) for a, b in combinations(made[:: max(facilities // 60, 1)], 2))
    assert 0.5 < far / math.hypot(300, 250) / math.sqrt(facilities / 60) < 1.1


def test_roads_reach_everybody_and_are_of_every_kind(sixty: TrainingRound) -> None:
    network = RoadNetwork(sixty)
    for day in (sixty.settings.round.first_day, sixty.settings.round.last_day):  # a wet date and a dry one
        ways = [network.ways(sixty.crews[0].base, f.code, day) for f in sixty.facilities]
        assert sum(not found for found in ways) <= 3  # a closure or a wet track may cut a few off
        assert {way.source for found in ways for way in found} <= {"network", "entered", "near"}
    assert {road.surface for road in sixty.roads} == set(Surface)
    assert all(road.km for road in sixty.roads)
    assert 0.15 < sum(road.hours is not None for road in sixty.roads) / len(sixty.roads) < 0.6
    assert any(road.open_from is not None for road in sixty.roads)
    assert any(road.closures for road in sixty.roads)


def test_crews_can_run_a_station_throughout(sixty: TrainingRound) -> None:
    """Director, anaesthesia, surgery and newborn care among those who are fixed to a crew and always there."""
    for crew in sixty.crews:
        own = [t for t in sixty.trainers if t.crew == crew.code and t.available_from is None]
        assert {lead for trainer in own for lead in trainer.leads} == set(Lead)
        assert len(own) >= sixty.settings.trainers.per_station
        assert crew.seats - crew.drivers >= len(own)
        homes = [sixty.site(t.lives_at) for t in sixty.trainers if t.crew == crew.code]
        assert all(geodesic_km(home, sixty.site(crew.base)) < 35 for home in homes)


def test_scarce_crews_leave_facilities_and_staff_as_they_are(sixty: TrainingRound) -> None:
    scarce = generate(60, 40, 2, seed=1, crews_scarce=True)
    assert (scarce.facilities, scarce.people, scarce.duties) == (sixty.facilities, sixty.people, sixty.duties)
    days = [d for c in scarce.crews for d in scarce.settings.round.window if d.weekday() < 5 and _there(c, d)]
    room = 2 * len(days)  # teams that one station has time for, a date
    assert 0.6 < room / sum(f.teams_wanted for f in scarce.facilities) < 0.8


def _there(crew: object, day: object) -> bool:
    return crew.available_from <= day <= crew.available_to  # type: ignore[attr-defined]


def test_a_third_host_and_a_third_have_a_roster(sixty: TrainingRound) -> None:
    assert sum(f.stations > 0 for f in sixty.facilities) == 20
    rostered = {sixty.person(duty.person).facility for duty in sixty.duties}
    assert len(rostered) == 20
    lodges = [place for place in sixty.places if place.has_lodging]
    hospitals = [f for f in sixty.facilities if f.code.endswith("F01")]
    assert all(any(near(hospital, lodge) for lodge in lodges) for hospital in hospitals)
