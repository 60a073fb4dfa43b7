"""The manager's report says what the plan says."""

from __future__ import annotations

import dataclasses
import re
from datetime import timedelta
from xml.etree import ElementTree

import pytest
from html_reading import read_page
from html_sample import hostile_plan, hostile_round, sample_plan, sample_round

from roundplan.domain.plan import Plan
from roundplan.domain.saying import Notice, saying
from roundplan.handouts import report
from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.charts import Bar, bar_chart
from roundplan.handouts.report.dates import to_do_table
from roundplan.handouts.report.defaults import common_practice_table
from roundplan.handouts.report.people import coverage, coverage_table, not_trained_table
from roundplan.handouts.report.timeline import timeline_table, timeline_weeks
from roundplan.handouts.report.timeline_week import DAY_WIDTH, MARGIN_LEFT
from roundplan.travel.calendar import WorkingCalendar

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def index() -> PlanIndex:
    return PlanIndex(sample_plan(), sample_round())


NOTICE = Notice(file="", row=None, column="", said=saying("PHO has no cover by night."))


@pytest.fixture(scope="module")
def text() -> str:
    return read_page(report.render(sample_plan(), sample_round(), warnings=[NOTICE])).text


def flat(table: Table) -> list[list[str]]:
    cells = [[cell if isinstance(cell, str) else " / ".join(cell) for cell in row] for row in table.rows]
    return [[cell.replace("\N{NO-BREAK SPACE}", " ") for cell in row] for row in cells]


def test_the_scorecard_comes_first(text: str) -> None:
    body = text.index("Draft: do not act on it yet")
    first = [text.index(words, body) for words in ("What the plan reaches", "Three of four facilities", "At a glance")]
    assert first == sorted(first)
    assert first[-1] < text.index("Cost line")
    assert "could train more than one further first team" in text


def test_coverage_adds_up(index: PlanIndex) -> None:
    # 5 teams of 5 seats; the guest counts with the district she comes from (Lisamba), her host's team with Kamzani
    assert flat(coverage_table(index)) == [
        ["Kamzani", "2 of 2", "4", "4", "4", "4", "4", "0", "3", "19"],
        ["Lisamba", "1 of 2", "1", "1", "1", "1", "1", "0", "2", "6"],
        ["All districts", "3 of 4", "5", "5", "5", "5", "5", "0", "5", "25"],
    ]
    assert coverage(index).words == "25 people of 48 on the staff lists would be trained. Five seats are provisional."


def test_who_is_left_out_stands_with_the_first_reason(index: PlanIndex) -> None:
    rows = flat(not_trained_table(index))
    assert [row[:3] for row in rows] == [
        ["Luvanda Rural Hospital", "no team 2", "The same two people would stay four shifts"],
        ["Phonje Health Centre", "no team", "Only two anaesthetists, and one is on leave until 26 March"],
        ["Anda Gondwe / Phonje Health Centre", "named as a must, not seated", "On leave in all of the round"],
    ]


def test_costs_stand_beside_budget_and_cap(text: str) -> None:
    assert "The round costs MWK 294,577.50 in all" in text
    assert "the plan is within it by MWK 19,705,422.50" in text  # 20,000,000 − 294,577.50
    assert "Participants 100,000.00 80,000.00 20,000.00 over" in text
    assert "Left out of the totals on purpose: printing" in text


def test_shares_of_the_cost(text: str) -> None:
    # 294,577.50 over 3 sessions and over 25 people
    assert "about MWK 98,192 a session and about MWK 11,783 a trained person" in text


def test_supplies_to_order_and_walls(text: str) -> None:
    # need 6 walls with skin, 3 in stock; 10 working days before Tuesday 2 March is Tuesday 16 February or later
    assert "Skin layer, cut" in text
    assert "Walls to assemble before each trip" in text


def test_to_do_dates_are_counted_back_and_never_on_rest_days(index: PlanIndex) -> None:
    table = to_do_table(index, WorkingCalendar(index.training_round), (), ())
    tasks = {row[0]: row[1] for row in flat(table)}
    assert "Letters are out for Kamzani District Hospital, Tuesday 2 March." in tasks["Tue 2 Feb 2027"]  # 28 days
    assert "Letters are out for Kamzani District Hospital, Tuesday 9 March." in tasks["Tue 23 Feb 2027"]  # 14, on site
    assert "Seats and standbys confirmed for Kamzani District Hospital, Tuesday 2 March." in tasks["Tue 23 Feb 2027"]
    assert "Call all facilities of Kamzani District Hospital, Tuesday 2 March" in tasks["Fri 26 Feb 2027"]  # not Sunday
    assert not [day for day in tasks if day.startswith(("Sat", "Sun"))]


def test_common_practice_is_marked_and_only_while_it_is_in_force(index: PlanIndex) -> None:
    rows = {row[0]: row[1] for row in flat(common_practice_table(index))}
    assert rows["Debrief; at least as long as the simulation"] == "30 minutes (common practice)"
    assert rows["Earliest start of a session"] == "08:00 (common practice)"
    assert (
        rows['Most guests a team, at most half of it; "pooled" = any mix of facilities'] == "1 person (common practice)"
    )
    assert "Nobody is trained again sooner" not in rows  # has a published source
    r = index.training_round
    changed = dataclasses.replace(r.settings, session=dataclasses.replace(r.settings.session, debrief=45))
    after = common_practice_table(PlanIndex(index.plan, r.replace(settings=changed)))
    assert "Debrief; at least as long as the simulation" not in {row[0] for row in flat(after)}


def test_the_draft_banner_gives_its_reasons() -> None:
    def banner(plan: Plan, **person: bool) -> str:
        r = sample_round()
        people = (dataclasses.replace(r.people[0], **person), *r.people[1:])
        return read_page(report.render(plan, r.replace(people=people))).text

    announced = dataclasses.replace(sample_plan(), status="announced")
    firm = dataclasses.replace(
        announced,
        teams=tuple(
            dataclasses.replace(t, seats=tuple(dataclasses.replace(s, provisional=False) for s in t.seats))
            for t in announced.teams
        ),
    )
    assert "Nobody has been told yet" in banner(sample_plan())
    assert "No roster has been seen for the dates of five seats" in banner(announced)
    assert "Draft: do not act on it yet" not in banner(firm)
    assert "Names are still wanted for one person" in banner(firm, placeholder=True)


def test_warnings_and_cover_are_printed(text: str) -> None:
    assert "PHO has no cover by night." in text
    assert "Thursday 4 March, by day: Anda Zimba (surgical provider), Bezi Zimba (surgical assistant)" in text


def test_the_timeline_says_in_words_what_it_draws(index: PlanIndex) -> None:
    first, second = (ElementTree.fromstring(str(week)) for week in timeline_weeks(index))
    assert first.get("role") == "img"
    assert first.findtext(f"{SVG}title") == "Crews, venues and teams, 1 March to 7 March 2027"
    assert "Crew SOUTH: Vwaza College of Nursing on" in (first.findtext(f"{SVG}desc") or "")
    lines = [line for week in (first, second) for line in week.iter(f"{SVG}polyline")]
    assert len(lines) == len(index.plan.trips)
    dashes = {line.get("stroke-dasharray") for line in lines}
    assert len(dashes) == len(index.crews_used()), "crews differ by stroke, not by colour"
    assert flat(timeline_table(index))[1][1:] == [
        "Vwaza College of Nursing",
        "NORTH and SOUTH",
        "T03: Luvanda Rural Hospital, team 1 / T04: Tuwila Mission Hospital, team 2",
    ]


def test_many_bars_go_into_several_drawings_of_one_scale() -> None:
    bars = [Bar(f"Trainer {number}", (number, 1.0), str(number)) for number in range(1, 71)]
    drawn = re.findall(r"<svg.*?</svg>", str(bar_chart("t", "Days", ("days", "others"), bars)), re.S)
    trees = [ElementTree.fromstring(part) for part in drawn]
    assert [len(re.findall(r"<title>", part)) for part in drawn] == [32, 32, 6]
    # A4 less margins and a heading: 235 mm, 96 units an inch
    assert all(float(tree.get("height") or 0) <= 235 / 25.4 * 96 + 40 for tree in trees)
    ids = [element.get("id") for tree in trees for element in tree.iter() if element.get("id")]
    assert len(ids) == len(set(ids)) == 6
    longest = [float(rect.get("width") or 0) for rect in trees[2].iter(f"{SVG}rect")]
    assert max(longest) == pytest.approx(344 * 70 / 71, abs=0.1)


def test_a_week_on_paper_is_no_wider_than_the_page(index: PlanIndex) -> None:
    # A4 less margins of 14 mm: 182 mm, 96 units an inch (CSS Values 4): 687 units
    for week in timeline_weeks(index):
        assert float(ElementTree.fromstring(str(week)).get("width") or 0) <= 687


def test_a_trip_over_two_weeks_goes_on_in_the_second(index: PlanIndex) -> None:
    moved = dataclasses.replace(
        index.plan,
        sessions=(),
        teams=(),
        trips=tuple(
            dataclasses.replace(
                trip,
                days=tuple(
                    dataclasses.replace(
                        day,
                        date=day.date + timedelta(days=4),
                        sessions=(),
                        legs=tuple(
                            dataclasses.replace(
                                leg, drive=dataclasses.replace(leg.drive, date=leg.drive.date + timedelta(days=4))
                            )
                            for leg in day.legs
                        ),
                    )
                    for day in trip.days
                ),
            )
            for trip in index.plan.trips[:1]
        ),
    )  # Tuesday to Friday becomes Saturday to Tuesday
    weeks = [ElementTree.fromstring(str(week)) for week in timeline_weeks(PlanIndex(moved, index.training_round))]
    points = [
        [tuple(map(float, point.split(","))) for point in (week.find(f".//{SVG}polyline").get("points") or "").split()]  # type: ignore[union-attr]
        for week in weeks
    ]
    assert len(points) == 2
    assert points[0][-1][0] == MARGIN_LEFT + 7 * DAY_WIDTH, "the first week's line runs to its edge"
    assert points[1][0][0] == MARGIN_LEFT, "and the second week's begins there"


def test_a_hostile_timeline_is_still_well_formed() -> None:
    weeks = [ElementTree.fromstring(str(week)) for week in timeline_weeks(PlanIndex(hostile_plan(), hostile_round()))]
    drawn = {element.tag.removeprefix(SVG) for week in weeks for element in week.iter()}
    assert "polyline" in drawn
    assert drawn <= {"svg", "title", "desc", "g", "line", "rect", "text", "tspan", "polyline", "path"}


def test_a_plan_without_sessions_still_makes_a_report() -> None:
    text = read_page(report.render(Plan(round_name="Empty"), sample_round())).text
    assert "No session could be planned." in text
    assert "No trips are planned." in text
    assert "Nothing has to be ordered." in text
