"""Calendars: the plan's times by a second library, changes between versions, time zones, hostile names."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import planned_rounds
import pytest
import vobject
from html_sample import hostile_plan, hostile_round
from planned_rounds import people_in, planned

from roundplan.domain.plan import Drive, Plan
from roundplan.domain.role import Shift
from roundplan.handouts.calendars import facility as facility_calendar
from roundplan.handouts.calendars import trainer as trainer_calendar
from roundplan.handouts.calendars.entry import entry_uid
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import speaking

Span = tuple[datetime, datetime]


def events(content: bytes) -> list[Any]:
    """Return the events as a second library reads them, the whole calendar found valid by it."""
    calendar = vobject.readOne(content.decode())
    assert calendar.validate(raiseException=True)
    return list(calendar.vevent_list)


def spans(found: list[Any], what: str) -> list[Span]:
    """Return local start and end of the timed events whose summary begins so."""
    chosen = [e for e in found if said(e).startswith(what)]
    return sorted((e.dtstart.value.replace(tzinfo=None), e.dtend.value.replace(tzinfo=None)) for e in chosen)


def said(event: Any) -> str:
    return str(event.summary.value).removeprefix("Draft: ")


def down(day: date, seconds: int) -> datetime:
    return datetime(day.year, day.month, day.day) + timedelta(minutes=seconds // 60)


def up(day: date, seconds: int) -> datetime:
    return datetime(day.year, day.month, day.day) + timedelta(minutes=-(-seconds // 60))


def span_of(drive: Drive) -> Span:
    return down(drive.date, drive.depart), up(drive.date, drive.arrive)


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_a_trainers_calendar_has_the_drives_and_sessions_of_the_plan(name: str) -> None:
    index = planned(name)
    travel = index.training_round.settings.travel
    for trainer in index.trainers_used():
        found = events(trainer_calendar.render(index, trainer))
        days = [day for _, day, _ in index.days_aboard(trainer)]
        whole = [e for e in found if not isinstance(e.dtstart.value, datetime)]
        assert [e.dtstart.value for e in whole] == [day.date for day in days]
        for entry, (trip, day, aboard) in zip(whole, index.days_aboard(trainer), strict=True):
            sleeps = len(trip.days) > 1 and day.night is not None and aboard.leaves_at is None
            assert (", night at " in said(entry)) == sleeps, "a night is said to those who sleep there"
            assert (", you leave it at " in said(entry)) == (day.night is not None and aboard.leaves_at is not None)
        sessions = []
        for day in days:
            for code in day.sessions:
                session = index.sessions[code]
                today = next(d for d in session.days if d.date == day.date)
                before = 60 * travel.set_up if day.date == session.dates[0] else 0
                after = 60 * travel.pack_up if day.date == session.dates[-1] else 0
                sessions.append((down(day.date, today.start - before), up(day.date, today.end + after)))
        assert spans(found, "Session at") == sorted(sessions)
        legs = sorted(span_of(leg.drive) for day in days for leg in day.legs)
        drives = spans(found, "Drive from")
        assert set(drives) <= set(legs)
        if all(aboard.joins_at is None and aboard.leaves_at is None for _, _, aboard in index.days_aboard(trainer)):
            assert drives == legs


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_a_facilitys_calendar_has_its_teams_journeys_and_shifts(name: str) -> None:
    index = planned(name)
    hours = index.training_round.settings.cover
    for home in index.training_round.facilities:
        if not facility_calendar.wanted(index, home.code):
            continue
        found = events(facility_calendar.render(index, home.code))
        teams = {team.code: team for team, _ in index.seats_at(home.code)}
        days = [(team, d) for team in teams.values() for d in index.sessions[team.session].days if d.date in team.dates]
        training = spans(found, "Team ") + spans(found, "Guest in a team")
        assert sorted(training) == sorted((down(d.date, d.start), up(d.date, d.end)) for _, d in days)
        drives = [d for t in teams.values() for o in t.outings if o.facility == home.code for d in o.drives]
        assert spans(found, "Journey from") == sorted(map(span_of, drives))
        shifts = {(cover.date, cover.shift) for cover in index.cover_at(home.code)}
        by_day = [d for d, shift in shifts if shift is Shift.DAY]
        by_night = [d for d, shift in shifts if shift is Shift.NIGHT]
        assert spans(found, "Who stays by day") == sorted(
            (down(d, hours.day_from), up(d, hours.night_from)) for d in by_day
        )
        assert spans(found, "Who stays by night") == sorted(
            (down(d, hours.night_from), up(d + timedelta(days=1), hours.day_from)) for d in by_night
        )
        check_names(index, home.code, found)


def check_names(index: PlanIndex, home: str, found: list[Any]) -> None:
    """Those who train and those who stay are named, guests from elsewhere in the own teams alone, nobody else."""
    seats = list(index.seats_at(home))
    stay = {person for cover in index.cover_at(home) for _, person in cover.named}
    text = " ".join(str(e.description.value) for e in found)
    expected = {seat.person for _, seat in seats} | stay
    assert people_in(text, index) == expected
    for event in found:
        if said(event).startswith("Who stays"):
            key = event.dtstart.value.date(), Shift.DAY if said(event).endswith("day") else Shift.NIGHT
            named = {p for c in index.cover_at(home) if (c.date, c.shift) == key for _, p in c.named}
            assert people_in(str(event.description.value), index) == named


def test_a_session_held_here_is_told_without_a_word_on_who_comes() -> None:
    index = planned("sample")
    (tuesday, _) = [e for e in events(facility_calendar.render(index, "KAM")) if said(e).startswith("Room needed")]
    assert tuesday.dtstart.value.replace(tzinfo=None) == datetime(2027, 3, 2, 7, 30)  # an hour of setting up
    assert tuesday.dtend.value.replace(tzinfo=None) == datetime(2027, 3, 2, 16, 35)  # three quarters of packing up
    assert people_in(str(tuesday.description.value), index) == set()


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_no_two_entries_are_the_same_one(name: str) -> None:
    index = planned(name)
    calendars = [trainer_calendar.render(index, code) for code in index.trainers_used()]
    calendars += [
        facility_calendar.render(index, home.code)
        for home in index.training_round.facilities
        if facility_calendar.wanted(index, home.code)
    ]
    uids = [event.uid.value for content in calendars for event in events(content)]
    assert len(uids) > 10
    assert len(uids) == len(set(uids))


def moved(index: PlanIndex, change: Callable[[Plan], Plan]) -> PlanIndex:
    return PlanIndex(change(index.plan), index.training_round)


def later_start(plan: Plan) -> Plan:
    """Half an hour later on the first session's date."""
    first = plan.sessions[0]
    day = dataclasses.replace(first.days[0], end=first.days[0].end + 1800)
    return dataclasses.replace(plan, sessions=(dataclasses.replace(first, days=(day,)), *plan.sessions[1:]))


def without_last_trip(plan: Plan) -> Plan:
    trips = tuple(trip for trip in plan.trips if trip.code != "S2")
    return dataclasses.replace(plan, trips=trips)


def state(content: bytes) -> dict[str, tuple[str, int, str, datetime]]:
    return {
        e.uid.value: (str(e.summary.value), int(e.sequence.value), e.status.value, e.dtstamp.value)
        for e in events(content)
    }


def test_a_new_version_without_a_change_leaves_every_entry_as_it_was() -> None:
    index = planned("sample")
    for render, code in ((trainer_calendar.render, "TR1"), (facility_calendar.render, "TUW")):
        first = render(index, code)
        again = render(index, code, version=9, earlier=first)
        assert state(again) == state(first)
        assert b"version 9" in again


def test_only_what_changed_rises() -> None:
    index = planned("sample")
    first = trainer_calendar.render(index, "TR1")
    second = trainer_calendar.render(moved(index, later_start), "TR1", version=4, earlier=first)
    before, after = state(first), state(second)
    assert before.keys() == after.keys()
    risen = {before[uid][0] for uid in before if before[uid] != after[uid]}
    assert risen == {
        "Draft: Session at Kamzani District Hospital",
        "Draft: Trip N1 with crew NORTH, night at Vwaza College of Nursing",
    }
    for uid, (_, sequence, _, stamp) in before.items():
        assert (after[uid][1] > sequence, after[uid][3] > stamp) == ((before[uid] != after[uid]),) * 2


def test_what_is_no_longer_planned_is_cancelled_and_stays_so() -> None:
    index = planned("sample")
    first = trainer_calendar.render(index, "TR3")
    second = trainer_calendar.render(moved(index, without_last_trip), "TR3", version=4, earlier=first)
    third = trainer_calendar.render(moved(index, without_last_trip), "TR3", version=5, earlier=second)
    gone = {uid for uid, (_, _, status, _) in state(second).items() if status == "CANCELLED"}
    assert len(gone) == 4  # the date, the session, two drives
    for uid in gone:
        summary, sequence, _, stamp = state(second)[uid]
        assert summary.startswith("Cancelled: ")
        assert (sequence > state(first)[uid][1], stamp > state(first)[uid][3]) == (True, True)
    assert state(second).keys() == state(first).keys()
    assert state(third) == state(second)
    back = state(trainer_calendar.render(index, "TR3", version=6, earlier=third))
    for uid in gone:
        assert back[uid][2] == "TENTATIVE"
        assert back[uid][1] > state(third)[uid][1]


def test_announcing_turns_drafts_into_what_is_sure() -> None:
    index = planned("sample")
    first = facility_calendar.render(index, "TUW")
    announced = moved(index, lambda plan: dataclasses.replace(plan, status="announced"))
    second = state(facility_calendar.render(announced, "TUW", version=4, earlier=first))
    assert {status for _, _, status, _ in second.values()} == {"CONFIRMED"}
    assert all(not summary.startswith("Draft: ") for summary, *_ in second.values())
    assert all(second[uid][1] > sequence for uid, (_, sequence, _, _) in state(first).items())


def test_stamps_come_from_the_plan_and_its_version() -> None:
    index = planned("demo")
    code = index.trainers_used()[0]
    first = {stamp for *_, stamp in state(trainer_calendar.render(index, code)).values()}
    third = {stamp for *_, stamp in state(trainer_calendar.render(index, code, version=3)).values()}
    (plan_date,) = {index.training_round.settings.round.plan_date}
    assert plan_date is not None
    assert {stamp.replace(tzinfo=None) for stamp in first} == {datetime(plan_date.year, plan_date.month, plan_date.day)}
    assert min(third) - max(first) == timedelta(seconds=2)
    assert {sequence for _, sequence, *_ in state(trainer_calendar.render(index, code, version=3)).values()} == {2}


def in_zone(index: PlanIndex, zone: str, shift: timedelta) -> PlanIndex:
    """Return the round in another time zone, its first session moved."""
    r = index.training_round
    settings = dataclasses.replace(r.settings, round=dataclasses.replace(r.settings.round, time_zone=zone))
    first = index.plan.sessions[0]
    day = dataclasses.replace(first.days[0], date=first.days[0].date + shift)
    slots = tuple(dataclasses.replace(slot, date=slot.date + shift) for slot in first.slots)
    session = dataclasses.replace(first, days=(day,), slots=slots)
    plan = dataclasses.replace(index.plan, sessions=(session, *index.plan.sessions[1:]))
    return PlanIndex(plan, r.replace(settings=settings))


def test_times_keep_to_the_clock_on_the_wall_when_the_clocks_change() -> None:
    """In London clocks go forward on the last Sunday of March, 28 March 2027 (Summer Time Order 2002).

    08:30 is then 07:30 of universal time, before it 08:30. The zone is read from the file, not from this machine.
    """
    index = in_zone(planned("sample"), "Europe/London", timedelta(days=27))
    content = facility_calendar.render(index, "KAM")
    held = [e.dtstart.value for e in events(content) if said(e).startswith("Room needed")]
    assert [(when.replace(tzinfo=None), when.utcoffset()) for when in sorted(held, key=str)] == [
        (datetime(2027, 3, 9, 7, 30), timedelta(0)),
        (datetime(2027, 3, 29, 7, 30), timedelta(hours=1)),
    ]
    assert content.count(b"BEGIN:VTIMEZONE") == 1
    assert b"BEGIN:DAYLIGHT" in content
    assert content.index(b"VTIMEZONE") < content.index(b"VEVENT")


def test_universal_time_needs_no_zone() -> None:
    content = facility_calendar.render(in_zone(planned("sample"), "UTC", timedelta(0)), "KAM")
    assert b"VTIMEZONE" not in content
    assert b"DTSTART:20270302T073000Z" in content


def test_an_earlier_calendar_in_another_zone_brings_its_zone_along() -> None:
    index = planned("sample")
    first = trainer_calendar.render(in_zone(index, "Europe/London", timedelta(0)), "TR3")
    second = trainer_calendar.render(moved(index, without_last_trip), "TR3", version=4, earlier=first)
    zones = {line for line in second.splitlines() if line.startswith(b"TZID:")}
    assert zones == {b"TZID:Africa/Blantyre", b"TZID:Europe/London"}
    assert len(state(second)) == len(state(first))


def test_hostile_names_stay_text() -> None:
    index, plain = PlanIndex(hostile_plan(), hostile_round()), planned("sample")
    for render, code in ((trainer_calendar.render, "TR1"), (facility_calendar.render, "TUW")):
        found = events(render(index, code))
        assert len(found) == len(events(render(plain, code)))
        assert any(index.name("KAM") in e.summary.value for e in found)


@pytest.mark.parametrize(
    "name", ["A\r\nBEGIN:VEVENT\r\nUID:1", "a;b,c\\n:d", "\x00\x07\u202e", "x" * 400, "مريم، ጤና ጣቢያ", "\ud800"]
)
def test_no_name_breaks_the_file(name: str) -> None:
    plain = planned("sample")
    r = plain.training_round
    facilities = tuple(dataclasses.replace(f, name=f"{name} {f.code}") for f in r.facilities)
    content = trainer_calendar.render(PlanIndex(plain.plan, r.replace(facilities=facilities)), "TR1")
    assert len(events(content)) == len(events(trainer_calendar.render(plain, "TR1")))
    assert max(len(line) for line in content.split(b"\r\n")) <= 75  # RFC 5545, 3.1: octets a line


def test_an_entry_keeps_its_identity_in_every_language_and_plan() -> None:
    index = planned("sample")
    with speaking("fr"):
        french = state(facility_calendar.render(index, "TUW"))
    assert french.keys() == state(facility_calendar.render(index, "TUW")).keys()
    assert entry_uid("R", "T1", ("session", "1")) == entry_uid("R", "T1", ("session", "1"))
    others = [("R2", "T1", ("session", "1")), ("R", "T2", ("session", "1")), ("R", "T1", ("session", "2"))]
    assert len({entry_uid(*other) for other in others} | {entry_uid("R", "T1", ("session", "1"))}) == 4


def test_two_runs_give_the_same_bytes() -> None:
    index = planned("demo")
    again = PlanIndex(index.plan, index.training_round)
    for code in index.trainers_used():
        assert trainer_calendar.render(index, code) == trainer_calendar.render(again, code)
