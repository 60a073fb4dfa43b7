"""Trainers' and crews' pages."""

from __future__ import annotations

import dataclasses

from html_reading import read_page
from html_sample import CONTACTS, THU, sample_plan, sample_round

from roundplan.domain.plan import Plan
from roundplan.handouts.drive_facts import latest_start
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road import crew_page, trainer_page
from roundplan.handouts.road.crew_page import end_line
from roundplan.handouts.road.travel_days import leg_row
from roundplan.handouts.words import HARD_SPACE, clock
from roundplan.travel.daylight import Daylight


def trainer(code: str) -> str:
    return read_page(trainer_page.render(sample_plan(), sample_round(), code, contacts=CONTACTS)).text


def crew(code: str) -> str:
    return read_page(crew_page.render(sample_plan(), sample_round(), code, contacts=CONTACTS)).text


def test_every_link_of_the_contents_leads_to_its_date_or_session() -> None:
    page = read_page(trainer_page.render(sample_plan(), sample_round(), "TR1", contacts=CONTACTS))
    marks = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    links = {str(attributes["href"]) for tag, attributes in page.tags if tag == "a" if "href" in attributes}
    inside = {link for link in links if link.startswith("#")}
    assert inside <= {f"#{mark}" for mark in marks}
    index = PlanIndex(sample_plan(), sample_round())
    days = list(index.days_aboard("TR1"))
    assert {f"#d{day.date.isoformat()}" for _, day, _ in days} <= inside
    sessions = {code for _, day, _ in days for code in day.sessions}
    assert {f"#session-{number}" for number in range(1, len(sessions) + 1)} <= inside
    driver = read_page(crew_page.render(sample_plan(), sample_round(), "NORTH", contacts=CONTACTS))
    dates = [day.date for trip in index.trips_of("NORTH") for day in trip.days]
    assert {f"d{day.isoformat()}" for day in dates} <= {attributes.get("id") for _, attributes in driver.tags}


def test_itinerary_in_the_order_of_the_clock() -> None:
    said = trainer("TR1")
    steps = (
        "Join the crew at Kamzani training store by 06:45.",
        "06:45 leave Kamzani training store, 06:51 reach Kamzani District Hospital",
        "Set-up from 07:30, session 08:30 to 15:50 at Kamzani District Hospital, packed up by 16:35.",  # 60 and 45 min
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
    itinerary = said[said.rindex("Trip ") :]
    thursday = itinerary[itinerary.index("Thursday 4 March") :]
    assert "Leave the crew at Vwaza College of Nursing, " in thursday
    assert "Sleep at" not in thursday


def test_run_sheet_names_team_case_wall_director_and_observers() -> None:
    said = trainer("TR1")
    assert "09:00–10:10 Kamzani District Hospital, team 1 Heavy bleeding after the birth wall 1, end 1" in said
    assert "you direct" in said
    assert "directs: Dr Tisa Nkhoma" in trainer("TR2")
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
    assert "44 km, 1 h 10 min at the wheel" in said
    assert "hours as entered" in said
    assert "worked out over the roads, 25 % added" in said
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
    row = leg_row(index, leg)
    left, latest = (str(line).replace(HARD_SPACE, " ") for line in row[3])
    assert left == f"{-int(-minutes // 1)} min to sunset"
    found = latest_start(index, leg.drive)
    assert found is not None
    assert latest == f"after {clock(found)} do not set out"
    late = dataclasses.replace(leg, drive=dataclasses.replace(leg.drive, arrive=20 * 3600))
    assert leg_row(index, late)[3][0].endswith("after sunset")


def test_a_trip_whose_last_date_has_nothing_ends_without_a_time() -> None:
    index = PlanIndex(sample_plan(), sample_round())
    trip = index.trips_of("NORTH")[0]
    idle = dataclasses.replace(trip.days[-1], legs=(), sessions=())
    (said,) = end_line(index, index.training_round.crew("NORTH"), idle, True)
    assert said == "The trip ends at Kamzani training store."


def test_a_trip_that_ends_close_to_its_base_says_that_the_base_comes_after() -> None:
    index = PlanIndex(sample_plan(), sample_round())
    vehicle = index.training_round.crew("NORTH")
    last = sample_plan().trips[0].days[-1]
    base = index.name(vehicle.base)
    assert next(end_line(index, vehicle, last, True)).startswith(f"The trip ends at {base}, ")
    venue = index.sessions["S2"].venue
    beside = {
        "latitude": index.training_round.site(venue).latitude,
        "longitude": index.training_round.site(venue).longitude,
    }
    places = tuple(
        dataclasses.replace(place, **beside) if place.code == vehicle.base else place
        for place in index.training_round.places
    )
    near = PlanIndex(sample_plan(), sample_round().replace(places=places))
    at_venue = dataclasses.replace(last, legs=(), sessions=("S2",))
    day = next(d for d in sample_plan().trips[0].days if "S2" in d.sessions)
    (said,) = end_line(near, vehicle, dataclasses.replace(at_venue, date=day.date), True)
    assert said.endswith(f" on to {base} close by, where the trip ends.")


def test_a_crew_reads_what_to_do_if_a_road_closes_and_that_it_is_a_draft() -> None:
    said = crew("NORTH")
    assert "Draft: do not act on it yet" in said
    assert "If a road closes Stop where it is safe" in said


def joining(plan: Plan, trainer: str, place: str) -> Plan:
    """Change where a trainer of the first trip joins on its first date."""
    trip = plan.trips[0]
    first = trip.days[0]
    people = tuple(dataclasses.replace(a, joins_at=place) if a.trainer == trainer else a for a in first.aboard)
    days = (dataclasses.replace(first, aboard=people), *trip.days[1:])
    return dataclasses.replace(plan, trips=(dataclasses.replace(trip, days=days), *plan.trips[1:]))


def test_a_trainer_is_told_the_way_that_nobody_plans() -> None:
    late = read_page(trainer_page.render(sample_plan(), sample_round(), "TR2")).text
    assert "Join the crew at Kamzani District Hospital by 07:30." in late  # an hour of set-up before 08:30
    assert (
        "Your way there from Vwaza College of Nursing, 44 km and 1 h 30 min at the wheel, is not in this plan." in late
    )
    assert "no bed is planned" not in late  # 06:00 is light in March
    early = read_page(trainer_page.render(joining(sample_plan(), "TR2", "DEP"), sample_round(), "TR2")).text
    assert "Join the crew at Kamzani training store by 06:45." in early
    assert "By daylight you can only come the day before; no bed is planned for that." in early
    assert "Your way" not in trainer("TR1")  # lives where the crew starts


def test_a_trainer_is_there_for_set_up_where_the_day_begins_with_the_session() -> None:
    """The crew slept next door: the first drive is that of the evening, and nobody may come only then."""
    plan = joining(sample_plan(), "TR1", "KAM")
    trip = plan.trips[0]
    days = (dataclasses.replace(trip.days[0], legs=trip.days[0].legs[1:]), *trip.days[1:])
    changed = dataclasses.replace(plan, trips=(dataclasses.replace(trip, days=days), *plan.trips[1:]))
    said = read_page(trainer_page.render(changed, sample_round(), "TR1")).text
    assert "Join the crew at Kamzani District Hospital by 07:30." in said  # an hour of set-up before 08:30


def test_drives_before_a_trainer_joins_are_the_crews_alone() -> None:
    first = trainer("TR2").split("Wednesday 3 March")[0]
    assert "06:45 leave" not in first
    assert "16:35 leave" in first


def test_a_whole_team_that_watches_is_named_as_a_team() -> None:
    plan = sample_plan()
    session = plan.sessions[0]
    people = tuple(seat.person for team in plan.teams if team.code == "T02" for seat in team.seats)
    slots = tuple(
        dataclasses.replace(slot, observers=(*people, "TR2")) if slot.team == "T01" else slot for slot in session.slots
    )
    changed = dataclasses.replace(plan, sessions=(dataclasses.replace(session, slots=slots), *plan.sessions[1:]))
    said = read_page(trainer_page.render(changed, sample_round(), "TR2")).text
    assert "watch: all of Tuwila Mission Hospital, team 1 and you" in said


def test_a_slot_without_simulation_says_where_to_watch() -> None:
    plan = sample_plan()
    thursday = plan.sessions[1]
    gone = min(slot.start for slot in thursday.slots if slot.station == 1)
    kept = tuple(slot for slot in thursday.slots if slot.station != 1 or slot.start != gone)
    sessions = (plan.sessions[0], dataclasses.replace(thursday, slots=kept), *plan.sessions[2:])
    said = read_page(trainer_page.render(dataclasses.replace(plan, sessions=sessions), sample_round(), "TR3")).text
    assert "09:00–10:10 No simulation here; watch at station 2" in said


def test_a_venue_without_a_number_is_said_to_have_none() -> None:
    few = {code: contact for code, contact in CONTACTS.items() if code != "COL"}
    said = read_page(crew_page.render(sample_plan(), sample_round(), "NORTH", contacts=few)).text
    assert "Vwaza College of Nursing: no number entered; ask the manager before you set out" in said
    assert "no number entered" not in crew("NORTH")


def test_a_crew_reads_where_and_when_the_trip_ends() -> None:
    assert "The trip ends at Kamzani training store, 09:07." in crew("NORTH")


def test_one_place_of_loading_stands_in_the_caption() -> None:
    said = crew("SOUTH")
    assert "all from Kamzani training store on Wednesday 3 March" in said
    assert "Taken on board" not in said
    assert "Taken on board" in crew("NORTH")  # restocks on the way
