"""Packs on paper say what plan.json says: every trainer's and crew's of the demo round, read back from the PDF."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from pack_facts import Facts
from pdf_reading import fonts, pages, whole, words_outside
from written_plans import Written


@pytest.fixture(scope="module")
def facts(demo: Written) -> Facts:
    return Facts(demo.json, demo.training_round)


def by_name(written: Written, folder: str) -> dict[str, bytes]:
    return {path.stem: path.read_bytes() for path in sorted((written.out / folder).glob("*.pdf"))}


def test_everybody_who_travels_has_a_pack(demo: Written) -> None:
    travelling = {one["trainer"] for trip in demo.json["trips"] for day in trip["days"] for one in day["aboard"]}
    assert set(by_name(demo, "trainers")) == travelling
    assert set(by_name(demo, "crews")) == {trip["crew"] for trip in demo.json["trips"]}


@pytest.mark.parametrize("folder", ["trainers", "crews"])
def test_people_days_times_and_quantities_are_the_plans(demo: Written, facts: Facts, folder: str) -> None:
    check: Callable[[str, str], list[str]] = facts.trainer_faults if folder == "trainers" else facts.crew_faults
    for code, content in by_name(demo, folder).items():
        assert check(code, whole(content)) == [], code


def test_a_changed_plan_is_not_what_the_packs_say(demo: Written, facts: Facts) -> None:
    """The comparison can fail: one slot later, one seat, one load and one drive changed are each noticed."""
    import copy

    plan = copy.deepcopy(demo.json)
    trip = next(t for t in plan["trips"] if any(day["legs"] for day in t["days"]) and t["loads"])
    session = next(s for s in plan["sessions"] if s["code"] in [c for day in trip["days"] for c in day["sessions"]])
    slot = next(s for s in session["slots"] if s["kind"] == "simulation")
    slot["start"] = "07:01"
    seat = next(team for team in plan["teams"] if team["session"] == session["code"])["seats"][0]
    named = {code for team in plan["teams"] for one in team["seats"] for code in (one["person"], one["standby"])}
    strangers = (person.code for person in demo.training_round.people if person.code not in named)
    seat["person"], seat["standby"] = next(strangers), None
    trip["loads"][0]["quantity"] += 1000
    code = next(one["trainer"] for day in trip["days"] for one in day["aboard"] if session["code"] in day["sessions"])
    leg = next(leg for day in trip["days"] for leg in day["legs"])
    leg["drive"]["depart"] = "03:03"
    wrong = Facts(plan, demo.training_round)
    found = wrong.trainer_faults(code, whole(by_name(demo, "trainers")[code]))
    assert any("07:01" in fault for fault in found)
    assert len(found) >= 3
    assert any(
        "03:03" in fault for fault in wrong.crew_faults(trip["crew"], whole(by_name(demo, "crews")[trip["crew"]]))
    )


def test_a_pack_names_nobody_who_has_nothing_to_do_with_its_reader(demo: Written, facts: Facts) -> None:
    for code, content in by_name(demo, "trainers").items():
        assert facts.strangers(code, whole(content)) == [], code


def test_slot_sheets_take_one_page_each(demo: Written) -> None:
    sheets = {code: len(session["days"]) for code, session in ((s["code"], s) for s in demo.json["sessions"])}
    for code, content in by_name(demo, "trainers").items():
        found = pages(content)
        own = {
            c
            for t in demo.json["trips"]
            for d in t["days"]
            for o in d["aboard"]
            if o["trainer"] == code
            for c in d["sessions"]
        }
        heads = [page for page in found if "Who may stop, and how" in page]
        assert len(heads) == sum(sheets[session] for session in own)
        assert all("Stop rule" in page for page in heads), "teams, slots and cases stand on one page"


def test_fonts_are_embedded_and_nothing_is_cut(demo: Written) -> None:
    for content in (*by_name(demo, "trainers").values(), *by_name(demo, "crews").values()):
        assert fonts(content) == {"NotoSans-Regular": True, "NotoSans-Bold": True}
        assert words_outside(content) == []
