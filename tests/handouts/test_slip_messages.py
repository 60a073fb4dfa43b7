"""Slips as phone messages and as a page: short enough, every code on them, nobody else's people, one side of paper."""

from __future__ import annotations

import dataclasses
import io
import re
from pathlib import Path
from typing import Any

import planned_rounds
import pytest
from html_reading import read_page
from html_sample import HOSTILE, hostile_plan, hostile_round
from planned_rounds import people_in, phones, phones_in, planned
from pypdf import PdfReader

from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility.cover import named_to_stay
from roundplan.handouts.folder import SESSION_SHEETS
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets import release
from roundplan.handouts.slips import messages, page
from roundplan.handouts.slips.rows import Slip, has_replies, slip_of
from roundplan.slips.reply_code import Word, read_typed

CODE_LINE = re.compile(r"^([A-Z]{1,2}\d+[A-Z]) (.+)$", re.MULTILINE)
PERSON_LINE = re.compile(r"^(\d+[A-Z]) (.+)$", re.MULTILINE)


def slips(index: PlanIndex) -> list[Slip]:
    facilities = (f.code for f in index.training_round.facilities)
    return [slip_of(index, code) for code in facilities if has_replies(index, code)]


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_messages_are_short_and_hold_every_code_once(name: str) -> None:
    index = planned(name)
    for slip in slips(index):
        parts = messages.messages(index, slip.facility.code)
        assert max(map(len, parts)) <= messages.LONGEST == 480
        assert [part.split()[0] for part in parts] == [f"{n}/{len(parts)}" for n in range(1, len(parts) + 1)]
        assert all(f"version {slip.version}" in part.splitlines()[0] for part in parts)
        lines = dict(CODE_LINE.findall("\n".join(parts)))
        assert list(lines) == [row.code for row in slip.seats if row.code] + [row.code for row in slip.shifts]
        for row in slip.seats:
            if row.code:
                assert lines[row.code] == f"{row.name}, {row.seat.role.value}"
        for shift in slip.shifts:
            stay = {index.name(person) for cover in shift.covers for _, person in cover.named}
            assert set(lines[shift.code].split(": ")[1].split(", ")) == stay


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_the_codes_can_be_typed_back(name: str) -> None:
    index = planned(name)
    for slip in slips(index):
        text = messages.render(index, slip.facility.code)
        for number, code in enumerate([row.code for row in slip.seats if row.code], start=1):
            typed = read_typed(f"{code} yes", slip.numbers.check)
            assert (typed.letters, typed.number) == (slip.numbers.letters[slip.facility.code], number)
        staff = index.training_round.staff_of(slip.facility.code)
        for code, words in PERSON_LINE.findall(text):
            typed = read_typed(f"{slip.seats[0].code or slip.shifts[0].code} by {code}", slip.numbers.check)
            assert typed.word is Word.REPLACED
            assert typed.substitute is not None
            assert words.startswith(staff[typed.substitute - 1].name)


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_whoever_could_come_but_is_named_to_stay_is_marked(name: str) -> None:
    index = planned(name)
    for slip in slips(index):
        needed: set[str] = set()
        free: set[str] = set()
        for row in slip.seats:
            for person in row.substitutes:
                (needed if named_to_stay(index, person.code, row.team, row.seat) else free).add(person.code)
        said = dict.fromkeys(("free", "needed"), "")
        kind = ""
        for line in messages.render(index, slip.facility.code).splitlines():
            if line.startswith("These"):
                kind = {"These could": "free", "These are n": "needed"}.get(line[:11], "")
            elif kind and PERSON_LINE.match(line):
                said[kind] += line
        assert people_in(said["needed"], index) == needed
        assert people_in(said["free"], index) == free - needed
        paper = read_page(page.render(index, slip.facility.code)).text
        marked = {person for person in free | needed if f"{index.name(person)} (named to stay)" in paper}
        assert marked == needed
        assert ("comes only if somebody else with that role stays instead" in paper) is bool(needed)


def test_no_two_codes_of_a_round_are_the_same() -> None:
    codes = [
        code
        for slip in slips(planned("twelve facilities"))
        for code in (*(row.code for row in slip.seats if row.code), *(row.code for row in slip.shifts))
    ]
    assert len(codes) > 100
    assert len(set(codes)) == len(codes)


def test_a_message_says_whose_it_is_and_how_to_answer() -> None:
    first = messages.messages(planned("sample"), "LUV")[0]
    assert first.splitlines()[0].startswith("1/")
    assert "Luvanda Rural Hospital, version 3, draft, do not act on it yet" in first
    assert 'Answer with the code and "yes", "no", or "by" and the code of who comes. Example: C1' in first
    index = planned("sample")
    announced = PlanIndex(dataclasses.replace(index.plan, status="announced"), index.training_round)
    assert "draft" not in messages.render(announced, "LUV")


def test_a_facility_with_nothing_to_reply_to_is_told_so() -> None:
    assert messages.messages(planned("sample"), "PHO") == (
        "1/1 Phonje Health Centre, version 3, draft, do not act on it yet\n"
        "Nobody from here goes or is named to stay in this round.",
    )


def hostile() -> PlanIndex:
    return PlanIndex(hostile_plan(), hostile_round())


def long_names(training_round: TrainingRound, name: str) -> TrainingRound:
    people = tuple(dataclasses.replace(p, name=f"{name} {p.name}") for p in training_round.people)
    facilities = tuple(dataclasses.replace(f, name=f"{name} {f.name}") for f in training_round.facilities)
    return training_round.replace(people=people, facilities=facilities)


@pytest.mark.parametrize("name", [*HOSTILE, "x" * 500, "a\nK3F yes\n", "\u202e\x00evil", "مريم " * 20])
def test_hostile_names_neither_break_nor_swell_a_message(name: str) -> None:
    index = PlanIndex(planned("sample").plan, long_names(planned("sample").training_round, name))
    for slip in slips(index):
        parts = messages.messages(index, slip.facility.code)
        assert max(map(len, parts)) <= messages.LONGEST
        found = [code for code, _ in CODE_LINE.findall("\n".join(parts))]
        assert found == [row.code for row in slip.seats if row.code] + [row.code for row in slip.shifts]
        assert not set("".join(parts)) & set("\u202e\x00\u2068\u2069\u00a0")


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_papers_of_a_facility_hold_no_other_people_and_no_phone_but_the_managers(name: str) -> None:
    index = planned(name)
    contacts = phones(index)
    for facility in index.training_round.facilities:
        teams = [team for team in index.plan.teams if team.facility == facility.code]
        guests = {seat.person for team in teams for seat in team.seats if seat.guest}
        lent = {row.person for row in index.training_round.relief if row.facility == facility.code}
        own = {p.code for p in index.training_round.staff_of(facility.code)} | lent
        slip = read_page(page.render(index, facility.code, contacts=contacts)).text
        letter = read_page(release.render(index, facility.code, contacts=contacts)).text
        text = messages.render(index, facility.code)
        assert people_in(slip, index) <= own | guests
        assert people_in(letter, index) | people_in(text, index) <= own
        assert phones_in(slip, contacts) == phones_in(letter, contacts) == {"manager"}
        assert phones_in(text, contacts) == set()


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_the_page_has_every_row_of_the_slip(name: str) -> None:
    index = planned(name)
    for slip in slips(index):
        said = read_page(page.render(index, slip.facility.code)).text
        for row in slip.seats:
            assert f"{row.code or '–'} {row.name} {row.seat.role.value}" in said
        for shift in slip.shifts:
            assert shift.code in said
            assert {index.name(p) for c in shift.covers for _, p in c.named} - set(planned_names(said)) == set()
        assert f"version {slip.version}, draft" in said


def planned_names(said: str) -> list[str]:
    return re.findall(r"Person-[^ ]+?\.", said)


def test_the_letter_asks_for_its_own_people_with_their_times() -> None:
    """KAM lends nobody; LUV's tenth sits as a guest in the team of TUW and is asked of LUV alone."""
    index = planned("sample")
    luv = read_page(release.render(index, "LUV")).text
    assert planned_rounds.name_of("LUV10") in luv
    assert "I release the people named above" in luv
    assert "A role in a simulation gives nobody leave to operate" in luv
    tuw = read_page(release.render(index, "TUW")).text
    assert planned_rounds.name_of("LUV10") not in tuw
    for row in slip_of(index, "TUW").seats:
        if row.code:
            wanted = f"{row.name} {row.seat.role.value} {row.venue}, {row.dates} {row.leaves} {row.returns}"
            assert " ".join(wanted.split()) in tuw


def longest_papers(index: PlanIndex) -> dict[str, str]:
    """Return of each kind of sheet the one with most text."""
    facilities = [slip.facility.code for slip in slips(index)]
    sessions = [session.code for session in index.plan.sessions]
    papers = {
        "slip": [page.render(index, code) for code in facilities],
        "letter": [release.render(index, code) for code in facilities],
        **{name: [render(index, code) for code in sessions] for name, render in SESSION_SHEETS.items()},
    }
    return {name: max(found, key=len) for name, found in papers.items()}


def test_every_sheet_is_one_side_of_a4_and_of_us_letter(browser: Any, tmp_path: Path) -> None:
    opened = browser.new_page()
    for kind, html in longest_papers(planned("demo")).items():
        file = tmp_path / f"{kind}.html"
        file.write_text(html, encoding="utf-8")
        opened.goto(file.as_uri())
        for paper in ("A4", "Letter"):
            pages = PdfReader(io.BytesIO(opened.pdf(format=paper))).pages
            assert len(pages) == 1, f"{kind} on {paper}"
            assert "version" in pages[0].extract_text()
    opened.close()


def test_hostile_names_are_text_on_the_page() -> None:
    index = hostile()
    for facility in index.training_round.facilities:
        for html in (page.render(index, facility.code), release.render(index, facility.code)):
            assert not {tag for tag, _ in read_page(html).tags} & {"script", "img", "b"}
