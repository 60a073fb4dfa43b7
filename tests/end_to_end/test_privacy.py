"""A reader sees only what they need: no other facility's people, nobody's telephone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from document_text import everything
from written_plans import Written

from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.file_names import file_names

PAPERS_OF_A_FACILITY = (
    ("facilities", "ics"), ("letters", "html"), ("slips", "html"), ("slips", "xlsx"), ("slips", "txt"),
)  # fmt: skip
"""Written for those facilities alone that have anything to say in them."""


def documents(written: Written) -> dict[Path, frozenset[str]]:
    """Return each facility's and district's documents with the facilities whose people they may name."""
    training_round = written.training_round
    found: dict[Path, frozenset[str]] = {}
    for code, name in file_names(f.code for f in training_round.facilities).items():
        found[written.out / "facilities" / f"{name}.html"] = frozenset({code})
        papers = (written.out / folder / f"{name}.{ending}" for folder, ending in PAPERS_OF_A_FACILITY)
        found.update({path: frozenset({code}) for path in papers if path.exists()})
    for district, name in file_names(dict.fromkeys(f.district for f in training_round.facilities)).items():
        inside = frozenset(f.code for f in training_round.facilities if f.district == district)
        for ending in ("html", "xlsx"):
            found[written.out / "districts" / f"{name}.{ending}"] = inside
    return found


def welcome(written: Written, facilities: frozenset[str]) -> set[str]:
    """Return others whom the facilities may read of: guests in their teams, and staff lent to them."""
    guests = {seat.person for t in written.plan.teams if t.facility in facilities for seat in t.seats if seat.guest}
    return guests | {row.person for row in written.training_round.relief if row.facility in facilities}


def names(training_round: TrainingRound) -> dict[str, str]:
    return {p.code: p.name for p in training_round.people}


@pytest.fixture(params=["hand", "demo"])
def written(request: pytest.FixtureRequest) -> Written:
    found: Written = request.getfixturevalue(request.param)
    return found


def test_no_other_facilitys_people_guests_aside(written: Written) -> None:
    own = names(written.training_round)
    assert len(set(own.values())) == len(own), "names tell people apart, or this test sees nothing"
    for path, facilities in documents(written).items():
        text = everything(path)
        known = welcome(written, facilities)
        others = [p for p in written.training_round.people if p.facility not in facilities and p.code not in known]
        told = [
            person.code
            for person in others
            for word in (person.name, person.code)
            if word in text and re.search(rf"\b{re.escape(word)}\b", text)
        ]
        assert told == [], path.name


def test_own_people_who_go_and_who_stay_are_named(written: Written) -> None:
    """So that the test above does not pass on empty documents."""
    own = names(written.training_round)
    assert len({(path.parent.name, path.suffix) for path in documents(written)}) == 8
    for path, facilities in documents(written).items():
        text = everything(path)
        home = {p.code for p in written.training_round.people if p.facility in facilities}
        seated = {seat.person for team in written.plan.teams for seat in team.seats} & home
        covering = {who for cover in written.plan.cover if cover.facility in facilities for _, who in cover.named}
        missing = [who for who in (seated | covering) & home if own[who] not in text]
        assert missing == [], path.name


def test_the_one_telephone_a_facility_reads_is_the_managers(written: Written) -> None:
    """A facility's page adds its coordinator, a district's its facilities' switchboards; its workbook holds none."""
    contacts = {c.who: c for c in written.contacts}
    assert {"manager", "T1", *(f.code for f in written.training_round.facilities)} <= set(contacts)
    for path, facilities in documents(written).items():
        text = everything(path)
        allowed = {"manager", *facilities} if path.parent.name == "districts" else {"manager"}
        if path.parent.name == "facilities":
            allowed |= {written.training_round.facility(code).district for code in facilities}
        told = [
            who
            for who, contact in contacts.items()
            for detail in (contact.phone, contact.email)
            if detail and detail in text and who not in allowed
        ]
        assert told == [], path.name
    facility = next(path for path in documents(written) if path.parent.name == "facilities")
    assert contacts["manager"].phone in everything(facility)


def test_what_is_passed_on_holds_no_telephone_at_all(written: Written) -> None:
    """plan.json, the snapshot, the report, the map and the workbooks go to many hands."""
    details = [d for c in written.contacts for d in (c.phone, c.email) if d]
    shared = [written.out / name for name in ("plan.json", "report.html", "map.html")]
    shared += sorted((written.out / "inputs").iterdir())
    for path in shared:
        text = path.read_text(encoding="utf-8")
        assert [detail for detail in details if detail in text] == [], path.name
    for path in sorted(p for p in written.out.rglob("*") if p.suffix in (".xlsx", ".ics", ".gpx", ".txt")):
        text = everything(path)
        assert [detail for detail in details if detail in text] == [], path.name
    assert not (written.out / "inputs" / "contacts.csv").exists()


def test_trainers_and_crews_read_no_telephone_of_staff(written: Written) -> None:
    staff = {p.code for p in written.training_round.people} | {t.code for t in written.training_round.trainers}
    details = {d for c in written.contacts if c.who in staff for d in (c.phone, c.email) if d}
    assert details
    for folder in ("trainers", "crews"):
        for path in sorted((written.out / folder).iterdir()):
            text = everything(path)
            assert [detail for detail in details if detail in text] == [], path.name
