"""Trainer and crew packs of a round made by hand: what stands where, for whom."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import pytest
from html_sample import CONTACTS, FRI, PRIVATE_PHONES, TUE, clock, drive, sample_plan, sample_round
from pdf_reading import fonts, overlapping, pages, paper, whole, words_outside

from roundplan.domain.place import Road
from roundplan.domain.plan import HeldLead, Leg, Plan
from roundplan.domain.role import Lead, Paper, Surface
from roundplan.domain.supply import ItemKind, Per
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.drive_facts import break_starts, crossing_hours, latest_start
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.crew_pack import crew_pack
from roundplan.handouts.packs.session_people import Deputy, deputies, trainers_of, watcher_over
from roundplan.handouts.packs.sharps import sharp_items, station_units
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.pdf.press import print_pdf
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import FROM_RIGHT, LANGUAGES, speaking
from roundplan.handouts.watching import Watch, watches


def binder(plan: Plan | None = None, training_round: TrainingRound | None = None) -> Binder:
    return Binder(PlanIndex(plan or sample_plan(), training_round or sample_round()), CONTACTS)


@cache
def trainer(code: str) -> bytes:
    return print_pdf(trainer_pack(binder(), code, f"trainers/{code}.pdf"))[0]


@cache
def crew(code: str) -> bytes:
    return print_pdf(crew_pack(binder(), code, f"crews/{code}.pdf"))[0]


def sheet_of(code: str, title: str) -> str:
    """Return the page whose head is the given one."""
    return next(page for page in pages(trainer(code)) if title in page and "Who may stop, and how" in page)


def test_the_first_page_says_who_when_with_whom_and_whom_to_call() -> None:
    first = pages(trainer("TR1"))[0]
    assert "Draft: do not act on it yet" in first
    assert "On the road Tuesday 2 March 2027 to " in first
    assert "Crew NORTH" in first
    assert "Programme manager +000 10 001 round@training.example" in first
    assert "Kamzani District Hospital +000 20 001" in first
    assert "Needle-stick at Kamzani District Hospital: Clinical officer on duty, casualty" in first


def test_a_date_stands_in_the_order_of_the_clock() -> None:
    text = whole(trainer("TR1"))
    steps = (
        "Tuesday 2 March Join the crew at Kamzani training store by 06:45.",
        "06:45 Kamzani training store 06:51 Kamzani District Hospital",
        "Set-up from 07:30, session 08:30 to 15:50 at Kamzani District Hospital, packed up by 16:35.",
        "16:35 Kamzani District Hospital 17:45 Vwaza College of Nursing 44 km",
        "Sleep at Vwaza College of Nursing.",
    )
    places = [text.index(step) for step in steps]
    assert places == sorted(places)


def test_a_slot_sheet_holds_all_of_a_date_on_one_page() -> None:
    sheet = sheet_of("TR1", "Kamzani District Hospital, Tuesday 2 March")
    assert "Room: the second theatre. 3 min on foot to theatre. One station." in sheet
    row = "09:00 09:10 09:25 09:55 10:10 Kamzani District Hospital, team 1 Heavy bleeding after the birth"
    assert f"{row} 1, end 1 Station 1 Dr Tisa Nkhoma" in sheet
    assert "1, end 1" in sheet
    assert "12:30 Lunch until 13:15" in sheet
    assert "14:25 Station 1: kept free as a reserve until 15:35" in sheet
    assert "15:35 Closing, sharps counted in; end 15:50" in sheet
    assert "Jemu Phiri, guest from Luvanda Rural Hospital" in sheet
    assert "works in Nyanja; all speak English too" in sheet
    assert "Ends when the airway is held and the surgeon has been told, or in minute 15" in sheet
    assert "approval still wanted" in sheet
    assert "this is real" in sheet
    assert "Person in charge, by name:" in sheet
    assert "Needle-stick at Kamzani District Hospital: Clinical officer on duty, casualty" in sheet
    assert "Kamzani District Hospital: +000 20 001" in sheet
    assert "Stop word agreed:" in sheet


def test_who_leaves_first_stands_where_own_staff_is_seated() -> None:
    assert "Who leaves first: Tuesday 2 March: " in sheet_of("TR1", "Kamzani District Hospital, Tuesday 2 March")


def test_the_sheet_of_a_session_is_the_same_for_all_who_work_there() -> None:
    """Whoever finds it on the table can use it."""

    def body(code: str) -> str:
        page = sheet_of(code, "Kamzani District Hospital, Tuesday 2 March")
        return page[page.index("Set-up from") : page.index(" Version 3")]

    assert body("TR1") == body("TR2")


def test_a_trainer_reads_their_own_sessions_only() -> None:
    assert "Tuesday 2 March" not in whole(trainer("TR3"))
    assert not [phone for phone in PRIVATE_PHONES if phone in whole(trainer("TR1"))]


def test_packing_has_boxes_walls_and_weights() -> None:
    text = whole(crew("NORTH"))
    assert "To load at Kamzani training store on Tuesday 2 March" in text
    assert "To load at Vwaza College of Nursing on Wednesday 3 March" in text
    assert "Gloves, training (latex) 30 pairs 0.6 left over" in text  # 30 × 0.02 kg
    assert "Restock at Vwaza College of Nursing on Wednesday 3 March: 30 pairs of Gloves, training." in text
    assert "Most on board at any time: 412.4 kg" in text
    assert "the limit is 720 kg (900 kg less the reserve)" in text  # 900 × (1 − 0.2)
    assert "Kamzani District Hospital Tue 2 Mar 1 2 40 min" in text  # two walls of 20 min at station 1
    assert "One wall takes 1 piece of Skin layer, cut." in text


def test_a_crew_reads_nobodys_name_but_the_trainers() -> None:
    text = whole(crew("NORTH"))
    assert "Dr Tisa Nkhoma" in text
    assert [p.name for p in sample_round().people if p.name in text] == []
    assert not [phone for phone in PRIVATE_PHONES if phone in text]


def test_only_a_director_gets_a_count_sheet_for_the_station() -> None:
    assert "Sharps: Kamzani District Hospital, station 1, Tuesday 2 March" in whole(trainer("TR1"))
    assert "Sharps: Kamzani District Hospital" not in whole(trainer("TR2"))
    assert "Sharps on trip" in whole(crew("NORTH"))


def test_sharp_items_are_counted_by_station() -> None:
    items = sample_round().items
    blade = dataclasses.replace(
        items[0], code="blade", name="Blade", kind=ItemKind.CONSUMABLE, per=Per.SIMULATION, quantity=2.0, sharp=True,
        wastage_percent=20.0,
    )  # fmt: skip
    clamp = dataclasses.replace(blade, code="clamp", sharp=False)
    index = binder(training_round=sample_round().replace(items=(*items, clamp, blade))).index
    assert [item.code for item in sharp_items(index)] == ["blade"]
    session = index.sessions_in_order[0]
    assert station_units(index, blade, session, 1, TUE) == 10  # 4 simulations × 2 ÷ (1 − 0.2)
    assert station_units(index, items[0], session, 1, TUE) is None
    unmarked = binder(training_round=sample_round().replace(items=(*items, clamp))).index
    assert [item.code for item in sharp_items(unmarked)] == ["clamp"]  # whatever goes by simulation


def test_prompts_begin_with_the_teams_own_words() -> None:
    text = whole(trainer("TR1"))
    order = [
        text.index(title) for title in ("1. The team's own words first", "2. What went well", "3. What to improve")
    ]
    assert order == sorted(order)
    assert "What is said in a debrief stays there" in text
    for title in ("If a road closes", "If a person does not come", "If an emergency calls the team away"):
        assert title in text


@pytest.mark.parametrize("on", [Paper.A4, Paper.LETTER])
@pytest.mark.parametrize("code", ["TR1", "TR3"])
def test_nothing_is_cut_and_no_page_is_empty(code: str, on: Paper) -> None:
    plain = sample_round()
    settings = dataclasses.replace(plain.settings, round=dataclasses.replace(plain.settings.round, paper=on))
    content, _ = print_pdf(trainer_pack(binder(training_round=plain.replace(settings=settings)), code, "x"))
    assert words_outside(content) == []
    assert paper(content) == {(595, 842) if on is Paper.A4 else (612, 792)}
    head_and_foot = len(pages(content)[0].split("Trainer pack")[0]) + 120
    assert all(len(page) > head_and_foot for page in pages(content))


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_runs_into_another_in_any_language(language: str) -> None:
    with speaking(language):
        content = print_pdf(trainer_pack(binder(), "TR1", "x"))[0]
        crews = print_pdf(crew_pack(binder(), "NORTH", "x"))[0]
    assert overlapping(content) == []
    assert overlapping(crews) == []
    assert words_outside(content) == words_outside(crews) == []


WICKED = (
    '#panic("!") *bold* _it_ $x$ @ref <lab> \\ `r` [c] // /*',
    "مستشفى الأمل 2",
    "አዲስ አበባ ሆስፒታል",
    "Wakilishirikimchangamano" * 3,
    "क्षितिज स्वास्थ्य केन्द्र",
)
"""Markup of typst, text from right to left with a figure, two other scripts, a word longer than any column."""


def test_wicked_names_stand_as_they_are_and_inside_their_columns() -> None:
    def named(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(dataclasses.replace(row, name=WICKED[n % len(WICKED)]) for n, row in enumerate(rows))

    plain = sample_round()
    wicked = plain.replace(
        facilities=named(plain.facilities), people=named(plain.people), places=named(plain.places),
        trainers=named(plain.trainers), items=named(plain.items), cases=named(plain.cases),
    )  # fmt: skip
    plan = dataclasses.replace(sample_plan(), round_name=WICKED[0])
    kept = binder(plan, wicked)
    content, missing = print_pdf(trainer_pack(kept, "TR1", "x"))
    crews, lost = print_pdf(crew_pack(kept, "NORTH", "x"))
    assert missing == lost == ()
    for made in (content, crews):
        assert words_outside(made) == []
        assert [pair for pair in overlapping(made) if not any(FROM_RIGHT.search(text) for text in pair)] == []
    text = whole(content).replace(" ", "")
    assert WICKED[0].replace(" ", "") in text
    assert WICKED[3] in text
    assert {"NotoSansArabic-Regular", "NotoSansEthiopic-Regular", "NotoSansDevanagari-Regular"} <= set(fonts(content))
    assert all(fonts(content).values())


def test_observers_look_at_all_four_things() -> None:
    index = binder().index
    session = index.sessions_in_order[0]
    looks = watches(index, session, session.dates[0])
    seen = {code for slot in session.slots for code in slot.observers}
    assert set(looks) == seen
    tasks = list(looks.values())
    assert all(set(tasks[start : start + 4]) == set(Watch) for start in range(len(tasks) - 3))


def test_who_watches_over_the_volunteer_directs_nothing() -> None:
    index = binder().index
    for session in index.sessions_in_order:
        directors = {station.director for station in session.stations}
        found = [watcher_over(index, session, station) for station in session.stations]
        assert not directors & set(found)
        named = [code for code in found if code]
        assert len(named) == len(set(named))


def test_deputies_may_lead_what_they_step_in_for() -> None:
    index = binder().index
    session = index.sessions_in_order[0]
    for words, holder, others in deputies(index, session):
        assert holder not in {one.trainer for one in others}
        lead = Lead.DIRECTOR if words.startswith("director") else next(x for x in Lead if words.endswith(x.value))
        assert all(lead in index.training_round.trainer(one.trainer).leads for one in others)


def test_nobody_steps_in_for_one_lead_too_many() -> None:
    """A director may lead surgery too, another lead only if their own station stays closed; nobody else holds two."""
    index = binder().index
    trainers = tuple(dataclasses.replace(trainer, leads=frozenset(Lead)) for trainer in index.training_round.trainers)
    plan = sample_plan()
    first = plan.sessions[0]
    station = first.stations[0]
    a, b = trainers_of(index, first)[:2]
    two = (
        dataclasses.replace(station, number=1, director=a),
        dataclasses.replace(station, number=2, director=b),
    )
    for stations, leads, words, expected in (
        ((two[0],), (HeldLead(lead=Lead.ANAESTHESIA, trainer=b, crew="NORTH"),), "director of station 1", ()),
        ((two[0],), (HeldLead(lead=Lead.ANAESTHESIA, trainer=b, crew="NORTH"),), "lead for anaesthesia", ()),
        ((two[0],), (HeldLead(lead=Lead.SURGERY, trainer=b, crew="NORTH"),), "lead for surgery", (Deputy(a),)),
        (two, (HeldLead(lead=Lead.ANAESTHESIA, trainer=a, crew="NORTH"),), "director of station 1", (Deputy(b, 2),)),
        (two, (HeldLead(lead=Lead.ANAESTHESIA, trainer=a, crew="NORTH"),), "lead for anaesthesia", (Deputy(b, 2),)),
        (two, (HeldLead(lead=Lead.ANAESTHESIA, trainer=a, crew="NORTH"),), "director of station 2", ()),
    ):
        session = dataclasses.replace(first, stations=stations, leads=leads)
        changed = dataclasses.replace(plan, sessions=(session, *plan.sessions[1:]))
        there = PlanIndex(changed, index.training_round.replace(trainers=trainers))
        found = {said: tuple(d for d in others if d.trainer in (a, b)) for said, _, others in deputies(there, session)}
        assert found[words] == expected, words


def test_breaks_stand_after_each_stretch_at_the_wheel() -> None:
    """Five hours from 07:00 with a break of 15 minutes each two: at 09:00 and, two hours after it ends, at 11:15."""
    long = dataclasses.replace(
        drive(TUE, "KAM", "COL", clock(7), 330, 200.0), drive_seconds=300 * 60, break_seconds=1800
    )
    assert list(break_starts(binder().index, long)) == [(clock(9), 900), (clock(11, 15), 900)]
    assert list(break_starts(binder().index, drive(TUE, "KAM", "COL", clock(7), 70, 44.0))) == []


def test_latest_start_and_crossings_come_from_the_roads() -> None:
    roads = (
        Road(start="DEP", end="KAM", km=10, surface=Surface.PAVED),
        Road(start="KAM", end="COL", km=20, surface=Surface.GRAVEL, open_from=clock(6), open_to=clock(16)),
    )
    index = binder(training_round=sample_round().replace(roads=roads)).index
    way = index.roads.ways("DEP", "COL", FRI)[0]
    plain = drive(FRI, "DEP", "COL", clock(8), -(-way.seconds // 60), way.km)
    leg = dataclasses.replace(plain, via=way.via, drive_seconds=way.seconds, arrive=plain.depart + way.seconds)
    assert crossing_hours(index, leg) == ((clock(6), clock(16)),)
    assert latest_start(index, leg) == clock(16) - way.gates[0].leave_after  # the crossing closes long before sunset
    by_light = dataclasses.replace(leg, source="unknown")
    sunset = index.daylight.sunset("COL", FRI)
    assert latest_start(index, by_light) == sunset - 3600 - way.seconds  # an hour's margin for crews


def test_a_leg_says_its_breaks_source_and_driver() -> None:
    plan = sample_plan()
    trip = plan.trips[0]
    first = trip.days[0]
    long = dataclasses.replace(
        first.legs[0].drive, drive_seconds=9000, break_seconds=900, arrive=first.legs[0].drive.depart + 9900
    )
    days = (dataclasses.replace(first, legs=(Leg(drive=long, driver=2), *first.legs[1:])), *trip.days[1:])
    changed = dataclasses.replace(plan, trips=(dataclasses.replace(trip, days=days), *plan.trips[1:]))
    crews = tuple(dataclasses.replace(c, drivers=2) for c in sample_round().crews)
    text = whole(print_pdf(crew_pack(binder(changed, sample_round().replace(crews=crews)), "NORTH", "x"))[0])
    assert "2 h 30 min" in text
    assert "break of 15 min at 08:45" in text  # 06:45 and two hours at the wheel
    assert "driver 2" in text
    assert "Driver 1" in text
    assert "hours as entered" in text


def test_a_plan_without_contacts_leaves_lines_to_write_on() -> None:
    bare = Binder(PlanIndex(sample_plan(), sample_round()))
    text = whole(print_pdf(trainer_pack(bare, "TR1", "x"))[0])
    assert "Programme manager" in text
    assert "+000" not in text


def test_two_stations_are_told_apart() -> None:
    sheet = next(page for page in pages(trainer("TR3")) if "Thursday 4 March" in page and "Who may stop" in page)
    assert "Two stations." in sheet
    assert "Station 1 Volunteer:" in sheet
    assert "Station 2 Volunteer:" in sheet
