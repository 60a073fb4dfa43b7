"""The demo round, planned for a short while: rules kept, pages that open, facts that agree in all documents."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime
from typing import Any

import openpyxl
import pytest
from document_text import everything
from written_plans import Written

from roundplan.audit import audit_plan
from roundplan.audit.measures import measure
from roundplan.domain.plan import CoverKind, Team
from roundplan.domain.role import OnSiteCover
from roundplan.domain.rules import Aim
from roundplan.handouts.file_names import slug
from roundplan.handouts.speech import numeral
from roundplan.handouts.words import capital
from roundplan.workflow import audit_folder

WIDTHS = (360, 1280)
"""A small phone and a small laptop, in CSS pixels (common practice, no source)."""

Sheet = list[dict[str, Any]]


@pytest.fixture(scope="module")
def book(demo: Written) -> dict[str, Sheet]:
    """Return round.xlsx: each sheet's rows by heading, up to the first blank row."""
    found: dict[str, Sheet] = {}
    for sheet in openpyxl.load_workbook(demo.out / "round.xlsx"):
        rows = [[_plain(cell) for cell in row] for row in sheet.iter_rows(values_only=True)]
        filled = rows[: next((number for number, row in enumerate(rows) if not any(row)), len(rows))]
        found[sheet.title] = [dict(zip(map(str, rows[0]), row, strict=True)) for row in filled[1:]]
    return found


def _plain(cell: Any) -> Any:
    return cell.date() if isinstance(cell, datetime) else cell


def venue_of(demo: Written, team: Team) -> str:
    return next(session.venue for session in demo.plan.sessions if session.code == team.session)


def test_the_audit_finds_nothing(demo: Written) -> None:
    assert audit_plan(demo.plan, demo.training_round) == ()
    assert audit_folder(demo.out) == ()


def test_values_of_the_tiers_are_what_the_audit_measures(demo: Written) -> None:
    assert {tier.aim: tier.value for tier in demo.plan.tiers} == measure(demo.plan, demo.training_round)
    for tier in demo.plan.tiers:
        better = tier.aim in (Aim.FIRST_TEAMS, Aim.MUST_PEOPLE, Aim.FURTHER_TEAMS)
        assert tier.bound is None or (tier.bound >= tier.value if better else 0 <= tier.bound <= tier.value), tier


def test_no_bound_is_below_what_a_longer_search_reaches(demo: Written) -> None:
    """In a minute every facility gets a first team (tests/bench/README.md), so no smaller bound can be true."""
    most = sum(demo.training_round.weight(f) for f in demo.training_round.facilities if f.teams_wanted)
    first = next(tier for tier in demo.plan.tiers if tier.aim is Aim.FIRST_TEAMS)
    assert first.bound is None or first.bound == most


def test_every_page_opens_without_a_network_on_narrow_and_wide_screens(demo: Written, browser: Any) -> None:
    """The files are opened where they lie, so that a link to a neighbouring file would be noticed too."""
    files = sorted(demo.out.rglob("*.html"))
    assert len(files) >= 2 + 3 + 14 + 3 + 1  # report and map, districts, facilities, some trainers, a crew
    asked: list[str] = []
    errors: list[str] = []
    page = browser.new_page()
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)

    def only_the_file(route: Any) -> None:
        if route.request.is_navigation_request() or route.request.url.startswith("data:"):
            route.continue_()
        else:
            asked.append(route.request.url)
            route.abort()

    page.route("**/*", only_the_file)
    for file in files:
        page.goto(file.as_uri())
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 740})
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert wide <= 0, (file.name, width)
        if file.name == "map.html":
            assert page.locator(".mark").count() >= len(demo.training_round.facilities)
        else:
            assert page.locator("h1").count() == 1, file.name
            assert len(page.inner_text("body")) > 200, file.name
    page.close()
    assert (asked, errors) == ([], [])


def test_it_shows_cover_by_day_by_night_and_while_on_site(demo: Written) -> None:
    kinds = Counter((cover.kind, cover.shift.value) for cover in demo.plan.cover)
    assert kinds[CoverKind.OWN, "day"] >= len({team.facility for team in demo.plan.teams})
    assert kinds[CoverKind.OWN, "night"] >= 1, "somebody lodges, or a trainer who is staff is away"
    assert all(cover.named for cover in demo.plan.cover)


def test_it_shows_a_guest_whose_own_facility_keeps_its_cover(demo: Written) -> None:
    guests = [(team, seat) for team in demo.plan.teams for seat in team.seats if seat.guest]
    assert guests
    for team, seat in guests:
        home = demo.training_round.person(seat.person).facility
        assert home != team.facility
        assert any(c.facility == home and c.date in team.dates and c.kind is CoverKind.OWN for c in demo.plan.cover)


def test_it_shows_people_who_simulate_at_their_own_facility(demo: Written) -> None:
    """They travel nowhere, and while they are seated the keep-team is named from the others."""
    own_site = [
        (team, outing) for team in demo.plan.teams for outing in team.outings if venue_of(demo, team) == outing.facility
    ]
    assert own_site
    covered = {(c.facility, c.team) for c in demo.plan.cover if c.kind is CoverKind.SLOT}
    near_theatre = demo.training_round.settings.cover.theatre_minutes
    for team, outing in own_site:
        assert (outing.drives, outing.nights) == ((), ()), team.code
        home = demo.training_round.facility(outing.facility)
        close = home.minutes_to_theatre is not None and home.minutes_to_theatre <= near_theatre
        if close and home.on_site_cover is OnSiteCover.OBSERVERS:
            assert (outing.facility, team.code) in covered


def test_whoever_is_left_out_is_told_why(demo: Written) -> None:
    sent = Counter(team.facility for team in demo.plan.teams)
    short = {f.code for f in demo.training_round.facilities if sent[f.code] < f.teams_wanted}
    assert short, "in so short a search some team is always left out"
    told = {reason.who: reason.words for reason in demo.plan.reasons if reason.team_number is not None}
    assert short <= set(told)
    assert all(len(words) > 20 for words in told.values())
    must = {p.code for p in demo.training_round.people if p.include.value == "must"}
    seated = {seat.person for team in demo.plan.teams for seat in team.seats}
    assert must - seated <= {reason.who for reason in demo.plan.reasons}


def test_every_trip_has_a_session(demo: Written) -> None:
    """A crew is sent nowhere for nothing."""
    assert [trip.code for trip in demo.plan.trips if not any(day.sessions for day in trip.days)] == []


# --- the same facts everywhere ---------------------------------------------------------------------------------------


def test_plan_json_and_workbook_seat_the_same_people(demo: Written, book: dict[str, Sheet]) -> None:
    in_json = {
        (team["code"], team["facility"], seat["role"], seat["person"], min(team["dates"]))
        for team in demo.json["teams"]
        for seat in team["seats"]
    }
    in_book = {
        (row["team"], row["facility"], row["role"], row["person"], row["first date"].isoformat())
        for row in book["Seats"]
    }
    assert in_json
    assert in_book == in_json
    names = {row["person"]: row["name"] for row in book["Seats"]}
    assert names == {code: demo.training_round.name_of(code) for code in names}


def test_plan_json_and_workbook_hold_the_same_days(demo: Written, book: dict[str, Sheet]) -> None:
    plan = demo.json
    sessions = {(s["code"], s["venue"], d["date"], d["start"]) for s in plan["sessions"] for d in s["days"]}
    assert {(r["session"], r["venue"], r["date"].isoformat(), r["start"]) for r in book["Sessions"]} == sessions
    cover = Counter((c["facility"], c["date"], c["shift"], who) for c in plan["cover"] for _, who in c["named"])
    assert Counter((r["facility"], r["date"].isoformat(), r["shift"], r["person"]) for r in book["Cover"]) == cover
    legs = Counter(
        (trip["crew"], leg["drive"]["start"], leg["drive"]["end"], day["date"])
        for trip in plan["trips"]
        for day in trip["days"]
        for leg in day["legs"]
    )
    assert Counter((r["crew"], r["start"], r["end"], r["date"].isoformat()) for r in book["Legs"]) == legs


def test_the_cost_is_one_and_the_same(demo: Written, book: dict[str, Sheet]) -> None:
    minor = sum(line["amount"] for line in demo.json["costs"])
    assert minor == next(tier["value"] for tier in demo.json["tiers"] if tier["aim"] == "cost")
    assert sum(row["amount"] for row in book["Costs"]) == pytest.approx(minor / 100, abs=0.005)
    money = f"MWK {minor / 100:,.2f}".removesuffix(".00")
    assert money in everything(demo.out / "report.html")


def test_the_report_counts_people_and_names_reasons_and_venues(demo: Written) -> None:
    said = everything(demo.out / "report.html")
    plan = demo.json
    people = {seat["person"] for team in plan["teams"] for seat in team["seats"]}
    listed = len(demo.training_round.people)
    assert f"{capital(numeral(len(people)))} people of {listed} on the staff lists would be trained" in said
    for reason in demo.plan.reasons:
        assert demo.training_round.name_of(reason.who) in said
        assert capital(reason.words) in said
    for session in plan["sessions"]:
        assert demo.training_round.name_of(session["venue"]) in said


def test_each_facilitys_sheet_has_its_own_seats_dates_and_cover(demo: Written) -> None:
    name_of = demo.training_round.name_of
    for facility in demo.training_round.facilities:
        said = everything(demo.out / "facilities" / f"{slug(facility.code)}.html")
        for team in (team for team in demo.json["teams"] if team["facility"] == facility.code):
            first = date.fromisoformat(team["dates"][0])
            assert f"{first:%A} {first.day} {first:%B}" in said, facility.code
            assert [s["person"] for s in team["seats"] if name_of(s["person"]) not in said] == [], facility.code
        own = [c for c in demo.json["cover"] if c["facility"] == facility.code]
        assert [who for cover in own for _, who in cover["named"] if name_of(who) not in said] == [], facility.code


def test_each_crews_page_has_its_legs_and_each_trainers_its_sessions(demo: Written) -> None:
    name_of = demo.training_round.name_of
    for crew in {trip["crew"] for trip in demo.json["trips"]}:
        said = everything(demo.out / "crews" / f"{slug(crew)}.html")
        days = [day for trip in demo.json["trips"] if trip["crew"] == crew for day in trip["days"]]
        for leg in (leg for day in days for leg in day["legs"]):
            assert leg["drive"]["depart"][:5] in said
            assert name_of(leg["drive"]["end"]) in said
    days = [day for trip in demo.json["trips"] for day in trip["days"]]
    venues = {session["code"]: session["venue"] for session in demo.json["sessions"]}
    for trainer in {aboard["trainer"] for day in days for aboard in day["aboard"]}:
        said = everything(demo.out / "trainers" / f"{slug(trainer)}.html")
        taught = [s for day in days if trainer in {a["trainer"] for a in day["aboard"]} for s in day["sessions"]]
        assert [code for code in taught if name_of(venues[code]) not in said] == [], trainer
