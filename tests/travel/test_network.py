"""Ways by hand: each expected time stands with its arithmetic."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rounds import place, tiny_settings
from rounds import settings as changed

from roundplan.domain.place import Road
from roundplan.domain.role import Surface
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.distance import geodesic_km
from roundplan.travel.network import Gate, RoadNetwork

DRY = date(2026, 6, 1)
WET = date(2026, 6, 2)
HOUR = 3600
SPREAD = {"A": (0.0, 0.0), "B": (0.0, 1.0), "C": (1.0, 0.0), "D": (1.0, 1.0), "E": (2.0, 2.0)}


def network(*roads: Road, sites: dict[str, tuple[float, float]] = SPREAD, **travel: Any) -> RoadNetwork:
    rules = changed(tiny_settings(), round={"wet_from": WET, "wet_to": WET}, travel=travel)
    places = tuple(place(code, *where) for code, where in sites.items())
    return RoadNetwork(TrainingRound(settings=rules, places=places, roads=roads))


def test_an_entered_row_is_the_leg_as_it_stands_even_where_a_path_is_faster() -> None:
    roads = network(
        Road(start="A", end="B", km=30, hours=2.0),
        Road(start="A", end="C", km=10, surface=Surface.PAVED),
        Road(start="C", end="B", km=10, surface=Surface.PAVED),
    )
    (way,) = roads.ways("A", "B", DRY)
    assert (way.seconds, way.km, way.source, way.factor, way.via) == (2 * HOUR, 30.0, "entered", 1.0, ())
    assert roads.ways("B", "A", DRY)[0].seconds == 2 * HOUR


def test_the_factor_on_entered_hours_applies() -> None:
    (way,) = network(Road(start="A", end="B", km=30, hours=1.1), factor_entered=1.5).ways("A", "B", DRY)
    assert way.seconds == 5940  # 1.1 h × 1.5 = 1.65 h = 5,940 s, with no float dust that rounds up to 5,941
    assert way.factor == 1.5


def test_a_computed_row_goes_by_surface_and_season() -> None:
    roads = network(Road(start="A", end="B", km=40, surface=Surface.GRAVEL))
    (dry,) = roads.ways("A", "B", DRY)
    (wet,) = roads.ways("A", "B", WET)
    assert (dry.source, dry.factor) == ("network", 1.25)
    assert dry.seconds == 4500  # 40 km ÷ 40 km/h × 1.25 = 1.25 h
    assert wet.seconds == 6000  # 40 ÷ (40 × 0.75) × 1.25 = 1.6667 h
    assert dry.km == wet.km == 40.0


def test_a_row_without_surface_goes_at_the_default_speed_in_both_seasons() -> None:
    roads = network(Road(start="A", end="B", km=20), default_speed=50.0)
    assert roads.ways("A", "B", DRY)[0].seconds == roads.ways("A", "B", WET)[0].seconds == 1800  # 20 ÷ 50 × 1.25


def test_a_wet_track_is_closed_unless_hours_are_given() -> None:
    roads = network(
        Road(start="A", end="B", km=15, surface=Surface.TRACK),
        Road(start="A", end="C", km=15, hours=1.0, surface=Surface.TRACK),
    )
    assert roads.ways("A", "B", DRY)[0].seconds == 4500  # 15 ÷ 15 × 1.25
    assert roads.ways("A", "B", WET) == ()
    assert roads.ways("A", "C", WET)[0].seconds == HOUR


def test_a_path_mixes_entered_and_computed_hours() -> None:
    roads = network(
        Road(start="A", end="C", km=50, hours=1.0),
        Road(start="C", end="D", km=60, surface=Surface.PAVED),
        Road(start="D", end="B", km=12.5, hours=0.5),
    )
    (way,) = roads.ways("A", "B", DRY)
    # 1 h × 1 + 60 ÷ 60 h × 1.25 + 0.5 h × 1 = 2.75 h driven for 2.5 h bare: factor 1.1
    assert way.seconds == 9900
    assert way.factor == pytest.approx(1.1)
    assert (way.km, way.source, way.via) == (122.5, "network", ("C", "D"))
    assert roads.ways("B", "A", DRY)[0].via == ("D", "C")


def test_times_are_rounded_up_to_whole_seconds() -> None:
    (way,) = network(Road(start="A", end="B", hours=1 / 7, km=1)).ways("A", "B", DRY)
    assert way.seconds == 515  # 3,600 ÷ 7 = 514.29


def test_a_closure_counts_on_both_its_ends_and_leaves_the_longer_path() -> None:
    closed = ((date(2026, 6, 3), date(2026, 6, 4)), (date(2026, 6, 8), date(2026, 6, 8)))
    roads = network(
        Road(start="A", end="B", km=20, hours=0.5, closures=closed),
        Road(start="A", end="C", km=40, hours=1.0),
        Road(start="C", end="B", km=40, hours=1.0),
    )
    seconds = {day: roads.ways("A", "B", date(2026, 6, day))[0].seconds for day in range(3, 10)}
    assert seconds == {3: 7200, 4: 7200, 5: 1800, 6: 1800, 7: 1800, 8: 7200, 9: 1800}
    assert roads.state(date(2026, 6, 3)) == roads.state(date(2026, 6, 8))
    assert roads.state(date(2026, 6, 3)) != roads.state(date(2026, 6, 5))
    assert roads.state(DRY) != roads.state(WET)


def test_no_way_where_closures_cut_every_path() -> None:
    roads = network(Road(start="A", end="B", km=20, hours=0.5, closures=((DRY, DRY),)))
    assert roads.ways("A", "B", DRY) == ()
    assert roads.ways("B", "A", DRY) == ()
    assert len(roads.ways("A", "B", WET)) == 1


def test_points_with_roads_that_do_not_meet_have_no_way() -> None:
    roads = network(Road(start="A", end="B", km=20), Road(start="C", end="D", km=20))
    assert roads.ways("A", "C", DRY) == ()


def test_oneway_roads_go_one_way() -> None:
    roads = network(Road(start="A", end="B", km=20, hours=0.5, oneway=True))
    assert roads.ways("A", "B", DRY)[0].seconds == 1800
    assert roads.ways("B", "A", DRY) == ()


def test_of_parallel_roads_the_fastest_open_one_counts() -> None:
    slow, fast = (Road(start="A", end="B", km=30, hours=hours) for hours in (2.0, 1.0))
    shut = Road(start="B", end="A", km=30, hours=0.5, closures=((DRY, DRY),))
    roads = network(slow, shut, fast)
    assert roads.ways("A", "B", DRY)[0].seconds == HOUR
    assert roads.ways("A", "B", WET)[0].seconds == HOUR // 2


def test_a_straight_line_only_for_a_point_without_road_rows() -> None:
    roads = network(Road(start="A", end="B", km=20, hours=0.5), detour=1.5, default_speed=30.0)
    (way,) = roads.ways("A", "E", DRY)
    geodesic = geodesic_km(place("A", 0, 0), place("E", 2, 2))
    assert (way.source, way.factor, way.via) == ("straight line", 1.25, ())
    assert way.km == pytest.approx(geodesic * 1.5, abs=1e-5)
    assert way.seconds == math.ceil(geodesic * 1.5 / 30 * 1.25 * HOUR)
    assert roads.ways("A", "B", DRY)[0].source == "entered"


def test_a_row_without_km_gets_the_geodesic_with_its_detour() -> None:
    (way,) = network(Road(start="A", end="B", hours=3.0)).ways("A", "B", DRY)
    assert way.km == pytest.approx(geodesic_km(place("A", 0, 0), place("B", 0, 1)) * 1.4, abs=1e-5)
    assert (way.seconds, way.source) == (3 * HOUR, "entered")


def test_near_sites_need_no_drive() -> None:
    sites = SPREAD | {"INN": (0.01, 0.0)}  # 1.1 km from A
    roads = network(Road(start="A", end="B", km=20, hours=0.5), sites=sites)
    for start, end in (("A", "INN"), ("INN", "A"), ("A", "A"), ("INN", "INN")):
        (way,) = roads.ways(start, end, DRY)
        assert (way.seconds, way.km, way.source) == (0, 0.0, "near")
    assert roads.near("A", "INN")
    assert not roads.near("A", "B")


def test_a_hostel_without_road_rows_beside_a_facility_is_on_the_network() -> None:
    sites = SPREAD | {"INN": (0.01, 0.0)}
    roads = network(Road(start="A", end="B", km=20, hours=0.5), Road(start="B", end="C", km=9, hours=0.25), sites=sites)
    (way,) = roads.ways("INN", "C", DRY)
    assert (way.seconds, way.km, way.source, way.via) == (2700, 29.0, "network", ("A", "B"))  # 0 + 0.5 h + 0.25 h
    assert roads.ways("C", "INN", DRY)[0].seconds == 2700


def test_near_sites_that_roads_join_get_no_link_so_that_a_river_keeps_its_crossing() -> None:
    sites = {"A": (0.0, -0.5), "WEST": (0.0, 0.0), "EAST": (0.0, 0.01), "B": (0.0, 0.5)}  # piers 1.1 km apart
    roads = network(
        Road(start="A", end="WEST", km=60, hours=1.0),
        Road(start="WEST", end="EAST", km=1.2, hours=0.75),
        Road(start="EAST", end="B", km=60, hours=1.0),
        sites=sites,
    )
    assert roads.ways("A", "B", DRY)[0].seconds == 9900  # 1 h + 0.75 h + 1 h
    assert roads.ways("WEST", "EAST", DRY)[0].source == "near"


def test_a_crossing_with_hours_is_told_and_the_way_round_it_offered() -> None:
    roads = network(
        Road(start="A", end="C", km=30, hours=0.5),
        Road(start="C", end="D", km=2, hours=0.25, open_from=7 * HOUR, open_to=17 * HOUR),
        Road(start="D", end="B", km=30, hours=0.5),
        Road(start="C", end="E", km=90, hours=1.5),
        Road(start="E", end="D", km=90, hours=1.5),
    )
    ferry, round_it = roads.ways("A", "B", DRY)
    assert ferry.seconds == 4500  # 0.5 h + 0.25 h + 0.5 h
    assert ferry.gates == (Gate(enter_after=1800, leave_after=2700, open_from=25200, open_to=61200),)
    assert (round_it.seconds, round_it.gates, round_it.via) == (14400, (), ("C", "E", "D"))
    assert len(roads.ways("A", "C", DRY)) == 1


def test_a_crossing_without_a_way_round_stands_alone() -> None:
    (way,) = network(Road(start="A", end="B", km=2, hours=1.0, open_from=6 * HOUR)).ways("A", "B", DRY)
    assert way.gates == (Gate(enter_after=0, leave_after=3600, open_from=21600, open_to=86400),)


def test_an_entered_row_over_a_crossing_offers_the_path_without_it_fastest_first() -> None:
    roads = network(
        Road(start="A", end="B", km=2, hours=1.0, open_to=17 * HOUR),
        Road(start="A", end="C", km=30, surface=Surface.PAVED),
        Road(start="C", end="B", km=30, surface=Surface.PAVED),
    )
    ferry, path = roads.ways("A", "B", DRY)
    assert [ferry.seconds, path.seconds] == [3600, 4500]  # 60 ÷ 60 × 1.25 = 1.25 h
    assert [len(ferry.gates), len(path.gates)] == [1, 0]


def test_answers_are_kept_by_state() -> None:
    roads = network(Road(start="A", end="B", km=20, hours=0.5))
    assert roads.ways("A", "B", DRY) is roads.ways("A", "B", date(2026, 6, 9))


CODES = tuple("ABCDE")
ROWS = st.builds(
    Road,
    start=st.sampled_from(CODES),
    end=st.sampled_from(CODES),
    km=st.integers(1, 200).map(float),
    surface=st.sampled_from((Surface.PAVED, Surface.GRAVEL, Surface.EARTH, None)),
    oneway=st.booleans(),
).filter(lambda road: road.start != road.end)


@settings(max_examples=60, deadline=None)
@given(st.lists(ROWS, min_size=1, max_size=12))
def test_paths_agree_with_another_library(rows: list[Road]) -> None:
    """Paths over rows without hours against Dijkstra of networkx, on a graph built here."""
    speeds = {Surface.PAVED: 60, Surface.GRAVEL: 40, Surface.EARTH: 25, None: 40}
    graph = nx.MultiDiGraph()
    for road in rows:
        assert road.km is not None
        hours = road.km / speeds[road.surface] * 1.25
        graph.add_edge(road.start, road.end, hours=hours)
        if not road.oneway:
            graph.add_edge(road.end, road.start, hours=hours)
    roads = network(*rows)
    for start in graph:
        reached = nx.single_source_dijkstra_path_length(graph, start, weight="hours")
        for end in set(graph) - {start}:
            ways = roads.ways(start, end, DRY)
            assert [way.seconds for way in ways] == pytest.approx(
                [reached[end] * HOUR] if end in reached else [], abs=1.001
            )
