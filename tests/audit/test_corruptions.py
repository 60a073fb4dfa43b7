"""Each corruption of the hand-worked plan, or of its inputs, is reported under its rule."""

from __future__ import annotations

import dataclasses
from collections import Counter
from datetime import date

import pytest
from audit_edits import (
    add,
    both,
    change,
    cover,
    leg,
    no_cover,
    of_plan,
    of_round,
    outing,
    outing_drive,
    plan_field,
    seat,
    seats,
    session,
    session_day,
    setting,
    slot,
    table,
    team,
    trip,
    trip_day,
)
from worked_rounds.hand_plan import (
    FRI,
    HAND_COSTS,
    HAND_VALUES,
    MON,
    THU,
    TUE,
    WED,
    A,
    B,
    N,
    P,
    S,
    at,
    drive,
    hand_plan,
    hand_round,
    hand_trip,
)
from worked_rounds.hand_plan import cover as hand_cover_row
from worked_rounds.hand_plan import slot as hand_slot

from roundplan.audit import audit_plan, describe, measure
from roundplan.costs.pricing import total
from roundplan.domain.dates import DaySet
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.person import Absence, Duty, LedgerEntry, Relief
from roundplan.domain.plan import Aboard, CoverKind, HeldLead, Leg, Load, Pause, Seat, SlotKind, Station
from roundplan.domain.role import DutyKind, Include, Lead, OnSiteCover, SessionRoom, Shift, Weekend
from roundplan.domain.rules import Rule

DAY, NIGHT = Shift.DAY, Shift.NIGHT
OWN, SLOT, REFERRAL = CoverKind.OWN, CoverKind.SLOT, CoverKind.REFERRAL


def named(facility: str, people: str):
    return hand_cover_row(facility, TUE, DAY, people).named


def no_seat(*people: str):
    return lambda held: tuple(s for s in held if s.person not in people)


def without_drives(held):
    return dataclasses.replace(held, drives=(), nights=())


def close_road(training_round):
    roads = change(training_round.roads, lambda row: row.start == "GAMA", closures=((TUE, TUE),))
    return training_round.replace(roads=roads)


def stock_at_alfa(training_round):
    return training_round.replace(stock=change(training_round.stock, lambda row: row.item == "THREAD", place="ALFA"))


def stock_due_late(training_round):
    return training_round.replace(stock=change(training_round.stock, lambda row: row.item == "THREAD", due=WED))


CORRUPTIONS = {
    # people and teams
    "no anaesthetist": (Rule.TEAM_MINIMUM, seats("T02", no_seat("GAMA-N1"))),
    "one person for two roles": (Rule.TEAM_MINIMUM, seat("T03", "BETA-A1", person="BETA-P1")),
    "two seats of a team": (Rule.SEAT_AUTHORISED, seat("T03", "BETA-A1", person="BETA-P1")),
    "role not listed": (Rule.SEAT_AUTHORISED, seat("T01", "ALFA-A1", person="ALFA-P2")),
    "unknown person": (Rule.SEAT_AUTHORISED, seat("T01", "ALFA-A1", person="ALFA-X9")),
    "role beyond the usual team": (
        Rule.TEAM_MIRRORS_HOME,
        seats("T02", lambda s: (*s, Seat(role=S, person="GAMA-P2"))),
    ),
    "too many seats empty": (Rule.TEAM_MIRRORS_HOME, setting("teams", empty_seats=0)),
    "more teams than wanted": (Rule.TEAM_MIRRORS_HOME, table("facilities", "BETA", teams_wanted=0)),
    "second team without a first": (Rule.TEAM_MIRRORS_HOME, team("T01", number=2)),
    "unknown facility of a team": (Rule.TEAM_MIRRORS_HOME, team("T01", facility="NIRGENDS")),
    "too many guests": (Rule.GUEST_LIMIT, setting("teams", guests=0)),
    "guests more than half": (
        Rule.GUEST_LIMIT,
        both(setting("teams", guests=3), seat("T02", "GAMA-P1", person="DELT-P2", guest=True)),
    ),
    "guest not marked": (Rule.GUEST_LIMIT, seat("T02", "DELT-A1", guest=False)),
    "pooled team of the wrong facility": (
        Rule.GUEST_LIMIT,
        both(setting("teams", guests_pooled=True), seat("T02", "GAMA-P1", person="DELT-P2", guest=True)),
    ),
    "a person in two teams": (Rule.ONCE_ONLY, seat("T01", "ALFA-A1", person="DELT-A1")),
    "trained two months ago": (
        Rule.ONCE_ONLY,
        add("ledger", LedgerEntry(person="ALFA-P1", role=P, date=date(2026, 4, 1))),
    ),
    "marked no": (Rule.INCLUDE, table("people", "ALFA-A1", include=Include.NO)),
    "on leave": (Rule.STAFF_AVAILABLE, add("absences", Absence(who="ALFA-A1", first=TUE, last=TUE))),
    "on leave on the eve": (Rule.STAFF_AVAILABLE, add("absences", Absence(who="BETA-N1", first=WED, last=WED))),
    "on leave on the morrow": (Rule.STAFF_AVAILABLE, add("absences", Absence(who="BETA-N1", first=FRI, last=FRI))),
    "off night duty": (Rule.STAFF_AVAILABLE, add("duties", Duty(person="ALFA-N1", date=MON, kind=DutyKind.NIGHT))),
    "night duty that date": (
        Rule.STAFF_AVAILABLE,
        add("duties", Duty(person="BETA-N1", date=THU, kind=DutyKind.NIGHT)),
    ),
    "lent elsewhere": (
        Rule.STAFF_AVAILABLE,
        add("relief", Relief(person="GAMA-N1", facility="DELT", first=TUE, last=TUE)),
    ),
    "not a working weekday": (Rule.STAFF_AVAILABLE, table("people", "BETA-P1", works_days=frozenset({0, 1, 2}))),
    "swap not listed": (Rule.STAFF_AVAILABLE, plan_field(swaps=())),
    "not a course day": (Rule.STAFF_AVAILABLE, table("facilities", "BETA", course_days=DaySet(frozenset({0})))),
    "standby not authorised": (Rule.STAFF_AVAILABLE, seat("T01", "ALFA-N1", standby="ALFA-P2")),
    "standby seated there": (Rule.STAFF_AVAILABLE, seat("T01", "ALFA-N1", standby="ALFA-A1")),
    "standby on leave": (Rule.STAFF_AVAILABLE, add("absences", Absence(who="ALFA-N3", first=TUE, last=TUE))),
    "standby unknown": (Rule.STAFF_AVAILABLE, seat("T01", "ALFA-N1", standby="ALFA-X9")),
    "too little notice away": (Rule.NOTICE, setting("round", announce_on=date(2026, 5, 8))),
    "too little notice at home": (
        Rule.NOTICE,
        both(setting("round", announce_on=date(2026, 5, 20)), setting("teams", notice_off_site=0)),
    ),
    # cover
    "no cover named": (Rule.COVER_KEPT, no_cover("GAMA", TUE, DAY, OWN)),
    "no cover in the night before a staff trainer's date": (Rule.COVER_KEPT, no_cover("ALFA", MON, NIGHT, OWN)),
    "no cover on the morning of the return": (Rule.COVER_KEPT, no_cover("BETA", FRI, DAY, OWN)),
    "cover lacks a role": (Rule.COVER_KEPT, cover("GAMA", TUE, DAY, OWN, named=named("GAMA", "P2 A1"))),
    "cover away": (Rule.COVER_KEPT, cover("GAMA", TUE, DAY, OWN, named=named("GAMA", "P1 A1 N2"))),
    "cover teaching": (Rule.COVER_KEPT, cover("ALFA", TUE, DAY, OWN, named=named("ALFA", "P2 A2 N2 B3"))),
    "cover not rostered": (Rule.COVER_KEPT, cover("ALFA", TUE, NIGHT, OWN, named=named("ALFA", "P2 A3 N3"))),
    "cover of another facility": (Rule.COVER_KEPT, cover("GAMA", TUE, DAY, OWN, named=named("DELT", "P1 A2 N1"))),
    "cover by one person twice": (
        Rule.COVER_KEPT,
        cover("GAMA", TUE, DAY, OWN, named=((P, "GAMA-P2"), (A, "GAMA-P2"), (N, "GAMA-N2"))),
    ),
    "cover in a role not theirs": (
        Rule.COVER_KEPT,
        cover("GAMA", TUE, DAY, OWN, named=((P, "GAMA-A2"), (A, "GAMA-A1"), (N, "GAMA-N2"))),
    ),
    "cover by a learner": (Rule.COVER_KEPT, table("people", "GAMA-N2", learner=True, cover_roles=())),
    "cover on leave": (Rule.COVER_KEPT, add("absences", Absence(who="GAMA-N2", first=TUE, last=TUE))),
    "no cover with the standby away": (Rule.COVER_KEPT, seat("T02", "GAMA-N1", standby="GAMA-N2")),
    "cover unknown": (Rule.COVER_KEPT, cover("GAMA", TUE, DAY, OWN, named=((P, "GAMA-X9"),))),
    "seated on site counts although the facility says no": (
        Rule.COVER_KEPT,
        both(
            table("facilities", "ALFA", on_site_cover=OnSiteCover.NO),
            cover("ALFA", TUE, DAY, OWN, named=named("ALFA", "P1 A2 N2 B2")),
        ),
    ),
    "seated on site counts although the room is far": (
        Rule.COVER_KEPT,
        both(
            table("facilities", "ALFA", minutes_to_theatre=6),
            cover("ALFA", TUE, DAY, OWN, named=named("ALFA", "P1 A2 N2 B2")),
        ),
    ),
    "no slot cover": (Rule.COVER_ON_SITE, no_cover("ALFA", TUE, DAY, SLOT)),
    "slot cover seated": (Rule.COVER_ON_SITE, cover("ALFA", TUE, DAY, SLOT, named=named("ALFA", "P1 A2 N2 B2"))),
    "slot cover of an unknown team": (Rule.COVER_ON_SITE, cover("ALFA", TUE, DAY, SLOT, team="T99")),
    "named five shifts in a row": (
        Rule.COVER_RUN,
        both(
            cover("BETA", THU, DAY, OWN, named=named("BETA", "P2 A3 N3")),
            cover("BETA", THU, NIGHT, OWN, named=named("BETA", "P2 A3 N3")),
        ),
    ),
    "run limit of one": (Rule.COVER_RUN, table("facilities", "BETA", cover_run=1)),
    "no referral cover": (Rule.COVER_REFERRAL, no_cover("ALFA", TUE, DAY, REFERRAL)),
    "referral without the second anaesthetist": (
        Rule.COVER_REFERRAL,
        cover("ALFA", TUE, DAY, REFERRAL, named=named("ALFA", "P2 P3 A2 N2 B2")),
    ),
    "refers to a site with nothing named": (Rule.COVER_REFERRAL, table("facilities", "DELT", refers_to="BETA")),
    "referral for an unknown facility": (Rule.COVER_REFERRAL, cover("ALFA", TUE, DAY, REFERRAL, for_facility="X9")),
    "spare without a roster": (Rule.ROSTER_KNOWN, setting("cover", spare_without_roster=1)),
    "seat not marked provisional": (Rule.ROSTER_KNOWN, seat("T02", "GAMA-P1", provisional=False)),
    # sessions
    "too many stations": (Rule.VENUE_CAPACITY, table("places", "HALL", stations=0)),
    "too many in the room": (Rule.VENUE_CAPACITY, table("facilities", "ALFA", room_limit=10)),
    "too many learners": (Rule.VENUE_CAPACITY, setting("session", learners_per_station=6)),
    "two sessions in one room": (Rule.VENUE_CAPACITY, both(session("S2", venue="ALFA"), session_day("S2", date=TUE))),
    "session twice": (
        Rule.VENUE_CAPACITY,
        of_plan(lambda p: dataclasses.replace(p, sessions=(*p.sessions, p.sessions[0]))),
    ),
    "venue closed": (Rule.VENUE_OPEN, table("places", "HALL", closed_days=DaySet(dates=frozenset({THU})))),
    "round closed": (Rule.VENUE_OPEN, setting("round", closed_days=DaySet(stretches=((TUE, THU),)))),
    "rest day": (Rule.VENUE_OPEN, setting("round", working_days=frozenset({0, 1, 2}))),
    # 1 June is Madaraka Day in Kenya (from memory)
    "public holiday": (Rule.VENUE_OPEN, both(setting("round", country="KE"), session_day("S1", date=MON))),
    "outside the round": (Rule.VENUE_OPEN, setting("round", first_day=WED)),
    "unknown venue": (Rule.VENUE_OPEN, session("S1", venue="NIRGENDS")),
    "date of another year": (Rule.VENUE_OPEN, session_day("S1", date=date(2031, 1, 1))),
    "only theatre": (Rule.THEATRE_FREE, table("facilities", "ALFA", session_room=SessionRoom.ONLY_THEATRE)),
    "starts too early": (Rule.DAY_FITS, setting("session", teach_from=at("09:15"))),
    "ends too late": (Rule.DAY_FITS, setting("session", teach_to=at("13:00"))),
    "no lunch": (Rule.DAY_FITS, session_day("S1", pauses=())),
    "short lunch": (Rule.DAY_FITS, setting("session", lunch=45)),
    "set pause not kept": (Rule.DAY_FITS, setting("session", pause=((at("12:00"), at("12:20")),))),
    "slot in the opening": (Rule.DAY_FITS, setting("session", opening=30)),
    "slot in the closing": (Rule.DAY_FITS, setting("session", closing=20)),
    "short slot": (Rule.DAY_FITS, slot("S1", 1, end=at("10:20"))),
    "no reserve slot": (Rule.DAY_FITS, slot("S1", 5, kind=SlotKind.DEMONSTRATION)),
    "two dates in a row wanted": (Rule.DAY_FITS, setting("session", days=2)),
    "slot into lunch": (
        Rule.DAY_FITS,
        session_day("S1", pauses=(Pause(start=at("11:40"), end=at("12:20"), kind="lunch"),)),
    ),
    "time outside the day": (Rule.DAY_FITS, session_day("S1", end=100_000)),
    "slots overlap": (Rule.SLOT_ORDER, slot("S1", 2, start=at("10:20"), end=at("11:00"))),
    "team at another station": (Rule.SLOT_ORDER, slot("S1", 3, team="T03")),
    "observer simulates": (Rule.SLOT_ORDER, slot("S1", 1, observers=("ALFA-P1",))),
    "observer elsewhere": (Rule.SLOT_ORDER, slot("S1", 1, observers=("BETA-P1",))),
    "observer unknown": (Rule.SLOT_ORDER, slot("S1", 1, observers=("X9",))),
    "other director": (Rule.SLOT_ORDER, slot("S1", 1, director="T2")),
    "wall out of order": (Rule.SLOT_ORDER, slot("S1", 3, wall=1)),
    "slot on another date": (Rule.SLOT_ORDER, slot("S1", 3, date=WED)),
    "teaches and simulates": (Rule.SLOT_ORDER, seat("T01", "ALFA-B1", person="ALFA-B3")),
    "one simulation only": (Rule.SIMULATIONS_PER_TEAM, slot("S1", 4, kind=SlotKind.RESERVE, team=None)),
    "case twice": (Rule.SIMULATIONS_PER_TEAM, slot("S1", 3, case="K1")),
    "case watched before": (Rule.SIMULATIONS_PER_TEAM, slot("S1", 4, case="K1")),
    "case needs a role": (Rule.SIMULATIONS_PER_TEAM, slot("S1", 4, case="K3")),
    "no case": (Rule.SIMULATIONS_PER_TEAM, slot("S1", 4, case=None)),
    "case unknown": (Rule.SIMULATIONS_PER_TEAM, slot("S1", 4, case="K9")),
    "no demonstration": (Rule.SIMULATIONS_PER_TEAM, setting("session", demonstrations=1)),
    "team of an unknown session": (Rule.SIMULATIONS_PER_TEAM, team("T03", session="S9")),
    "team on no session date": (Rule.SIMULATIONS_PER_TEAM, team("T03", dates=(WED,))),
    "one trainer short": (Rule.CREW_STAFFED, setting("trainers", per_station=3)),
    "no surgery lead": (
        Rule.CREW_STAFFED,
        session("S2", leads=(HeldLead(lead=Lead.ANAESTHESIA, trainer="T2", crew="C1"),)),
    ),
    "lead not theirs": (Rule.CREW_STAFFED, table("trainers", "T2", leads=frozenset({Lead.NEWBORN_CARE}))),
    "two leads at once": (
        Rule.CREW_STAFFED,
        session(
            "S2",
            leads=tuple(HeldLead(lead=x, trainer="T2", crew="C1") for x in (Lead.ANAESTHESIA, Lead.SURGERY)),
        ),
    ),
    "newborn care lead missing": (Rule.CREW_STAFFED, table("facilities", "BETA", usual_team=(P, A, N, B))),
    "language not spoken": (Rule.CREW_STAFFED, table("facilities", "BETA", languages=("sw",))),
    "director unknown": (Rule.CREW_STAFFED, session("S2", stations=(Station(number=1, crew="C1", director="T9"),))),
    "lead not aboard": (Rule.CREW_STAFFED, trip_day(THU, aboard=(Aboard(trainer="T1", leaves_at="BASE"),))),
    # roads and crews
    "crew after dark": (Rule.DAYLIGHT, leg(THU, depart=at("16:00"), arrive=at("18:00"))),
    "participants before sunrise": (
        Rule.DAYLIGHT,
        outing_drive("T02", "DELT", 0, depart=at("05:00"), arrive=at("06:30")),
    ),
    "margin of ten hours": (Rule.DAYLIGHT, setting("travel", participant_margin=600)),
    "participants late": (
        Rule.PARTICIPANT_TRAVEL,
        outing_drive("T02", "GAMA", 0, depart=at("08:40"), arrive=at("09:40")),
    ),
    "participants leave early": (
        Rule.PARTICIPANT_TRAVEL,
        outing_drive("T02", "GAMA", 1, depart=at("13:00"), arrive=at("14:00")),
    ),
    "too far for a day": (Rule.PARTICIPANT_TRAVEL, setting("travel", day_limit=1.25)),
    "too far even with lodging": (Rule.PARTICIPANT_TRAVEL, setting("travel", overnight_limit=2.5)),
    "eve too late": (Rule.PARTICIPANT_TRAVEL, outing_drive("T03", "BETA", 0, depart=at("14:00"), arrive=at("17:15"))),
    "morrow too early": (
        Rule.PARTICIPANT_TRAVEL,
        outing_drive("T03", "BETA", 1, depart=at("06:30"), arrive=at("09:45")),
    ),
    "break left out": (
        Rule.PARTICIPANT_TRAVEL,
        outing_drive("T03", "BETA", 0, break_seconds=0, arrive=at("16:00")),
    ),
    "too few beds": (Rule.PARTICIPANT_TRAVEL, table("places", "INN", lodging_beds=5)),
    "a night not lodged": (
        Rule.PARTICIPANT_TRAVEL,
        outing("T03", "BETA", lambda o: dataclasses.replace(o, nights=o.nights[:1])),
    ),
    "no drives at all": (Rule.PARTICIPANT_TRAVEL, outing("T03", "BETA", without_drives)),
    "in no outing": (
        Rule.PARTICIPANT_TRAVEL,
        outing("T03", "BETA", lambda o: dataclasses.replace(o, people=o.people[:2])),
    ),
    "crew sleeps where there is no lodging": (Rule.CREW_IN_ONE_PLACE, table("facilities", "ALFA", lodging_price=None)),
    "crew jumps": (Rule.CREW_IN_ONE_PLACE, trip_day(WED, legs=())),
    "crew sleeps elsewhere": (Rule.CREW_IN_ONE_PLACE, trip_day(TUE, night="INN")),
    "crew does not come home": (Rule.CREW_IN_ONE_PLACE, trip_day(THU, legs=())),
    "session in no trip": (Rule.CREW_IN_ONE_PLACE, trip_day(THU, sessions=())),
    "crew out of use": (Rule.CREW_IN_ONE_PLACE, add("absences", Absence(who="C1", first=WED, last=WED))),
    "crew not yet available": (Rule.CREW_IN_ONE_PLACE, table("crews", "C1", available_from=WED)),
    "a date left out": (Rule.CREW_IN_ONE_PLACE, trip(days=(hand_trip().days[0], hand_trip().days[2]))),
    "unknown crew": (Rule.CREW_IN_ONE_PLACE, trip(crew="C9")),
    "too fast": (Rule.LEG_FEASIBLE, leg(THU, drive_seconds=6000, arrive=at("11:35") + 6000)),
    "no break": (Rule.LEG_FEASIBLE, leg(WED, break_seconds=0, arrive=at("11:30"))),
    "times do not add up": (Rule.LEG_FEASIBLE, leg(WED, arrive=at("11:00"))),
    "set-up cut short": (Rule.LEG_FEASIBLE, leg(TUE, depart=at("07:45"), arrive=at("08:45"))),
    "pack-up cut short": (Rule.LEG_FEASIBLE, leg(THU, depart=at("11:00"), arrive=at("13:00"))),
    "too long at the wheel": (Rule.LEG_FEASIBLE, setting("travel", wheel_hours=2.25)),
    "duty day too long": (Rule.LEG_FEASIBLE, setting("travel", duty_day=7.5)),
    "a second driver": (Rule.LEG_FEASIBLE, leg(TUE, driver=2)),
    "road closed": (Rule.ROAD_OPEN, of_round(close_road)),
    "crossing shut": (Rule.ROAD_OPEN, outing_drive("T02", "DELT", 1, depart=at("16:45"), arrive=at("18:15"))),
    "trainer not available": (Rule.TRAINER_LIMITS, table("trainers", "T2", available_to=WED)),
    "trainer on leave": (Rule.TRAINER_LIMITS, add("absences", Absence(who="T1", first=WED, last=WED))),
    "trainer on leave as staff": (Rule.TRAINER_LIMITS, add("absences", Absence(who="ALFA-B3", first=TUE, last=TUE))),
    "trainer off night duty": (
        Rule.TRAINER_LIMITS,
        add("duties", Duty(person="ALFA-B3", date=MON, kind=DutyKind.NIGHT)),
    ),
    "trainer of another crew": (Rule.TRAINER_LIMITS, table("trainers", "T1", crew="C2")),
    "trainer joins nowhere": (
        Rule.TRAINER_LIMITS,
        trip_day(TUE, aboard=(Aboard(trainer="T1"), Aboard(trainer="T2", joins_at="BASE"))),
    ),
    "trainer joins away from home": (Rule.TRAINER_LIMITS, table("trainers", "T4", lives_at="GAMA")),
    "too many nights away": (Rule.TRAINER_LIMITS, table("trainers", "T1", nights_away_limit=1)),
    "too many days in a row": (Rule.TRAINER_LIMITS, setting("trainers", days_in_a_row=2)),
    "drives on a rest day": (
        Rule.TRAINER_LIMITS,
        both(setting("trainers", weekend=Weekend.AWAY), setting("round", working_days=frozenset({0, 1, 3, 4}))),
    ),
    "out on a rest day": (
        Rule.TRAINER_LIMITS,
        both(setting("trainers", weekend=Weekend.HOME), setting("round", working_days=frozenset({0, 1, 3, 4}))),
    ),
    "too few seats in the vehicle": (Rule.VEHICLE_LOAD, table("crews", "C1", seats=3)),
    "too heavy": (Rule.VEHICLE_LOAD, table("crews", "C1", payload_kg=480.0)),
    "too bulky": (Rule.VEHICLE_LOAD, table("crews", "C1", space_l=57.0)),
    "more box models than owned": (Rule.KIT_ENOUGH, trip(box_models=3)),
    "no box model": (Rule.KIT_ENOUGH, trip(box_models=0)),
    "too little thread": (Rule.KIT_ENOUGH, table("items", "THREAD", quantity=2.1)),
    "stock gone": (Rule.KIT_ENOUGH, of_round(lambda r: r.replace(stock=r.stock[:1]))),
    "stock at another store": (Rule.KIT_ENOUGH, of_round(stock_at_alfa)),
    "delivery due too late": (Rule.KIT_ENOUGH, of_round(stock_due_late)),
    "loaded where it does not pass": (
        Rule.KIT_ENOUGH,
        trip(loads=(*hand_trip().loads[:2], Load(item="THREAD", quantity=15.0, place="BETA", date=TUE))),
    ),
    "bought too late": (
        Rule.KIT_ENOUGH,
        table("items", "SKIN", lead_days=40),
    ),
    "loaded after use": (
        Rule.KIT_ENOUGH,
        trip(loads=(*hand_trip().loads[:2], Load(item="THREAD", quantity=15.0, place="BASE", date=THU))),
    ),
    # money and decisions
    "over the cap": (Rule.BUDGET_CAP, setting("prices", cap=78_182)),
    "kept seat missing": (
        Rule.LOCKS,
        add("locks", Lock(do=Do.KEEP, kind=LockKind.SEAT, who="GAMA-P1", role=A)),
    ),
    "kept session missing": (
        Rule.LOCKS,
        add("locks", Lock(do=Do.KEEP, kind=LockKind.SESSION, place="ALFA", date=WED)),
    ),
    "forbidden session": (
        Rule.LOCKS,
        add("locks", Lock(do=Do.FORBID, kind=LockKind.SESSION, place="HALL", crew="C1")),
    ),
    "forbidden person": (Rule.LOCKS, add("locks", Lock(do=Do.FORBID, kind=LockKind.PERSON, who="DELT-A1"))),
    "forbidden trainer": (Rule.LOCKS, add("locks", Lock(do=Do.FORBID, kind=LockKind.PERSON, who="T2", date=WED))),
    "kept visit missing": (
        Rule.LOCKS,
        add("locks", Lock(do=Do.KEEP, kind=LockKind.VISIT, who="BETA", place="ALFA")),
    ),
    "kept facility missing": (Rule.LOCKS, add("locks", Lock(do=Do.KEEP, kind=LockKind.FACILITY, who="DELT"))),
    "pinned seat swapped out": (Rule.LOCKS, seat("T02", "GAMA-P1", person="GAMA-P2")),
}


@pytest.mark.parametrize(("rule", "edit"), CORRUPTIONS.values(), ids=CORRUPTIONS.keys())
def test_a_corruption_is_reported_under_its_rule(rule, edit):
    breaches = audit_plan(*edit(hand_plan(), hand_round()))

    assert rule in {breach.rule for breach in breaches}, describe(breaches)


def test_the_hand_plan_breaks_nothing():
    assert describe(audit_plan(hand_plan(), hand_round())) == []


def test_every_rule_has_a_corruption():
    assert {rule for rule, _ in CORRUPTIONS.values()} == set(Rule)


def test_there_are_sixty_corruptions_at_least():
    assert len(CORRUPTIONS) >= 60


FIGURES = {
    "a cost changed": of_plan(
        lambda p: dataclasses.replace(p, costs=(dataclasses.replace(p.costs[0], amount=1), *p.costs[1:]))
    ),
    "a cost left out": of_plan(lambda p: dataclasses.replace(p, costs=p.costs[1:])),
    "a cost renamed": of_plan(
        lambda p: dataclasses.replace(p, costs=(dataclasses.replace(p.costs[0], what="fuel"), *p.costs[1:]))
    ),
    "a tier left out": of_plan(lambda p: dataclasses.replace(p, tiers=p.tiers[1:])),
    "a tier better than its bound": of_plan(
        lambda p: dataclasses.replace(p, tiers=(dataclasses.replace(p.tiers[0], bound=13), *p.tiers[1:]))
    ),
    "a weight changed": trip(weight_kg=300.0),
    "a volume changed": trip(volume_l=300.0),
    "a load changed": trip(loads=(*hand_trip().loads[:2], Load(item="THREAD", quantity=16.0, place="BASE", date=TUE))),
    "another round": plan_field(round_name="Other"),
    "a floor for districts": setting("aims", floor_per_district=2),
}


@pytest.mark.parametrize("edit", FIGURES.values(), ids=FIGURES.keys())
def test_a_wrong_figure_is_reported_without_a_rule(edit):
    assert [b for b in audit_plan(*edit(hand_plan(), hand_round())) if b.rule is None]


@pytest.mark.parametrize("index", range(6))
def test_a_changed_tier_is_reported(index):
    plan = hand_plan()
    tiers = list(plan.tiers)
    tiers[index] = dataclasses.replace(tiers[index], value=tiers[index].value + 1)

    breaches = audit_plan(dataclasses.replace(plan, tiers=tuple(tiers)), hand_round())

    assert [b.rule for b in breaches] == [None]
    assert tiers[index].aim.value in breaches[0].words


def test_the_tiers_are_those_worked_out_by_hand():
    assert measure(hand_plan(), hand_round()) == HAND_VALUES


def test_the_costs_are_those_worked_out_by_hand():
    sums = Counter()
    for entry in hand_plan().costs:
        sums[entry.line] += entry.amount

    assert sums == HAND_COSTS
    assert total(hand_plan().costs) == 78_183


def test_words_name_people_place_day_and_figures():
    edit = cover("GAMA", TUE, DAY, OWN, named=named("GAMA", "P1 A1 N2"))

    (breach,) = audit_plan(*edit(hand_plan(), hand_round()))

    assert breach.people == ("GAMA-P1",)
    assert (breach.place, breach.date) == ("GAMA", TUE)
    for words in ("Name of GAMA-P1 (GAMA-P1)", "Gama Clinic (GAMA)", "Tue 2 Jun 2026"):
        assert words in breach.words


def test_lines_hold_no_control_characters():
    edit = table("people", "ALFA-A1", include=Include.NO, name="Eve\n\x1b[31m\u202eforged")

    lines = describe(audit_plan(*edit(hand_plan(), hand_round())))

    assert len(lines) == 1
    assert lines[0].isprintable()
    assert lines[0].startswith("include: Eve")


def test_a_longer_return_leaves_a_night_to_cover():
    """A drive home that ends after 20:00 touches the night too, which nobody covers."""
    edit = both(
        setting("travel", daylight=False),
        outing_drive("T02", "GAMA", 1, depart=at("19:30"), arrive=at("20:30")),
    )

    rules = {breach.rule for breach in audit_plan(*edit(hand_plan(), hand_round()))}

    assert {Rule.COVER_KEPT, Rule.COVER_REFERRAL} <= rules


def test_leaving_before_the_day_shift_touches_the_night_before():
    edit = outing_drive("T02", "GAMA", 0, depart=at("07:30"), arrive=at("08:30"))

    breaches = audit_plan(*edit(hand_plan(), hand_round()))

    assert {(b.rule, b.date) for b in breaches if b.rule} == {(Rule.COVER_KEPT, MON), (Rule.COVER_REFERRAL, MON)}


def test_pooled_teams_have_no_guest_limit():
    edit = setting("teams", guests_pooled=True, guests=0)

    assert Rule.GUEST_LIMIT not in {b.rule for b in audit_plan(*edit(hand_plan(), hand_round()))}


def test_interruptible_needs_no_slot_cover():
    edit = both(
        table("facilities", "ALFA", on_site_cover=OnSiteCover.INTERRUPTIBLE),
        of_plan(lambda p: dataclasses.replace(p, cover=tuple(c for c in p.cover if c.kind is not SLOT))),
        cover("ALFA", TUE, DAY, OWN, named=named("ALFA", "P1 A2 N2 B2")),
    )

    assert describe(audit_plan(*edit(hand_plan(), hand_round()))) == []


def test_a_second_driver_of_a_crew_of_two_may_drive():
    legs = (Leg(drive=drive(WED, "ALFA", "HALL", "09:00", 2.5, 100, breaks=15), driver=2),)
    edit = both(table("crews", "C1", drivers=2, seats=6), trip_day(WED, legs=legs), setting("travel", wheel_hours=2.5))

    assert Rule.LEG_FEASIBLE not in {b.rule for b in audit_plan(*edit(hand_plan(), hand_round()))}


def test_slots_of_two_stations_share_one_grid():
    second = dataclasses.replace(hand_slot(TUE, 1, "10:00", None, None), station=2)

    def edit(plan):
        s1 = next(s for s in plan.sessions if s.code == "S1")
        stations = (*s1.stations, Station(number=2, crew="C1", director="T2"))
        return dataclasses.replace(
            plan,
            sessions=change(plan.sessions, lambda s: s.code == "S1", stations=stations, slots=(*s1.slots, second)),
        )

    words = [b.words for b in audit_plan(edit(hand_plan()), hand_round()) if b.rule is Rule.SLOT_ORDER]

    assert any("elsewhere that slot is at" in w for w in words)


def test_an_unknown_code_stops_no_other_rule():
    edit = both(seat("T01", "ALFA-A1", person="ALFA-X9"), table("places", "INN", lodging_beds=5), team("T02", number=7))

    rules = {breach.rule for breach in audit_plan(*edit(hand_plan(), hand_round()))}

    assert {Rule.SEAT_AUTHORISED, Rule.TEAM_MINIMUM, Rule.PARTICIPANT_TRAVEL, Rule.TEAM_MIRRORS_HOME} <= rules
