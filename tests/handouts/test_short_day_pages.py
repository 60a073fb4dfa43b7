"""A date with three short sessions on the pages of its readers: all of them, in the order of the clock."""

from __future__ import annotations

from functools import cache

from html_reading import read_page
from pdf_reading import pages, whole
from short_rounds import short_round

from roundplan.domain.plan import CrewDay, Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.manager.frames import plan_frames
from roundplan.handouts.maps.journeys import crew_legs
from roundplan.handouts.maps.lines import Locator, crew_styles
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.crew_pack import crew_pack
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.pdf.press import print_pdf
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.timeline import timeline_table, timeline_weeks
from roundplan.handouts.road import crew_page, trainer_page
from roundplan.handouts.words import clock
from roundplan.solver import find_plan


@cache
def short_day() -> tuple[Plan, TrainingRound]:
    training_round = short_round(dates=1)
    return find_plan(training_round, seconds=30, seed=1, workers=1), training_round


def the_day() -> CrewDay:
    plan, _ = short_day()
    (trip,) = plan.trips
    (only,) = trip.days
    assert len(only.sessions) == 3
    return only


def venues() -> list[str]:
    plan, training_round = short_day()
    held = {session.code: session for session in plan.sessions}
    return [training_round.name_of(held[code].venue) for code in the_day().sessions]


def in_order(said: str, parts: list[str]) -> bool:
    """Whether the parts stand in a text one after the other."""
    at = 0
    for part in parts:
        at = said.find(part, at)
        if at < 0:
            return False
        at += len(part)
    return True


def test_the_crew_page_lists_drives_and_sessions_in_order() -> None:
    said = read_page(crew_page.render(*short_day(), "CREW")).text
    assert in_order(said, [f"{clock(leg.drive.depart)} " for leg in the_day().legs])
    assert in_order(said, [f"at {venue}, packed up by" for venue in venues()])


def test_packs_go_from_drive_to_session_to_drive_with_a_sheet_for_each_session() -> None:
    binder = Binder(PlanIndex(*short_day()))
    steps: list[tuple[int, str]] = [(leg.drive.depart, f"{clock(leg.drive.depart)} ") for leg in the_day().legs]
    held = {session.code: session for session in short_day()[0].sessions}
    for code in the_day().sessions:
        steps.append(
            (binder.index.set_up_from(held[code], the_day().date), f"at {binder.index.name(held[code].venue)}")
        )
    crew = whole(print_pdf(crew_pack(binder, "CREW", "x"))[0])
    assert in_order(crew[crew.index("Aboard:") :], [text for _, text in sorted(steps)])
    found = pages(print_pdf(trainer_pack(binder, "T1", "x"))[0])
    sheets = [page for page in found if "Who may stop, and how" in page]
    assert [any(venue in sheet for sheet in sheets) for venue in venues()] == [True] * 3
    assert len(sheets) == 3


def test_the_trainer_page_goes_from_drive_to_session_to_drive() -> None:
    said = read_page(trainer_page.render(*short_day(), "T1")).text
    plan, training_round = short_day()
    held = {session.code: session for session in plan.sessions}
    steps = []
    for leg, code in zip(the_day().legs, the_day().sessions, strict=False):
        today = held[code].days[0]
        steps.append(f"{clock(leg.drive.depart)} leave {training_round.name_of(leg.drive.start)}")
        steps.append(f"session {clock(today.start)} to {clock(today.end)} at")
    steps.append(f"{clock(the_day().legs[-1].drive.depart)} leave")
    assert in_order(said, steps)
    assert "Three sessions on one trip." in said
    assert in_order(said[said.index("Three sessions") :], venues())


def test_the_timeline_shows_every_session_of_the_date() -> None:
    plan, training_round = short_day()
    index = PlanIndex(plan, training_round)
    assert [row[1] for row in timeline_table(index).rows] == venues()
    (drawn,) = timeline_weeks(index)
    assert all(f"{venue} on " in drawn for venue in venues())
    assert all(drawn.count(f">{team.code}</text>") == 1 for team in plan.teams)


def test_the_workbook_lists_sessions_by_the_clock_and_leads_by_session() -> None:
    frames = plan_frames(*short_day())
    sessions = next(frame for name, frame in frames.items() if name.casefold() == "sessions")
    starts = list(sessions["start"])
    assert len(starts) == 3
    assert starts == sorted(starts)
    days = next(frame for name, frame in frames.items() if "trainer" in name.casefold())
    row = days[days["trainer"] == "T2"].iloc[0]
    assert row["sessions"] == "S01; S02; S03"
    assert [part.split(":")[0] for part in row["leads"].split("; ")] == ["S01", "S02", "S03"]


def test_the_map_numbers_the_legs_of_the_date_in_the_order_driven() -> None:
    plan, training_round = short_day()
    index = PlanIndex(plan, training_round)
    legs = list(crew_legs(index, Locator(index), crew_styles(index.crews_used())))
    assert [leg.number for leg in legs] == [1, 2, 3, 4]
    assert [leg.drive for leg in legs] == [leg.drive for leg in the_day().legs]
