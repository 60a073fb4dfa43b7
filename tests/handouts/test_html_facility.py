"""A facility's sheet: who goes, who stays, and nobody of another facility."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import Any

import planned_rounds
import pytest
from html_reading import read_page
from html_sample import CONTACTS, TUE, hostile_round, sample_plan, sample_round

from roundplan.domain.person import Duty
from roundplan.domain.plan import CoverKind, Plan
from roundplan.domain.role import DutyKind, OnSiteCover, Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.facility.cover import cover_rows, leave_first, seated_here
from roundplan.handouts.facility.fit import ASIDES_MM, SIZES_PT, Fit, best_fit
from roundplan.handouts.facility.stand_ins import replacements
from roundplan.handouts.plan_index import PlanIndex


def text_of(facility: str, plan: Plan | None = None, training_round: TrainingRound | None = None) -> str:
    html = facility_sheet.render(plan or sample_plan(), training_round or sample_round(), facility, contacts=CONTACTS)
    return read_page(html).text


@pytest.mark.parametrize(("facility", "guests"), [("KAM", ()), ("TUW", ("LUV10",)), ("LUV", ()), ("PHO", ())])
def test_no_other_facilitys_people_but_guests_in_own_teams(facility: str, guests: tuple[str, ...]) -> None:
    others = [p for p in sample_round().people if p.facility != facility and p.code not in guests]
    said = text_of(facility)
    assert [p.name for p in others if p.name in said] == []
    assert [p.name for p in sample_round().people if p.code in guests and p.name not in said] == []


def test_a_venues_sheet_shows_the_session_but_not_its_teams() -> None:
    said = text_of("KAM")
    assert "A session is held here on Tuesday 2 March, 08:30 to 15:50, with one station." in said
    assert "The room is needed from 07:30 until 16:35." in said
    assert "Zimba" not in said
    assert "Phiri" not in said


def test_who_goes_with_role_times_venue_and_standby() -> None:
    said = text_of("TUW")
    assert "Team 1: Tuesday 2 March, at Kamzani District Hospital" in said
    assert "Out: leave Tue 2 Mar, 07:18, reach Kamzani District Hospital 08:30 (38 km, 1 h 12 min)." in said
    assert "Back: leave Tue 2 Mar, 15:50, home 17:02" in said
    assert "Anda Zimba surgical provider Fumba Zimba" in said
    assert "Jemu Phiri (guest from Luvanda Rural Hospital) newborn care" in said


def test_a_guests_own_sheet_names_the_guest_alone_and_no_foreign_standby() -> None:
    said = text_of("LUV")
    assert "Guest in a team of Tuwila Mission Hospital: Tuesday 2 March, at Kamzani District Hospital" in said
    assert "Session Tue 2 Mar, 08:30 to 15:50; simulates at 10:20 and 13:25." in said
    assert "Jemu Phiri newborn care with Tuwila Mission Hospital" in said
    assert "Two nights at Vwaza College of Nursing." in said


def test_who_stays_by_day_and_night() -> None:
    said = text_of("TUW")
    assert "Shift Surgical provider Surgical assistant Anaesthetist" in said
    assert "Mon 1 Mar to Tue 2 Mar, by night Fumba Zimba Gilo Zimba Hawa Zimba" in said
    assert "Kamzani District Hospital keeps one anaesthetist and one surgical provider more for your patients" in said
    assert "(1) Takes emergencies of Tuwila Mission Hospital too." in text_of("KAM")


def test_who_leaves_a_seat_first_on_site() -> None:
    # KAM01 is seated in team 1 and named as cover that day
    assert "Tuesday 2 March: Anda Moyo (surgical provider) first; the simulation stops at once." in text_of("KAM")
    r = sample_round()
    observers = tuple(dataclasses.replace(f, on_site_cover=OnSiteCover.OBSERVERS) for f in r.facilities)
    said = text_of("KAM", training_round=r.replace(facilities=observers))
    assert "Tuesday 2 March: Anda Moyo (surgical provider) when not simulating." in said
    assert "Tuesday 9 March: nobody needs to leave a seat" in said
    assert "Free while team 1 simulates, 09:00 to 10:10 and 11:20 to 12:30." in said


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_all_who_are_seated_at_home_and_named_as_cover_are_told_to_leave(name: str) -> None:
    index = planned_rounds.planned(name)
    for facility in index.training_round.facilities:
        said = {day: " ".join(leave_first(index, facility.code, day)) for day in seated_here(index, facility.code)}
        for day, seated in seated_here(index, facility.code).items():
            counted = {
                person
                for cover in index.cover_at(facility.code)
                if (cover.date, cover.shift) == (day, Shift.DAY) and cover.kind is not CoverKind.SLOT
                for _, person in cover.named
            }
            assert planned_rounds.people_in(said[day], index) == counted & seated
            assert ("nobody needs to leave" in said[day]) is not bool(counted & seated)


def test_cover_for_a_facility_that_refers_here_calls_people_out_of_a_seat_too() -> None:
    plan, r = sample_plan(), sample_round()
    seated = next(iter(seated_here(PlanIndex(plan, r), "KAM")[TUE]))
    named = ((Role.SURGICAL_PROVIDER, seated),)
    referral = next(c for c in plan.cover if c.kind is CoverKind.REFERRAL and c.facility == "KAM")
    moved = dataclasses.replace(referral, date=TUE, shift=Shift.DAY, named=named)
    own = [c for c in plan.cover if c.facility != "KAM"]
    said = leave_first(PlanIndex(dataclasses.replace(plan, cover=(*own, moved)), r), "KAM", TUE)
    name = next(p.name for p in r.people if p.code == seated)
    assert said == (f"Tuesday 2 March: {name} (surgical provider) first; the simulation stops at once.",)


def test_who_stays_instead_of_a_standby_is_said() -> None:
    said = text_of("TUW")
    assert "If Fumba Zimba, a standby who is named to stay too, steps in, these stay instead:" in said
    plan = sample_plan()
    assert "a standby who is named" not in text_of("TUW", dataclasses.replace(plan, cover=()))


@pytest.mark.parametrize("name", planned_rounds.NAMES)
def test_cover_holds_where_a_standby_steps_in(name: str) -> None:
    """Whoever stays instead is there, can cover the role and fills no second one; all roles stay filled."""
    index = planned_rounds.planned(name)
    for facility in index.training_round.facilities:
        for team, seat in index.seats_at(facility.code):
            if seat.standby is None or index.home(seat.standby) != facility.code:
                continue
            for cover, moves in replacements(index, team, seat, facility.code):
                if moves is None:
                    continue
                filled = Counter(role for role, _ in cover.named)
                people = {person: role for role, person in cover.named}
                people.pop(seat.standby)
                for role, person in moves:
                    people[person] = role
                assert Counter(people.values()) == filled
                there = {p.code: p for p in index.book.at_hand(facility.code, (cover.date, cover.shift))}
                assert {seat.person, seat.standby}.isdisjoint(people)
                assert all(role in there[person].cover_roles for role, person in moves)


def test_whom_to_tell_can_be_reached() -> None:
    contacts = planned_rounds.phones(planned_rounds.planned("sample"))
    shown = {}
    for facility in sample_round().facilities:
        html = facility_sheet.render(sample_plan(), sample_round(), facility.code, contacts=contacts)
        shown[facility.code] = planned_rounds.phones_in(read_page(html).text, contacts)
    assert shown["TUW"] == {"manager", sample_round().facility("TUW").district}
    assert shown["PHO"] == {"manager"}, "nobody goes, so nobody has to tell the coordinator"


def test_what_the_facility_is_asked_for() -> None:
    said = text_of("TUW")
    assert "Swap the day duty of Tuesday 2 March: Bezi Zimba." in said
    assert "Send the roster for Mon 1 Mar (night), Tue 2 Mar (day) and Thu 4 Mar (day)." in said
    assert "up to three shifts in a row here; the round's limit is two shifts. Signed yes:" in said
    assert "Signed yes" not in text_of("LUV")
    assert "surgical provider, provisional" in text_of("LUV")


def test_a_roster_that_is_there_is_not_asked_for_again() -> None:
    r = sample_round()
    known = r.replace(duties=(Duty(person="TUW06", date=TUE, kind=DutyKind.DAY),))
    said = text_of("TUW", training_round=known)
    assert "Send the roster for Mon 1 Mar (night) and Thu 4 Mar (day)." in said


def test_staff_who_teach_elsewhere_are_named_as_away() -> None:
    r = sample_round()
    teachers = tuple(dataclasses.replace(t, person="KAM11" if t.code == "TR3" else None) for t in r.trainers)
    r = r.replace(trainers=teachers)
    assert "Kondi Moyo is away as a trainer: Wednesday 3, Thursday 4 and Tuesday 9 March." in text_of(
        "KAM", training_round=r
    )
    assert "Kondi Moyo" not in text_of("TUW", training_round=r)


def test_lines_to_confirm_and_to_sign() -> None:
    said = text_of("TUW")
    for words in (
        "Confirmed the day before",
        "Go or no-go",
        "Tell the district coordinator",
        "Name of the person in charge",
        "Signature",
    ):
        assert words in said
    assert "Needle-stick, Kamzani District Hospital: Clinical officer on duty, casualty" in said


def test_the_same_people_are_said_once_a_shift() -> None:
    plan = sample_plan()
    own = next(c for c in plan.cover if c.kind is CoverKind.OWN and c.facility == "KAM" and c.shift is Shift.DAY)
    spare = next(
        p.code for p in sample_round().people if p.facility == "KAM" and p.code not in dict(own.named).values()
    )
    wider = dataclasses.replace(
        own, kind=CoverKind.REFERRAL, for_facility="TUW", named=(*own.named, (Role.ANAESTHETIST, spare))
    )
    index = PlanIndex(dataclasses.replace(plan, cover=(own, wider)), sample_round())
    (row,) = cover_rows(index, "KAM")
    assert row[0][1] == "takes emergencies of Tuwila Mission Hospital too"
    assert index.name(spare) in row[1]
    apart = dataclasses.replace(wider, named=wider.named[1:])
    assert len(cover_rows(PlanIndex(dataclasses.replace(plan, cover=(own, apart)), sample_round()), "KAM")) == 2


def test_a_facility_left_out_reads_why() -> None:
    said = text_of("PHO")
    assert "No team from here in this round: only two anaesthetists, and one is on leave until 26 March" in said
    assert "no cover has to be named" in said


def fitted(**parts: Any) -> Fit:
    empty: dict[str, Any] = {
        "blocks": [],
        "main_text": [],
        "aside_text": [],
        "stays": [],
        "whole_text": [],
        "safety": [],
    }
    return best_fit(confirmations=0, **{**empty, **parts})


def test_type_shrinks_with_the_text_and_never_below_the_last_size() -> None:
    row = ("Night of Wednesday 3 to Thursday 4 March", "Someone With A Name (surgical provider), " * 3, "")

    def size(shifts: int) -> float:
        return fitted(stays=[row] * shifts).size_pt

    sizes = [size(shifts) for shifts in range(0, 160, 8)]
    assert sizes == sorted(sizes, reverse=True)
    assert (sizes[0], sizes[-1]) == (SIZES_PT[0], SIZES_PT[-1])


def test_the_narrow_column_widens_where_it_is_the_longer_one() -> None:
    def aside(lines: int) -> int:
        text = ["Words of some length that a facility has to be told, whatever else stands on its sheet."] * lines
        return fitted(aside_text=text, main_text=["Words of the wide column."] * 20).aside_mm

    assert (aside(1), aside(60)) == (ASIDES_MM[0], ASIDES_MM[-1])


def test_sentences_run_on_before_type_gets_small() -> None:
    """A line a drive down to 9 points; then one paragraph a team, which starts at 9 points again."""
    block = (("Team 1", *["Out: leave Mon 1 Feb, 07:00, reach a place at 09:00."] * 4), [("Who", "role", "none")] * 6)
    found = [fitted(blocks=[block] * number) for number in range(1, 12)]
    assert all(fit.size_pt >= 9 for fit in found if not fit.flow)
    assert [fit.flow for fit in found] == sorted(fit.flow for fit in found)
    assert next(fit for fit in found if fit.flow).size_pt > 8


def test_hostile_round_has_the_same_sheets() -> None:
    assert "<script>" in text_of("KAM", training_round=hostile_round())
