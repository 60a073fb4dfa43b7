"""Map data by RFC 7946: geometries that shapely takes, rings closed and by the right-hand rule, positions on earth."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
import shapely
from html_sample import HOSTILE, hostile_plan, hostile_round, sample_plan, sample_round

from roundplan.domain.settings import MapSettings
from roundplan.handouts.maps import render
from roundplan.handouts.maps.clipping import Box, clip_geometry, clip_line
from roundplan.handouts.maps.features import base_features, collection
from roundplan.handouts.maps.world import outlines

KINDS = {"Point", "LineString", "Polygon", "MultiPolygon"}


def collections(page: str) -> Iterator[dict[str, Any]]:
    """Yield every feature collection of a page."""
    for found in re.finditer(r"_add\((\{.*\})\);$", page, re.M):
        yield json.loads(found.group(1))


def check(found: dict[str, Any]) -> None:
    """Assert what RFC 7946 asks of a feature collection."""
    assert found["type"] == "FeatureCollection"
    ids = [feature["id"] for feature in found["features"]]
    assert len(ids) == len(set(ids))
    for feature in found["features"]:
        assert feature["type"] == "Feature"
        assert isinstance(feature["properties"], dict)
        assert feature["geometry"]["type"] in KINDS
        geometry = shapely.geometry.shape(feature["geometry"])
        assert not geometry.is_empty
        west, south, east, north = geometry.bounds
        assert -180 <= west <= east <= 180
        assert -90 <= south <= north <= 90
        for polygon in shapely.get_parts(geometry):
            if polygon.geom_type == "Polygon":
                assert polygon.exterior.is_ccw, "outer rings run against the clock (RFC 7946, 3.1.6)"
                assert not any(ring.is_ccw for ring in polygon.interiors)
        for ring in rings(feature["geometry"]):
            assert len(ring) >= 4
            assert ring[0] == ring[-1]


def rings(geometry: dict[str, Any]) -> Iterator[list[list[float]]]:
    parts = geometry["coordinates"]
    if geometry["type"] == "Polygon":
        yield from parts
    elif geometry["type"] == "MultiPolygon":
        for part in parts:
            yield from part


@pytest.mark.parametrize(
    "page",
    [render(sample_plan(), sample_round()), render(hostile_plan(), hostile_round())],
    ids=["plain", "hostile"],
)
def test_all_data_of_a_map_is_geojson(page: str) -> None:
    found = list(collections(page))
    assert len(found) >= 8  # outlines, participants, lines and numbers of two crews, kinds of site, names
    for each in found:
        check(each)


@pytest.mark.parametrize("box", [Box(30, -15, 36, -8), Box(-10, 4, 12, 15), Box(40, -26, 51, -11)])
def test_outlines_keep_the_right_hand_rule(box: Box) -> None:
    found = outlines(box)
    check(found)
    for feature in found["features"]:
        west, south, east, north = shapely.geometry.shape(feature["geometry"]).bounds
        assert box.west <= west <= east <= box.east
        assert box.south <= south <= north <= box.north


def feature(geometry: dict[str, Any], name: str = "") -> dict[str, Any]:
    return {"type": "Feature", "properties": {"name": name}, "geometry": geometry}


def own(*features: dict[str, Any]) -> str:
    return json.dumps({"type": "FeatureCollection", "features": list(features)})


SQUARE = {"type": "Polygon", "coordinates": [[[33, -13], [33, -12], [34, -12], [34, -13], [33, -13]]]}  # with the clock
FAR = {"type": "Polygon", "coordinates": [[[3, 3], [4, 3], [4, 4], [3, 3]]]}
WAY = {"type": "LineString", "coordinates": [[20, -12.5], [33.5, -12.5], [50, -12.5]]}
SPOTS = {"type": "MultiPoint", "coordinates": [[33.5, -12.5], [3, 3]]}


def test_own_outlines_are_cut_to_the_round_and_turned_right() -> None:
    made = base_features(own(feature(SQUARE), feature(FAR), feature(WAY), feature(SPOTS)), Box(32, -14, 33.5, -11))
    check(collection(made))
    assert [one["geometry"]["type"] for one in made] == ["Polygon", "LineString", "Point"]
    square = shapely.geometry.shape(made[0]["geometry"])
    assert square.equals(shapely.box(33, -13, 33.5, -12))  # worked by hand
    assert made[1]["geometry"]["coordinates"] == [[32, -12.5], [33.5, -12.5]]


def test_a_line_is_cut_into_the_parts_that_lie_inside() -> None:
    """In, out over the side and in again, worked by hand."""
    line = [(1.0, 1.0), (5.0, 1.0), (5.0, 3.0), (1.0, 3.0)]
    assert clip_line(line, Box(0, 0, 4, 4)) == [[(1.0, 1.0), (4.0, 1.0)], [(4.0, 3.0), (1.0, 3.0)]]
    assert clip_line([(5.0, 0.0), (5.0, 9.0)], Box(0, 0, 4, 4)) == []


def test_shapes_beyond_the_date_line_are_found_where_a_round_lies_on_both_sides() -> None:
    spot = {"type": "Point", "coordinates": [-179.5, 1]}
    assert list(clip_geometry(spot, Box(179, 0, 181, 2))) == [{"type": "Point", "coordinates": [180.5, 1]}]


def test_own_outlines_with_hostile_names_do_nothing(open_offline: Any) -> None:
    base = own(*(feature(SQUARE, name) for name in HOSTILE))
    page = open_offline(render(sample_plan(), with_map(base="own.geojson"), base_map=base))
    assert page.title() != "broken"
    assert page.locator("img, b[onmouseover]").count() == 0
    assert page.locator(".leaflet-overlay-pane path[stroke='#55606d'][stroke-dasharray='']").count() == 0
    assert page.locator("path[fill='#f6f1e6']").count() == len(HOSTILE)
    assert "own.geojson" in page.locator("footer").inner_text()


def with_map(**settings: str) -> Any:
    r = sample_round()
    return r.replace(settings=dataclasses.replace(r.settings, map=MapSettings(**settings)))


def test_background_pictures_come_from_the_address_asked_for_and_nowhere_else(browser: Any, tmp_path: Any) -> None:
    address = "https://pictures.example/{z}/{x}/{y}.png"
    page_text = render(sample_plan(), with_map(tiles=address, tiles_credit="<i>Example</i> surveyors"))
    file = tmp_path / "map.html"
    file.write_text(page_text, encoding="utf-8")
    asked, errors = [], []
    page = browser.new_page()
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.route("**/*", lambda route: (asked.append(route.request.url), route.abort()) if "file:" not in
               route.request.url else route.continue_())  # fmt: skip
    page.goto(file.as_uri())
    page.wait_for_timeout(300)
    assert errors == []
    assert asked
    assert all(url.startswith("https://pictures.example/") for url in asked)
    assert page.locator(".mark").count() == 6, "the map works though no picture came"
    assert "<i>Example</i> surveyors" in page.locator(".credit").inner_text()
    page.close()


def test_without_the_setting_the_policy_lets_nothing_in() -> None:
    page = render(sample_plan(), sample_round())
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', page)
    assert policy is not None
    assert "https:" not in policy.group(1)
    assert "tileLayer(tiles" in page  # the code is there, the address is not
    assert page.rstrip().removesuffix("</html>").rstrip().removesuffix("</body>").rstrip().endswith("null);\n</script>")
