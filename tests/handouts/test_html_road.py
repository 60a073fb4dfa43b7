"""Trainers' and crews' pages."""

from __future__ import annotations

import dataclasses

from html_reading import read_page
from html_sample import CONTACTS, THU, sample_plan, sample_round

from roundplan.handouts import crew_page, trainer_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.travel_days import leg_row
from roundplan.handouts.words import HARD_SPACE
from roundplan.travel.daylight import Daylight


def trainer(code: str) -> str:
    return read_page(trainer_page.render(sample_plan(), sample_round(), code, contacts=CONTACTS)).text


def crew(code: str) -> str:
    return read_page(crew_page.render(sample_plan(), sample_round(), code, contacts=CONTACTS)).text


def test_itinerary_in_the_order_of_the_clock() -> None:
    said = trainer("TR1")
    steps = (
        "Join the crew at Kamzani training store.",
        "06:45 leave Kamzani training store, 06:51 reach Kamzani District Hospital",
        "Session 08:30 to 15:50 at Kamzani District Hospital; set-up takes 1 h; pack-up takes 45 min.",
        "16:35 leave Kamzani District Hospital, 17:45 reach Vwaza College of Nursing: 44 km, 1 h 10 min.",
        "Sleep at Vwaza College of Nursing.",
    )
    places = [said.index(step) for step in steps]
    assert places == sorted(places)


def test_a_trainer_who_leaves_the_crew_is_not_told_where_it_sleeps() -> None:
    plan = sample_plan()
    trip = plan.trips[0]
    days = [
        dataclasses.replace(
            day, aboard=tuple(dataclasses.replace(a, leaves_at="COL") if a.trainer == "TR2" else a for a in day.aboard)
        )
        if day.date == THU
        else day
        for day in trip.days
    ]
    days[3] = dataclasses.replace(days[3], aboard=tuple(a for a in days[3].aboard if a.trainer != "TR2"))
    changed = dataclasses.replace(plan, trips=(dataclasses.replace(trip, days=tuple(days)), *plan.trips[1:]))
    said = read_page(trainer_page.render(changed, sample_round(), "TR2")).text
    thursday = said[said.index("Thursday 4 March") :]
    assert "Leave the crew at Vwaza College of Nursing." in thursday
    assert "Sleep at" not in thursday


def test_run_sheet_names_team_case_wall_director_and_observers() -> None:
    said = trainer("TR1")
    assert "09:00–10:10 Kamzani District Hospital, team 1 Heavy bleeding after the birth wall 1, end 1" in said
    assert "directs: Dr Tisa Nkhoma" in said
    assert "watch: Anda Zimba, Bezi Moyo and Sr Uzo Banda" in said
    assert "12:30–13:15 Lunch" in said
    assert "14:25–15:35 Kept free as a reserve" in said
    assert "15:35–15:50 Closing, sharps counted" in said
    assert "Jemu Phiri (guest from Luvanda Rural Hospital) newborn care Nyanja and English" in said
    assert "You: director of station 1 and lead for surgery." in said
    assert "approval still wanted" in said
    assert "Ends when the airway is held and the surgeon has been told, or in minute 15" in said


def test_a_trainer_reads_their_own_sessions_only() -> None:
    assert "Heavy bleeding" in trainer("TR3")
    assert "Tuesday 2 March" not in trainer("TR3")


def test_a_crew_reads_legs_nights_load_and_restock() -> None:
    said = crew("NORTH")
    assert "16:35 Kamzani District Hospital 17:45 Vwaza College of Nursing" in said
    assert "44 km, 1 h 10 min at the wheel hours as entered" in said
    assert "worked out over the roads, times 1.25" in said
    assert "Sleep at Vwaza College of Nursing." in said
    assert "Most on board at any time: 412.4 kg" in said
    assert "the limit is 720 kg (900 kg less the reserve)" in said  # 900 × (1 − 0.2)
    assert "Restock at Vwaza College of Nursing on Wednesday 3 March: 30 pairs of Gloves, training." in said
    assert "Gloves, training (latex)" in said
    assert "All kit and consumables 12" in said  # 2 × 5.5 + 4 × 0.1 + 30 × 0.02 kg


def test_a_crew_reads_nobodys_name_but_the_trainers() -> None:
    said = crew("NORTH")
    assert "Dr Tisa Nkhoma" in said
    assert [p.name for p in sample_round().people if p.name in said] == []


def test_daylight_left_is_from_arrival_to_sunset() -> None:
    index = PlanIndex(sample_plan(), sample_round())
    daylight = Daylight(index.training_round)
    leg = index.plan.trips[0].days[0].legs[1]
    minutes = (daylight.sunset("COL", leg.drive.date) - leg.drive.arrive) / 60
    assert 0 < minutes < 60
    row = leg_row(index, leg, daylight)
    assert str(row[4]).replace(HARD_SPACE, " ") == f"{-int(-minutes // 1)} min to sunset"
    late = dataclasses.replace(leg, drive=dataclasses.replace(leg.drive, arrive=20 * 3600))
    assert str(leg_row(index, late, daylight)[4]).endswith("after sunset")
