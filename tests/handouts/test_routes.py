"""Routes: the plan's drives by a second library, bearings by hand, text that any phone shows."""

from __future__ import annotations

import dataclasses
import re
from xml.etree import ElementTree as ET

import gpxpy
import planned_rounds
import pytest
from html_sample import HOSTILE, hostile_plan, hostile_round
from planned_rounds import people_in, phones, phones_in, planned

from roundplan.domain.place import Place, Road
from roundplan.domain.role import PlaceKind, Surface
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.routes import gpx, listing
from roundplan.handouts.routes.stages import bearing, compass, coordinates, legs_of, points, stages
from roundplan.handouts.words import arrival, clock

GPX = "{http://www.topografix.com/GPX/1/1}"


def place(latitude: float, longitude: float) -> Place:
    return Place(code="A", name="A", latitude=latitude, longitude=longitude, kinds=frozenset({PlaceKind.JUNCTION}))


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_every_drive_is_a_route_through_its_points(name: str) -> None:
    index = planned(name)
    for crew in index.crews_used():
        found = gpxpy.parse(gpx.render(index, crew).decode())
        assert found.version == "1.1"
        drives = [leg.drive for _, leg in legs_of(index, crew)]
        assert len(drives) == sum(len(day.legs) for trip in index.trips_of(crew) for day in trip.days)
        for route, drive in zip(found.routes, drives, strict=True):
            sites = [index.training_round.site(code) for code in points(drive)]
            assert [p.name for p in route.points] == [site.name for site in sites]
            for point, site in zip(route.points, sites, strict=True):
                assert (point.latitude, point.longitude) == pytest.approx((site.latitude, site.longitude), abs=1e-6)
            assert f"leave {clock(drive.depart)}, reach {arrival(drive.arrive)}" in (route.description or "")
        venues = {
            index.name(index.sessions[code].venue)
            for trip in index.trips_of(crew)
            for day in trip.days
            for code in day.sessions
        }
        assert venues <= {point.name for point in found.waypoints}
        assert people_in(str(found.to_xml()), index) == set()


def test_elements_stand_in_the_order_of_the_schema() -> None:
    """GPX 1.1: metadata, wpt, rte; within a route name, desc, rtept (topografix.com/GPX/1/1/gpx.xsd, from memory)."""
    root = ET.fromstring(gpx.render(planned("demo"), "NORTH"))
    tags = [child.tag.removeprefix(GPX) for child in root]
    assert list(dict.fromkeys(tags)) == ["metadata", "wpt", "rte"]
    assert tags == sorted(tags, key=["metadata", "wpt", "rte"].index)
    for route in root.iter(f"{GPX}rte"):
        assert list(dict.fromkeys(child.tag.removeprefix(GPX) for child in route)) == ["name", "desc", "rtept"]


@pytest.mark.parametrize(
    ("end", "degrees", "said"),
    [
        ((1, 0), 0, "north"),
        ((1, 1), 45, "north-east"),
        ((0, 1), 90, "east"),
        ((-1, 0), 180, "south"),
        ((0, -1), 270, "west"),
        ((1, -0.01), 359.4, "north"),
    ],
)
def test_bearings_at_the_equator_by_hand(end: tuple[float, float], degrees: float, said: str) -> None:
    found = bearing(place(0, 0), place(*end))
    assert found == pytest.approx(degrees, abs=0.1)
    assert compass(found) == said


def test_the_short_way_round_the_globe_is_taken() -> None:
    assert compass(bearing(place(0, 179.9), place(0, -179.9))) == "east"


@pytest.mark.parametrize(
    ("where", "said"),
    [
        ((-13.3563, 33.8841), "13.35630 S, 33.88410 E"),
        ((4.05, -9.7), "4.05000 N, 9.70000 W"),
        ((0, 0), "0.00000 N, 0.00000 E"),
    ],
)
def test_coordinates_have_letters(where: tuple[float, float], said: str) -> None:
    assert coordinates(place(*where)) == said


def test_the_last_meridian_is_written_as_the_schema_wants_it() -> None:
    index = planned("sample")
    r = index.training_round
    places = tuple(dataclasses.replace(p, longitude=180.0) if p.code == "DEP" else p for p in r.places)
    content = gpx.render(PlanIndex(index.plan, r.replace(places=places)), "NORTH").decode()
    assert 'lon="-180.000000"' in content
    assert 'lon="180' not in content


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_the_list_has_every_drive_stage_and_place(name: str) -> None:
    index = planned(name)
    contacts = phones(index)
    for crew in index.crews_used():
        text = listing.render(index, crew)
        flat = " ".join(text.split())
        for _, leg in legs_of(index, crew):
            drive = leg.drive
            assert f"{clock(drive.depart)} leave {index.name(drive.start)}, {arrival(drive.arrive)} reach" in flat
            for stage in stages(index, drive):
                assert f"to {stage.end.name} ({coordinates(stage.end)})" in flat
        assert len(re.findall(r"^\d+\. ", text, re.MULTILINE)) == sum(
            len(points(leg.drive)) - 1 for _, leg in legs_of(index, crew)
        )
        assert max(len(line) for line in text.splitlines()) <= listing.WIDTH
        assert people_in(text, index) == set()
        assert phones_in(text, contacts) == set()
        assert "\u00a0" not in text


def road(**more: object) -> Road:
    return Road(start="DEP", end="KAM", km=3.0, surface=Surface.GRAVEL, **more)  # type: ignore[arg-type]


def directions(*roads: Road) -> str:
    index = planned("sample")
    changed = PlanIndex(index.plan, index.training_round.replace(roads=roads))
    return " ".join(listing.render(changed, "NORTH").split())


def test_length_and_surface_are_those_of_the_open_road() -> None:
    assert "3 km by gravel road, to Kamzani District Hospital" in directions(road())
    assert "3 km by gravel road, to Kamzani" in directions(dataclasses.replace(road(), start="KAM", end="DEP"))
    assert "as the crow flies" in directions(dataclasses.replace(road(oneway=True), start="KAM", end="DEP"))
    tuesday = planned("sample").plan.sessions[0].dates[0]
    closed = road(closures=((tuesday, tuesday),))
    assert "7 km by gravel road, to Kamzani" in directions(closed, dataclasses.replace(road(), km=7.0))


@pytest.mark.parametrize("name", [*HOSTILE, "<&>\"'", "\x00\x0b\ud800", "]]>", "a\nb\u2028c"])
def test_hostile_names_break_neither(name: str) -> None:
    r = hostile_round()
    facilities = tuple(dataclasses.replace(f, name=f"{name} {f.code}") for f in r.facilities)
    index = PlanIndex(hostile_plan(), r.replace(facilities=facilities))
    found = gpxpy.parse(gpx.render(index, "NORTH").decode())
    assert len(found.routes) == len(gpxpy.parse(gpx.render(planned("sample"), "NORTH").decode()).routes)
    listing.render(index, "NORTH").encode()


def test_two_runs_give_the_same_bytes() -> None:
    index = planned("demo")
    again = PlanIndex(index.plan, index.training_round)
    for crew in index.crews_used():
        assert gpx.render(index, crew) == gpx.render(again, crew)
        assert listing.render(index, crew) == listing.render(again, crew)
