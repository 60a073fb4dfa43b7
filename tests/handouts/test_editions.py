"""Documents live on: written anew exactly where what they say changed, marked, and never taken away from a reader."""

from __future__ import annotations

import random
from collections.abc import Callable, Hashable, Iterator
from dataclasses import replace
from functools import cache

import pytest
from html_reading import read_page
from pdf_reading import whole
from revised_plans import (
    changed,
    folder_of,
    had_of,
    later_leg,
    light,
    tell,
    told_plan,
    with_cover,
    with_seat,
    without_session,
    without_trainer,
)
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan.domain.plan import Plan
from roundplan.handouts import folder as folder_room
from roundplan.handouts.document import Reader, Whose
from roundplan.handouts.editions import Edition, Editions, Had
from roundplan.handouts.folder import Folder
from roundplan.handouts.folder import documents as everything
from roundplan.handouts.speech import say

MANAGERS = {"plan.json", "report.html", "round.xlsx", "map.html", "summary.html", "closing.xlsx"}


@pytest.fixture(autouse=True)
def without_pdfs(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave PDFs out, except in tests marked by the fixture ``printed``."""
    if "printed" not in request.fixturenames:
        monkeypatch.setattr(folder_room, "documents", lambda folder: light(everything(folder)))


@pytest.fixture
def printed() -> None:
    """Have PDFs made too."""


@cache
def first() -> tuple[Folder, dict[str, Edition], dict[str, Had]]:
    """Return version 1, without PDFs, and what readers have once it was told."""
    folder = folder_of(told_plan(1))
    editions = tell(folder)
    return folder, editions, had_of(editions)


def second(plan: Plan) -> dict[str, Edition]:
    before, _, had = first()
    return tell(folder_of(told_plan(2, plan), before), before, had)


# --- which documents are written anew --------------------------------------------------------------------------------


@pytest.mark.usefixtures("printed")
def test_with_one_other_person_in_a_seat_just_the_documents_that_name_them_change() -> None:
    """GAMA-P2 comes for GAMA-P1, who stays: GAMA's own, its district's, session S1's, and those of S1's trainers."""
    before = folder_of(told_plan(1))
    told = tell(before)
    new = with_cover(with_seat(hand_plan(), "GAMA-P1", person="GAMA-P2"), "GAMA", "GAMA-P2", "GAMA-P1")
    again = tell(folder_of(told_plan(2, new), before), before, had_of(told))
    assert changed(again) == {
        "facilities/GAMA.html", "facilities/GAMA.ics", "letters/GAMA.html",
        "slips/GAMA.html", "slips/GAMA.xlsx", "slips/GAMA.txt",
        "districts/North.html", "districts/North.xlsx",
        "sessions/S1-attendance.html", "sessions/S1-payments.html", "sessions/S1-observers.html",
        "sessions/S1-attendance.xlsx",
        "trainers/T1.html", "trainers/T2.html", "trainers/T4.html",
        "trainers/T1.pdf", "trainers/T2.pdf", "trainers/T4.pdf",
    }  # fmt: skip
    for path, edition in again.items():
        if path in MANAGERS:
            assert (edition.version, edition.whose) == (2, None)
        elif path in changed(again):
            assert edition.version == 2
        else:
            assert (edition.version, edition.content) == (1, told[path].content), path
    pages = whole(again["trainers/T1.pdf"].content)
    assert "What changed since version 1" in pages
    assert "» Name of GAMA-P2" in pages
    assert "» Name of ALFA-P1" not in pages


def test_another_seed_status_and_fingerprint_change_nothing_for_readers() -> None:
    plan = hand_plan()
    other = replace(
        plan, search=replace(plan.search, seed=9), fingerprint="0" * 64, program="9.9", costs=plan.costs[:3]
    )
    again = second(other)
    assert changed(again) == set()
    assert {path: e.content for path, e in again.items() if path not in MANAGERS} == {
        path: e.content for path, e in first()[1].items() if path not in MANAGERS
    }


def home(person: str) -> str:
    return hand_round().person(person).facility


def facts_of_facility(plan: Plan, facility: str) -> set[Hashable]:
    """Return what a facility's documents tell, out of the plan alone."""
    sessions = {s.code: s for s in plan.sessions}
    told: set[Hashable] = set()
    for team in plan.teams:
        session = sessions[team.session]
        slots = tuple((s.date, s.start) for s in session.slots if s.team == team.code)
        for seat in team.seats:
            if facility in (team.facility, home(seat.person)):
                standby = seat.standby if seat.standby and home(seat.standby) == facility else bool(seat.standby)
                told.add(
                    (team.facility, team.number, session.venue, session.days, slots, seat.person, seat.role, standby)
                )
        told |= {outing for outing in team.outings if outing.facility == facility}
    for cover in plan.cover:
        if cover.facility == facility:
            told.add((cover.date, cover.shift, cover.kind, cover.named, cover.for_facility, cover.team))
        if cover.for_facility == facility:
            told.add((cover.date, cover.shift, cover.facility))
    told |= {(s.days, len(s.stations)) for s in plan.sessions if s.venue == facility}
    staff = {t.code for t in hand_round().trainers if t.person and home(t.person) == facility}
    told |= {(a.trainer, d.date) for t in plan.trips for d in t.days for a in d.aboard if a.trainer in staff}
    return told


def facts_of_trainer(plan: Plan, trainer: str) -> set[Hashable]:
    """Return what a trainer's documents tell, out of the plan alone."""
    told: set[Hashable] = set()
    for trip in plan.trips:
        for day in trip.days:
            for aboard in day.aboard:
                if aboard.trainer == trainer:
                    legs = [leg for leg in day.legs if aboard.joins_at is None or leg.drive.end != aboard.joins_at]
                    told.add((trip.code, day.date, tuple(legs), day.night, aboard, day.sessions))
                    told |= {
                        facts
                        for s in plan.sessions
                        if s.code in day.sessions
                        for facts in facts_of_session(plan, s.code)
                    }
                    told.add(trip.loads)
    return told


def facts_of_session(plan: Plan, code: str) -> Iterator[Hashable]:
    yield next(s for s in plan.sessions if s.code == code)
    yield tuple(
        (t.facility, t.number, t.station, tuple((s.person, s.role) for s in t.seats))
        for t in plan.teams
        if t.session == code
    )
    yield tuple(a.trainer for t in plan.trips for d in t.days if code in d.sessions for a in d.aboard)


Edit = Callable[[Plan], Plan]
EDITS: dict[str, Edit] = {
    "another anaesthetist": lambda p: with_seat(p, "GAMA-N1", person="GAMA-N2"),
    "another guest": lambda p: with_seat(p, "DELT-A1", person="DELT-A3"),
    "another surgeon, far away": lambda p: with_seat(p, "BETA-P1", person="BETA-P2"),
    "a standby": lambda p: with_seat(p, "BETA-N1", standby="BETA-N3"),
    "a standby of its own at home": lambda p: with_seat(p, "ALFA-A1", standby="ALFA-A3"),
    "somebody else stays": lambda p: with_cover(p, "DELT", "DELT-P1", "DELT-P2"),
    "somebody else stays at the venue": lambda p: with_cover(p, "ALFA", "ALFA-P2", "ALFA-P3"),
    "the crew sets out later": lambda p: later_leg(p, 10),
    "a trainer less": lambda p: without_trainer(p, "T4"),
}


def some_edits(examples: int) -> list[tuple[str, ...]]:
    """Return each edit alone, then some of them together, drawn from a seed."""
    drawn = random.Random(5)
    return [*((name,) for name in EDITS), *(tuple(drawn.sample(sorted(EDITS), 3)) for _ in range(examples))]


@pytest.mark.parametrize("names", some_edits(4), ids=", ".join)
def test_a_reader_gets_new_documents_if_and_only_if_their_facts_changed(names: tuple[str, ...]) -> None:
    plan = hand_plan()
    for name in sorted(names):
        plan = EDITS[name](plan)
    again = second(plan)
    by_reader = {Whose(e.whose.reader, e.whose.code) for e in again.values() if e.whose and e.changed}
    for facility in (f.code for f in hand_round().facilities):
        differ = facts_of_facility(hand_plan(), facility) != facts_of_facility(plan, facility)
        assert (Whose(Reader.FACILITY, facility) in by_reader) == differ, (facility, names)
    for trainer in ("T1", "T2", "T4"):
        differ = facts_of_trainer(hand_plan(), trainer) != facts_of_trainer(plan, trainer)
        assert (Whose(Reader.TRAINER, trainer) in by_reader) == differ, (trainer, names)
    for path, edition in again.items():
        if path not in MANAGERS and not edition.changed:
            assert edition.content == first()[1][path].content, path


def test_a_newer_program_that_says_the_same_in_other_words_changes_nothing() -> None:
    before, editions, had = first()
    older = {path: replace(one, source="of an older program") for path, one in had.items()}
    again = tell(folder_of(told_plan(2), before), before, older)
    assert changed(again) == set()
    assert again["facilities/GAMA.html"].content == editions["facilities/GAMA.html"].content


def test_contacts_are_facts_too() -> None:
    """Whoever is told to call the manager is told of a new number; who is not, is not."""
    from roundplan.domain.decision import Contact

    before, _, had = first()
    now = replace(folder_of(told_plan(2), before), contacts=(Contact(who="manager", phone="+000 1"),))
    again = tell(now, before, had)
    assert {p.split("/")[0] for p in changed(again)} == {
        "districts",
        "slips",
        "facilities",
        "letters",
        "trainers",
        "crews",
    }
    assert not {p for p in changed(again) if p.endswith((".ics", ".txt", ".gpx"))}
    assert "» changed" in read_page(again["facilities/GAMA.html"].content.decode()).text


# --- what changed is marked ------------------------------------------------------------------------------------------


def marked_rows(html: str) -> list[str]:
    """Return the rows of tables that are marked, as text."""
    rows = html.split("<tr ")[1:]
    return [read_page(f"<p {row.split('</tr>')[0]}").text for row in rows if 'class="mark"' in row.split("</tr>")[0]]


def test_rows_that_read_anew_are_marked_and_no_others() -> None:
    again = second(with_seat(hand_plan(), "GAMA-N1", person="GAMA-N2"))
    page = again["facilities/GAMA.html"].content.decode()
    (row,) = marked_rows(page)
    assert row.startswith("» new Name of GAMA-N2")
    assert "What changed since version 1" in read_page(page).text
    assert "version 2" in read_page(page).text
    standby = second(with_seat(hand_plan(), "GAMA-N1", standby="GAMA-N2"))["facilities/GAMA.html"].content.decode()
    (row,) = marked_rows(standby)
    assert row.startswith("» changed Name of GAMA-N1")
    assert 'class="mark"' not in first()[1]["facilities/GAMA.html"].content.decode()


def test_what_is_said_of_the_change_stands_at_the_top_in_the_readers_language() -> None:
    before, _, had = first()
    new = folder_of(told_plan(2, with_seat(hand_plan(), "GAMA-N1", person="GAMA-N2")), before)
    index = new.index
    french = tuple(replace(f, languages=("fr",)) if f.code == "GAMA" else f for f in index.training_round.facilities)
    spoken = replace(new, index=replace(index, training_round=index.training_round.replace(facilities=french)))

    def words(whose: Whose) -> tuple[str, ...]:
        return (say("Who stays"), whose.code)

    again = {e.path: e for e in Editions(replace(spoken, kept=had.keys()), before, had, words).written()}
    page = read_page(again["facilities/GAMA.html"].content.decode()).text
    assert "Ce qui a changé depuis la version 1 Qui resteGAMA" in page
    assert page.count("» modifié") == 0
    assert page.count("» nouveau Name of GAMA-N2") == 1
    assert "What changed since version 1" in read_page(again["districts/North.html"].content.decode()).text
    assert "What changed since version 1: Who stays GAMA" in again["slips/GAMA.txt"].content.decode().replace("\n", " ")


# --- readers who have nothing to do any more -------------------------------------------------------------------------


@pytest.mark.usefixtures("printed")
def test_whoever_has_nothing_to_do_any_more_is_told_so_once() -> None:
    before = folder_of(told_plan(1))
    told = tell(before)
    had = had_of(told)
    bare = without_trainer(without_session(hand_plan(), "S2"), "T2")
    middle = folder_of(told_plan(2, bare), before, had)
    again = tell(middle, before, had)
    assert told.keys() <= again.keys()
    for sheet in ("attendance", "payments", "observers", "actions"):
        page = read_page(again[f"sessions/S2-{sheet}.html"].content.decode()).text
        assert "Session S2 is cancelled." in page
        assert "The Hall, Thursday 4 June" in page
    assert "No session in this round." in read_page(again["trainers/T2.html"].content.decode()).text
    assert "No session in this round." in whole(again["trainers/T2.pdf"].content)
    assert "Nobody from here has to be released" in read_page(again["letters/BETA.html"].content.decode()).text
    assert "Nobody from here goes" in again["slips/BETA.txt"].content.decode()
    for path in ("trainers/T2.ics", "facilities/BETA.ics"):
        events = again[path].content.decode().count("BEGIN:VEVENT")
        assert events == told[path].content.decode().count("BEGIN:VEVENT") > 0
        assert again[path].content.decode().count("STATUS:CANCELLED") == events
    had = had_of(again, had)
    third = tell(folder_of(told_plan(3, bare), middle, had), middle, had)
    assert changed(third) == set()
    assert {p: e.content for p, e in third.items() if p not in MANAGERS} == {
        p: e.content for p, e in again.items() if p not in MANAGERS
    }


def test_a_trainer_and_a_crew_taken_out_of_the_tables_keep_their_documents() -> None:
    before, told, had = first()
    plan = told_plan(2, replace(without_session(without_session(hand_plan(), "S1"), "S2"), trips=(), cover=()))
    new = folder_of(plan, before)
    left = new.index.training_round.replace(
        trainers=tuple(t for t in new.index.training_round.trainers if t.code != "T2"), crews=(), locks=()
    )
    again = tell(replace(new, index=replace(new.index, training_round=left)), before, had)
    assert told.keys() <= again.keys()
    assert "No session in this round." in read_page(again["trainers/T2.html"].content.decode()).text
    assert "No trip in this round." in read_page(again["crews/C1.html"].content.decode()).text
    assert "No trip in this round." in again["crews/C1.txt"].content.decode()
    assert again["trainers/T2.ics"].content.decode().count("STATUS:CANCELLED") > 0


def test_cancelled_entries_stay_cancelled_and_what_comes_back_is_newer_than_its_cancellation() -> None:
    """BETA's team goes in version 2, stays away in version 3 while somebody else changes, and comes back in 4."""
    before, told, had = first()
    gone = without_session(hand_plan(), "S2")
    plans = [gone, with_seat(gone, "GAMA-N1", person="GAMA-N2"), hand_plan()]
    calendars = [told["facilities/BETA.ics"].content]
    for version, plan in enumerate(plans, start=2):
        now = folder_of(told_plan(version, plan), before, had)
        editions = tell(now, before, had)
        calendars.append(editions["facilities/BETA.ics"].content)
        had, before = had_of(editions, had), now
    first_, second_, third, fourth = map(events_of, calendars)
    assert set(first_) == set(second_) == set(third) == set(fourth)
    assert {status for _, status in second_.values()} == {"CANCELLED"}
    assert calendars[2] == calendars[1], "nothing new for BETA in version 3"
    assert {status for _, status in fourth.values()} == {"CONFIRMED"}
    for uid, (sequence, _) in first_.items():
        assert sequence < second_[uid][0] < fourth[uid][0]


def events_of(calendar: bytes) -> dict[str, tuple[int, str]]:
    """Return sequence and status of each entry by its identity, read by another library than wrote them."""
    import vobject

    read = vobject.readOne(calendar.decode())
    return {e.uid.value: (int(e.sequence.value), e.status.value) for e in read.vevent_list}
