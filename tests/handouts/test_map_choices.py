"""What can be chosen on the map: days, crews, what lines show, the print view; in a browser without a network."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from html_sample import sample_plan, sample_round
from planned_rounds import planned

from roundplan.handouts.daylight_left import Light, margin
from roundplan.handouts.maps import render
from roundplan.handouts.maps.journeys import crew_legs, light_token, participant_journeys, surface_token
from roundplan.handouts.maps.lines import Locator, crew_styles
from roundplan.handouts.maps.rooms import rooms
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.surfaces import Surfaces

Opener = Callable[..., Any]


@pytest.fixture(scope="module")
def sample_map() -> str:
    return render(sample_plan(), sample_round())


@pytest.fixture(scope="module")
def index() -> PlanIndex:
    return PlanIndex(sample_plan(), sample_round())


def visible(page: Any, selector: str) -> int:
    shown: int = page.locator(selector).evaluate_all("all => all.filter(e => e.checkVisibility()).length")
    return shown


def test_a_day_shows_its_own_drives_alone(open_offline: Opener, sample_map: str, index: PlanIndex) -> None:
    page = open_offline(sample_map)
    legs = list(crew_legs(index, Locator(index), crew_styles(index.crews_used())))
    out = list(participant_journeys(index, Locator(index)))
    assert visible(page, ".leg") == len(legs)
    days = page.locator("select[name=day] option").all()
    assert [day.inner_text() for day in days][:3] == ["All dates", "Tuesday 2 March", "Wednesday 3 March"]
    for option in days[1:]:
        token = option.get_attribute("value")
        page.select_option("select[name=day]", token)
        assert visible(page, ".leg") == sum(leg.token == token for leg in legs)
        assert visible(page, "path.dated") == sum(
            len(leg.hops) for leg in legs if leg.token == token
        ) + sum(journey.token == token for journey in out)  # fmt: skip
        assert page.locator("main div.dated").evaluate_all("all => all.filter(e => e.checkVisibility()).length") == 1


COVERED = """() => {
  const boxes = what => Array.from(document.querySelectorAll(what))
    .filter(e => e.checkVisibility({visibilityProperty: true}))
    .map(e => [e.textContent, e.getBoundingClientRect()]);
  const labels = boxes(".name, .leg"), marks = boxes(".mark svg > *");
  const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
  const under = (one, n) => labels.slice(n + 1).concat(marks).filter(other => meet(one[1], other[1]));
  return [labels.length, labels.flatMap((one, n) => under(one, n).map(other => [one[0], other[0]]))];
}"""
"""How many labels can be read, and which of them cover another or a mark."""


@pytest.mark.parametrize("width", [360, 1280])
def test_no_label_covers_another_or_a_mark(open_offline: Opener, width: int) -> None:
    index = planned("twelve facilities")
    page = open_offline(render(index.plan, index.training_round), width=width)
    shown = []
    for day in page.locator("select[name=day] option").evaluate_all("all => all.map(e => e.value)"):
        page.select_option("select[name=day]", day)
        number, covered = page.evaluate(COVERED)
        shown.append(number)
        assert covered == [], day
    assert shown[0] >= 8
    assert min(shown) >= 3
    page.locator(".leaflet-control-zoom-in").click()
    page.locator(".leaflet-zoom-anim").wait_for(state="detached")
    assert page.evaluate(COVERED)[1] == []


def test_days_are_stepped_through_and_crews_taken_away(open_offline: Opener, sample_map: str, index: PlanIndex) -> None:
    legs = list(crew_legs(index, Locator(index), crew_styles(index.crews_used())))
    page = open_offline(sample_map)
    before, after = page.get_by_role("button", name="Day before"), page.get_by_role("button", name="Day after")
    assert before.is_disabled()
    after.click()
    assert page.locator("select[name=day]").evaluate("e => e.selectedOptions[0].text") == "Tuesday 2 March"
    for _ in range(page.locator("select[name=day] option").count() - 2):
        after.click()
    assert after.is_disabled()
    before.click()
    assert after.is_enabled()

    page.select_option("select[name=day]", "")
    page.get_by_label("NORTH").uncheck()
    assert visible(page, ".leg") == sum(leg.crew != "NORTH" for leg in legs)


def test_lines_show_surface_or_daylight_with_strokes_of_their_own(
    open_offline: Opener, sample_map: str, index: PlanIndex
) -> None:
    page = open_offline(sample_map)
    check_strokes(page, index, "surface", surface_token)
    check_strokes(page, index, "light", light_token)


def check_strokes(page: Any, index: PlanIndex, choice: str, token: Callable[[Any], str]) -> None:
    page.select_option("select[name=lines]", choice)
    read = "e => [getComputedStyle(e).strokeDasharray, getComputedStyle(e).strokeWidth].join(' ')"
    drawn = {}
    for line in page.locator("path.leg-line.dated").all():
        kinds = (line.get_attribute("class") or "").split()
        drawn[next(kind for kind in kinds if kind.startswith(choice))] = line.evaluate(read)
    assert len(set(drawn.values())) == len(drawn)
    legend = {
        next(kind for kind in (line.get_attribute("class") or "").split() if kind != "leg-line"): line.evaluate(read)
        for line in page.locator(f".legend path[class*={choice}-]").all()
    }
    assert drawn.items() <= legend.items()
    assert len(set(legend.values())) == len(legend), "each stroke of the legend is unlike the others without colour"
    legs = crew_legs(index, Locator(index), crew_styles(index.crews_used()))
    wanted = {
        token(kind)
        for leg in legs
        for kind in ([s for s, _ in leg.hops] if choice == "surface" else [leg.margin.light])
    }
    assert set(drawn) == wanted


def test_the_print_view_is_as_wide_as_paper_with_everything_in_it(
    open_offline: Opener, sample_map: str, tmp_path: Path
) -> None:
    page = open_offline(sample_map)
    page.get_by_role("button", name="Print view").click()
    frame = page.locator(".folium-map").bounding_box()
    assert frame["width"] == pytest.approx(180 / 25.4 * 96, abs=1)  # 180 mm at 96 units an inch
    assert visible(page, ".leaflet-control-zoom, .leaflet-control-layers") == 0
    for mark in page.locator(".mark").all():
        box = mark.bounding_box()
        assert frame["x"] <= box["x"] <= frame["x"] + frame["width"] - box["width"]
        assert frame["y"] <= box["y"] <= frame["y"] + frame["height"] - box["height"]
    page.get_by_role("button", name="Print view").click()
    assert page.locator(".folium-map").bounding_box()["width"] > frame["width"]

    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.locator("body.on-paper").count() == 1
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.locator("body.on-paper").count() == 0


def test_surfaces_are_those_of_the_roads_driven(index: PlanIndex) -> None:
    surfaces = Surfaces(index)
    first = index.plan.trips[0].days[0].legs
    assert surfaces.words(first[0].drive) == "paved"
    assert surfaces.words(first[1].drive) == "surface not entered"  # a row with hours and no surface
    way = dataclasses.replace(first[0].drive, end="TUW", via=("KAM",))
    assert surfaces.words(way).replace("\N{NO-BREAK SPACE}", " ") == "gravel 38 km and paved 3 km"


def test_daylight_is_counted_to_sunset_and_to_the_limit(index: PlanIndex) -> None:
    drive = index.plan.trips[0].days[0].legs[1].drive  # 70 minutes, so the margin of 60 minutes counts
    sunset = index.daylight.sunset(drive.end, drive.date)
    late = dataclasses.replace(drive, arrive=sunset - 61 * 60)
    assert margin(index, late, crew=True).to_spare == 60
    assert margin(index, late, crew=False).to_spare == 31 * 60  # participants keep 30 minutes
    assert margin(index, late, crew=True).light is Light.UNDER_TWO_HOURS
    assert margin(index, late, crew=True).tight
    assert not margin(index, late, crew=False).tight
    short = dataclasses.replace(late, drive_seconds=900)  # up to 15 minutes need only end by sunset
    assert margin(index, short, crew=True).to_spare == 61 * 60
    assert (
        margin(index, dataclasses.replace(drive, arrive=sunset - 29 * 60), crew=True).light is Light.UNDER_HALF_AN_HOUR
    )


def test_rooms_count_usual_seats_trainers_and_volunteers(index: PlanIndex) -> None:
    found = {room.site.code: room for room in rooms(index)}
    # S1 at KAM: teams of KAM and TUW, 5 usual seats each, 2 trainers aboard, 1 volunteer; the room takes 18 a station
    assert (found["KAM"].stations, found["KAM"].people) == (1, 18)
    assert (found["KAM"].stations_used, found["KAM"].people_most) == (1, 13)
    assert found["COL"].people == 36
