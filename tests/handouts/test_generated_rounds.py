"""Every document of twenty rounds invented from a seed says what plan.json says, and nothing that is not its reader's.

The plans are those of a hand planner, which takes a fraction of a second. ``end_to_end/test_folder_read_back.py`` asks
the same of the demo.
"""

from __future__ import annotations

import copy
import json
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from folder_facts import FolderFacts
from planned_rounds import phones, told_apart
from report_facts import Facts as ReportFacts

from roundplan.audit import audit_plan
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.draft import completed
from roundplan.handouts.folder import Folder, documents
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.surfaces import Surfaces

sys.path.append(str(Path(__file__).parents[1] / "bench"))

SEEDS = range(8, 28)
SIZES = ((6, 3, 2), (5, 3, 2), (8, 3, 2), (4, 3, 2))
"""Facilities, weekdays and crews, in turn."""
FULL = 8
"""Seed of a round in which crews and participants drive."""


@cache
def made(seed: int) -> tuple[Plan, TrainingRound, dict[str, bytes], dict[str, str]]:
    """Return a plan, its round, all its documents and everybody's phone."""
    from generator import generate
    from rivals.greedy import greedy_plan

    training_round = told_apart(generate(*SIZES[seed % len(SIZES)], seed=seed))
    plan = completed(greedy_plan(training_round, seconds=60, seed=1), training_round)
    contacts = phones(PlanIndex(plan, training_round))
    folder = Folder(PlanIndex(plan, training_round), tuple(contacts.values()))
    files = {path: started() for path, started in [(d.path, d.plain(None).started()) for d in documents(folder)]}
    return plan, training_round, files, {who: contact.phone for who, contact in contacts.items()}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_document_says_what_the_plan_says(seed: int) -> None:
    plan, training_round, files, numbers = made(seed)
    assert plan.teams
    assert audit_plan(plan, training_round) == ()
    facts = FolderFacts(json.loads(files["plan.json"]), training_round, files)
    assert facts.faults() == []
    assert facts.indiscretions(numbers) == []
    assert ReportFacts(plan, training_round, files).faults() == []
    check_surfaces(PlanIndex(plan, training_round))


def check_surfaces(index: PlanIndex) -> None:
    """Assert that each drive's hops are together as long as the drive; those without a road row have no length."""
    surfaces = Surfaces(index)
    drives = [leg.drive for trip in index.plan.trips for day in trip.days for leg in day.legs]
    drives += [drive for team in index.plan.teams for outing in team.outings for drive in outing.drives]
    for drive in drives:
        lengths = [hop.km for hop in surfaces.hops(drive)]
        total = sum(length for length in lengths if length is not None)
        assert total <= drive.km + 0.001
        if None not in lengths:
            assert total == pytest.approx(drive.km)


CHANGES: dict[str, tuple[str, ...]] = {
    "seat": ("trainers/", "round.xlsx, seats", "slips/", "facilities/", "letters/", "register of"),
    "slot": ("trainers/", "round.xlsx, slots"),
    "session": ("trainers/", "facilities/"),
    "cover": ("round.xlsx, cover", "slips/", "facilities/", "letters/"),
    "drive": ("crews/", "round.xlsx, Legs", ".txt lacks", ".html lacks"),
    "journey": ("round.xlsx, Participants' journeys", "slips/", "facilities/", "letters/"),
    "load": ("trainers/", "crews/", "supplies.xlsx, pick list"),
    "price": ("round.xlsx, costs", "orders come to"),
    "observer": ("observers' sheet of",),
}
"""What is changed in a plan, and the documents in which that must be noticed."""


def changed(plan: dict[str, Any], what: str, stranger: str) -> dict[str, Any]:
    """Return plan.json with one fact changed."""
    plan = copy.deepcopy(plan)
    session, team = plan["sessions"][0], next(t for t in plan["teams"] if any(o["drives"] for o in t["outings"]))
    slot = next(slot for slot in session["slots"] if slot["team"])
    leg = next(leg for trip in plan["trips"] for day in trip["days"] for leg in day["legs"])
    if what == "seat":
        taken = team["seats"][0]["person"]
        team["seats"][0]["person"] = stranger
        for outing in team["outings"]:
            outing["people"] = [stranger if who == taken else who for who in outing["people"]]
    elif what == "slot":
        slot["start"] = "07:01"
    elif what == "session":
        session["days"][0]["start"] = "07:02"
    elif what == "cover":
        plan["cover"][0]["named"][0][1] = stranger
    elif what == "drive":
        leg["drive"]["depart"] = "05:07"
    elif what == "journey":
        next(o for o in team["outings"] if o["drives"])["drives"][0]["depart"] = "05:08"
    elif what == "load":
        plan["trips"][0]["loads"][0]["quantity"] += 1000
    elif what == "price":
        next(cost for cost in plan["costs"] if cost["line"] == "consumables")["amount"] += 1
    else:
        slot["observers"] = [stranger]
    return plan


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_plan_is_not_what_the_documents_say(what: str) -> None:
    _, training_round, files, _ = made(FULL)
    plan = json.loads(files["plan.json"])
    known = {who for team in plan["teams"] for seat in team["seats"] for who in (seat["person"], seat["standby"])}
    known |= {who for cover in plan["cover"] for _, who in cover["named"]}
    home = {team["facility"] for team in plan["teams"]} & {cover["facility"] for cover in plan["cover"]}
    stranger = next(p.code for p in training_round.people if p.code not in known and p.facility in home)
    found = FolderFacts(changed(plan, what, stranger), training_round, files).faults()
    for document in CHANGES[what]:
        assert any(document in fault for fault in found), (document, found[:20])


def test_a_name_and_a_phone_in_the_wrong_place_are_noticed() -> None:
    _, training_round, files, numbers = made(FULL)
    facts = FolderFacts(json.loads(files["plan.json"]), training_round, files)
    assert any("tells the phone of T001" in fault for fault in facts.indiscretions({"T001": numbers["manager"]}))
    one, other = [path for path in files if path.startswith("letters/")][:2]
    mixed = FolderFacts(facts.plan, training_round, {**files, one: files[other]})
    assert any(fault.startswith(f"{one} names") for fault in mixed.indiscretions(numbers))
