from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from typing import Any

import pytest
from html_sample import HOSTILE, hostile_plan, hostile_round, sample_plan, sample_round

from roundplan.domain.plan import Plan
from roundplan.handouts.maps import render
from roundplan.handouts.maps.clipping import Box, clip_ring
from roundplan.handouts.maps.lines import Locator, crew_styles
from roundplan.handouts.maps.world import decode_topology, outlines
from roundplan.handouts.offline import RemoteLink, entities, refuse_remote, steady_ids
from roundplan.handouts.plan_index import PlanIndex

Opener = Callable[..., Any]


@pytest.fixture(scope="module")
def sample_map() -> str:
    return render(sample_plan(), sample_round())


def popup(page: Any, layer: str) -> str:
    """Touch the first mark of a class and return what opens."""
    page.locator(layer).first.dispatch_event("click")
    return str(page.locator(".leaflet-popup-content").last.inner_text())


@pytest.mark.parametrize("width", [1000, 360])
def test_the_map_opens_without_a_network(open_offline: Opener, sample_map: str, width: int) -> None:
    page = open_offline(sample_map, width=width, height=740)
    assert page.locator(".mark svg").count() == 6
    assert page.locator(".leg").count() == 7
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    frame = page.locator(".folium-map").bounding_box()
    assert frame["width"] >= min(width, 900) * 0.9
    for mark in page.locator(".mark").all():
        box = mark.bounding_box()
        assert frame["x"] <= box["x"]
        assert box["x"] + box["width"] <= frame["x"] + frame["width"]
        assert frame["y"] <= box["y"] <= frame["y"] + frame["height"]
    assert "km" in page.locator(".leaflet-control-scale").inner_text()


def test_shapes_dashes_and_numbers_tell_things_apart_without_colour(open_offline: Opener, sample_map: str) -> None:
    page = open_offline(sample_map)
    assert page.locator(".mark svg path[d^='M15 7']").count() == 1  # PHO, the only facility without a team
    assert sorted(page.locator(".mark svg text").all_text_contents()) == [
        "1",
        "2",
    ]  # two venues and the stations they take
    assert page.locator(".mark svg path[d^='M15 8.5 A']").count() == 1  # LUV sends one team of the two it wants
    dashes = page.eval_on_selector_all(
        "path.leaflet-interactive", "paths => paths.map(p => p.getAttribute('stroke-dasharray'))"
    )
    assert set(dashes) == {None, "11 6", "1 5"}  # two crews, participants
    assert re.findall(r"^\d", page.locator(".leg").all_inner_texts()[2]) == ["3"]
    legend = page.locator(".legend").first.inner_text()
    for words in ("Filled circle", "Half-filled", "Open triangle", "Small ring", "Diamond", "Square"):
        assert words in legend
    lines = page.locator(".legend").nth(1).inner_text()
    for words in ("Crew NORTH", "Crew SOUTH", "Dotted"):
        assert words in lines


def test_marks_and_legs_say_what_they_are(open_offline: Opener, sample_map: str) -> None:
    page = open_offline(sample_map)
    trained = popup(page, ".mark:has(rect):has(circle)")
    assert "Kamzani District Hospital" in trained
    assert "Team T01, five people: Tuesday 2 March, at home, from 08:30" in trained
    assert "Takes one station and 18 people; at most one station and 13 people are here at once" in trained
    assert "Session S1 on Tuesday 2 March, one station" in trained
    page.keyboard.press("Escape")
    left_out = popup(page, ".mark:has(path[d^='M15 7'])")
    assert "No team in this plan: only two anaesthetists, and one is on leave until 26 March" in left_out
    page.keyboard.press("Escape")
    leg = popup(page, ".leg-mark")
    assert "Crew NORTH, trip N1, leg 1" in leg
    assert "leaves 06:45, arrives 06:51" in leg
    assert "surface: paved" in leg
    assert "daylight left on arrival: 11\xa0h" in leg


def test_layers_can_be_taken_away(open_offline: Opener, sample_map: str) -> None:
    page = open_offline(sample_map)
    page.locator(".leaflet-control-layers-toggle").dispatch_event("click")
    control = page.locator(".leaflet-control-layers-list")
    control.hover()
    page.wait_for_timeout(100)  # a list that has just unfolded takes no touch yet
    control.get_by_text("Facilities without a team").click()
    assert page.locator(".mark svg path[d^='M15 7']").count() == 0


def test_hostile_names_are_shown_as_text(open_offline: Opener) -> None:
    page = open_offline(render(hostile_plan(), hostile_round()))
    assert page.title() != "broken"
    names = page.locator(".name").all_inner_texts()
    assert len(names) == 6
    for hostile in HOSTILE[:4]:  # four facilities, then two places from the start of the list again
        assert any(hostile in " ".join(name.split()) for name in names), hostile
    assert HOSTILE[1] in popup(page, ".mark:has(circle):not(:has(rect))")
    page.locator(".leaflet-control-layers-toggle").dispatch_event("click")
    assert page.locator("img, b[onmouseover]").count() == 0


def test_hostile_codes_and_crews_are_shown_as_text(open_offline: Opener) -> None:
    """Crew codes stand in popups, in the form and in the legend."""
    plan, training_round = sample_plan(), sample_round()
    hostile = "`${document.title='broken'}</script>{{ 7*7 }}\"><b onmouseover=alert(1)>\\"
    crews = tuple(dataclasses.replace(crew, code=crew.code.replace("NORTH", hostile)) for crew in training_round.crews)
    trips = tuple(dataclasses.replace(trip, crew=trip.crew.replace("NORTH", hostile)) for trip in plan.trips)
    sessions = tuple(
        dataclasses.replace(session, crews=tuple(crew.replace("NORTH", hostile) for crew in session.crews))
        for session in plan.sessions
    )
    page = open_offline(
        render(dataclasses.replace(plan, trips=trips, sessions=sessions), training_round.replace(crews=crews))
    )
    assert page.title() != "broken"
    page.locator(".leaflet-control-layers-toggle").dispatch_event("click")
    assert hostile in page.locator("#choose fieldset").inner_text()
    assert hostile in page.locator(".legend").nth(1).inner_text()


def test_the_same_plan_gives_the_same_page(sample_map: str) -> None:
    assert render(sample_plan(), sample_round()) == sample_map


def test_a_plan_with_nothing_in_it_still_has_a_map(open_offline: Opener) -> None:
    page = open_offline(render(Plan(round_name="Empty"), sample_round()))
    assert page.locator(".mark").count() == 5  # four facilities, and a college that could host


@pytest.mark.parametrize(
    "part",
    [
        '<script src="https://outside.example/x.js"></script>',
        "<link rel=stylesheet href=//outside.example/x.css>",
        '<img srcset="a.png 2x">',
        "<a href='other.html'>x</a>",
    ],
)
def test_a_page_that_points_outside_is_refused(part: str) -> None:
    with pytest.raises(RemoteLink):
        refuse_remote(f"<html>{part}</html>", "")


@pytest.mark.parametrize(
    "script", ["L.tileLayer('x')", "fetch('/x')", "a = '<img src=http://x>'", "url( //outside.example/x.png )"]
)
def test_a_script_that_fetches_is_refused(script: str) -> None:
    with pytest.raises(RemoteLink):
        refuse_remote("<html></html>", script)


def test_text_in_entities_holds_nothing_to_act_upon() -> None:
    text = "".join(HOSTILE) + "`\\{}&'\n\x00é"
    assert not set(entities(text)) & set("`${}<>\"'\\=:/()_\n\x00")
    assert "é" in entities(text)


def test_random_ids_are_numbered_and_names_like_them_are_not() -> None:
    one, other = "a" * 32, "0123456789abcdef" * 2
    page = f"map_{one} x_{other} map_{one} {other} {entities('p_' + other)}"
    assert steady_ids(page) == f"map_n1 x_n2 map_n1 {other} p&#95;{other}"


def test_topology_is_decoded_by_its_transform_and_arcs() -> None:
    """A square of two arcs, the second used backwards; worked by hand from the TopoJSON specification."""
    raw = {
        "transform": {"scale": [0.5, 2], "translate": [10, -1]},
        "arcs": [[[0, 0], [2, 0], [0, 1]], [[0, 0], [0, 1], [2, 0]]],
        "objects": {
            "countries": {
                "geometries": [{"type": "Polygon", "arcs": [[0, -2]], "properties": {"name": "Square"}}]
            }
        },
    }  # fmt: skip
    world = decode_topology(raw)
    assert world.countries == (("Square", (((0, -2),),)),)
    assert world.ring((0, -2)) == [(10, -1), (11, -1), (11, 1), (10, 1), (10, -1)]


def test_a_ring_is_cut_to_the_box() -> None:
    """A triangle over the corner of a box, worked by hand."""
    ring = [(0.0, 0.0), (4.0, 0.0), (0.0, 4.0)]
    assert set(clip_ring(ring, Box(1, 1, 9, 9))) == {(1.0, 1.0), (3.0, 1.0), (1.0, 3.0)}
    assert clip_ring(ring, Box(5, 5, 9, 9)) == []


def test_countries_around_a_box_are_found() -> None:
    """Which countries lie there: common knowledge; no source."""
    names = {feature["properties"]["name"] for feature in outlines(Box(33, -13, 34.5, -12).grown(2, 0))["features"]}
    assert {"Malawi", "Zambia", "Mozambique"} <= names
    fiji = outlines(Box(177, -19, 181, -16))["features"]
    assert [feature["properties"]["name"] for feature in fiji] == ["Fiji"]
    longitudes = [point[0] for polygon in fiji[0]["geometry"]["coordinates"] for ring in polygon for point in ring]
    assert min(longitudes) < 180 < max(longitudes)


def test_a_round_on_both_sides_of_the_date_line_is_drawn_in_one_piece() -> None:
    training_round = sample_round()
    sides = {"KAM": 179.5, "TUW": -179.8}
    facilities = tuple(
        dataclasses.replace(facility, longitude=sides.get(facility.code, 179.0))
        for facility in training_round.facilities
    )
    places = tuple(dataclasses.replace(place, longitude=179.9) for place in training_round.places)
    moved = training_round.replace(facilities=facilities, places=places)
    points = Locator(PlanIndex(sample_plan(), moved)).points
    assert points["TUW"][0] == pytest.approx(180.2)
    assert points["KAM"][0] == 179.5


def test_crews_have_styles_of_their_own() -> None:
    styles = crew_styles([f"C{number}" for number in range(42)])
    assert len({(style.colour, style.dashes) for style in styles.values()}) == 42
