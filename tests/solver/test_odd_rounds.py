"""Rounds as a careless or hostile user would enter them: each gives a plan that the audit passes, or says why not."""

from __future__ import annotations

import dataclasses
from datetime import date
from itertools import combinations
from typing import Any

import pytest
from rounds import CASES, ROADS, TRAINERS, A, N, P, crew, day, facility, hall, host, person, place, road, staff, thread
from tiny_variants import ALFA, BETA, BOTH, limits, sites, tiny

from roundplan.audit import audit_plan, measure
from roundplan.domain.dates import DaySet
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.outcome import ProvenImpossible
from roundplan.domain.person import Absence, Duty, Relief
from roundplan.domain.role import DutyKind, Include, OnSiteCover, Role, SessionRoom, Weekend
from roundplan.domain.rules import AIMS, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.workflow import make_plan

SECONDS = 5
PLENTY = staff("ALFA", "PPPAAANNN") + staff("BETA", "PPPAAANNN")
FOUR = staff("ALFA", "PPPPAAAANNNN") + staff("BETA", "PPPPAAAANNNN")
CODES = [p.code for p in FOUR]
WINTER = date(2026, 12, 21)
FAR_ROADS = (road("BASE", "ALFA", 1.0, 50), road("ALFA", "BETA", 3.0, 150))
HOUR = 3600


def north(latitude: float, last_day: date = WINTER, **settings: Any) -> dict[str, Any]:
    """Return a round near midwinter at a latitude; sites lie 0.3 degrees of longitude apart."""
    window = {"first_day": WINTER, "last_day": last_day, "time_zone": "Europe/Oslo"}
    return {
        "facilities": (
            host("ALFA", latitude, 15.3, lodging_price=6, lodging_beds=20),
            facility("BETA", latitude, 15.6),
        ),
        "places": (place("BASE", latitude, 15.0),),
        "settings": limits(round=window, **settings),
    }


def roster(*kinds: DutyKind) -> tuple[Duty, ...]:
    """Return a roster of everybody, the kinds taken in turn from person to person and date to date."""
    return tuple(
        Duty(person=code, date=day(n), kind=kinds[(who + n) % len(kinds)])
        for who, code in enumerate(CODES)
        for n in range(-1, 4)
    )


def lodged(people: str, **cover: Any) -> dict[str, Any]:
    """Return a round in which BETA lodges before and after: five touched shifts in a row."""
    return {
        "roads": FAR_ROADS,
        "people": staff("ALFA") + staff("BETA", people),
        "settings": limits(2, cover=cover),
    }


def lock(do: Do, kind: LockKind, **more: Any) -> dict[str, Any]:
    return {"locks": (Lock(do=do, kind=kind, **more),)}


PLANNED: dict[str, tuple[int, dict[str, Any]]] = {
    "one facility, its own venue": (1, {"facilities": (ALFA,), "people": staff("ALFA"), "roads": ()}),
    "a host that wants no team": (1, {"facilities": sites({"teams_wanted": 0})}),
    "no cases, no items, no roads": (2, {"cases": (), "items": (), "roads": ()}),
    "two dates, a team on one": (2, {"settings": limits(1, session={"days": 2, "days_per_team": 1})}),
    "two dates, a team on both": (
        2,
        {"people": PLENTY, "settings": limits(1, session={"days": 2, "days_per_team": 2})},
    ),
    "a demonstration": (2, {"settings": limits(session={"demonstrations": 1})}),
    "one simulation": (2, {"settings": limits(0, session={"simulations_per_team": 1})}),
    "three simulations": (2, {"settings": limits(0, session={"simulations_per_team": 3}), "cases": CASES[:3]}),
    "four simulations": (2, {"settings": limits(0, session={"simulations_per_team": 4})}),
    "pauses for prayer": (
        2,
        {"settings": limits(session={"pause": ((45000, 13 * HOUR), (15 * HOUR, 15 * HOUR + 1200))})},
    ),
    "no reserve slot": (2, {"settings": limits(session={"reserve_slots": 0})}),
    "no guests": (1, {"people": staff("ALFA", "PPAAN") + staff("BETA"), "settings": limits(teams={"guests": 0})}),
    "two guests": (
        2,
        {"people": staff("ALFA", "PPAAN") + staff("BETA", "PPAANNN"), "settings": limits(0, teams={"guests": 2})},
    ),
    "pooled teams": (
        2,
        {
            "people": staff("ALFA", "PPA") + staff("BETA", "AANNN"),
            "facilities": sites(*2 * [{"keep_team": (), "keep_team_night": ()}]),
            "settings": limits(0, teams={"guests": 99, "guests_pooled": True}),
        },
    ),
    "Saturday and Sunday worked": (
        2,
        {"settings": limits(round={"first_day": day(5), "last_day": day(6), "working_days": frozenset({5, 6})})},
    ),
    "weekend at home": (
        2,
        {"settings": limits(round={"first_day": day(4), "last_day": day(7)}, trainers={"weekend": Weekend.HOME})},
    ),
    "weekend away": (
        2,
        {"settings": limits(round={"first_day": day(4), "last_day": day(7)}, trainers={"weekend": Weekend.AWAY})},
    ),
    "a country with holidays": (2, {"settings": limits(round={"country": "GB"})}),
    "polar day": (
        2,
        north(78.0) | {"settings": limits(round={"time_zone": "Europe/Oslo"})},
    ),
    "polar night, driving in the dark allowed": (2, north(78.0, travel={"daylight": False})),
    "five hours of daylight, the crew lodges": (2, north(64.0, last_day=date(2026, 12, 24))),
    "a crossing": (
        2,
        {"roads": (road("BASE", "ALFA", 1.0, 50, open_from=7 * HOUR, open_to=10 * HOUR), *ROADS[1:])},
    ),
    "one way round": (
        2,
        {"roads": (road("BASE", "ALFA", 1.0, 50, oneway=True), ROADS[2], road("BETA", "BASE", 1.5, 75, oneway=True))},
    ),
    "a crew based at the venue": (
        2,
        {"crews": (crew(base="ALFA"),), "trainers": tuple(dataclasses.replace(t, lives_at="ALFA") for t in TRAINERS)},
    ),
    "a crew based at the other facility": (
        2,
        {"crews": (crew(base="BETA"),), "trainers": tuple(dataclasses.replace(t, lives_at="BETA") for t in TRAINERS)},
    ),
    "trainers who are staff": (
        2,
        {
            "people": PLENTY,
            "trainers": (
                dataclasses.replace(TRAINERS[0], person="ALFA-P3", lives_at="ALFA"),
                dataclasses.replace(TRAINERS[1], person="BETA-N3", lives_at="BETA"),
                *TRAINERS[2:],
            ),
        },
    ),
    "a second seat for everybody": (
        2,
        {"people": tuple(dataclasses.replace(p, second_seat=True) for p in PLENTY), "settings": limits(0)},
    ),
    "learners never cover": (
        1,
        {"people": staff("ALFA") + tuple(dataclasses.replace(p, learner=True, cover_roles=()) for p in staff("BETA"))},
    ),
    "everybody of one facility lent": (
        1,
        {"relief": tuple(Relief(person=p.code, facility="ALFA", first=day(0), last=day(3)) for p in staff("BETA"))},
    ),
    "lent to the own facility": (
        2,
        {"relief": (Relief(person="BETA-N1", facility="BETA", first=day(0), last=day(3)),)},
    ),
    "a roster everywhere": (
        2,
        {
            "people": FOUR,
            "duties": roster(DutyKind.DAY, DutyKind.NIGHT, DutyKind.OFF, DutyKind.DAY),
            "settings": limits(2),
        },
    ),
    "all on call": (2, {"people": FOUR, "duties": roster(DutyKind.ON_CALL), "settings": limits(0)}),
    "day duty and off at once": (
        2,
        {"people": FOUR, "duties": roster(DutyKind.DAY) + roster(DutyKind.OFF), "settings": limits(0)},
    ),
    "two nights away, a run of one": (1, lodged("PPAANN", run=1)),
    "two nights away, a run of one, three a role": (2, lodged("PPPAAANNN", run=1)),
    "two nights away, a run of five": (2, lodged("PPAANN", run=5)),
    "a spare without roster": (2, {"people": PLENTY, "settings": limits(0, cover={"spare_without_roster": 1})}),
    "on site, no cover": (2, {"facilities": sites({"on_site_cover": OnSiteCover.NO}), "settings": limits(0)}),
    "on site, interruptible": (
        2,
        {"facilities": sites({"on_site_cover": OnSiteCover.INTERRUPTIBLE}), "settings": limits(0)},
    ),
    "on site, a room too far": (
        2,
        {"facilities": sites({"on_site_cover": OnSiteCover.INTERRUPTIBLE, "minutes_to_theatre": 9})},
    ),
    "notice for a session at home alone": (
        1,
        {"settings": limits(round={"announce_on": day(-15), "plan_date": day(-15)})},
    ),
    "a floor that holds": (2, {"settings": limits(0, aims={"floor_per_district": 1})}),
    "a cap with contingency": (2, {"settings": limits(0, prices={"cap": 400, "contingency_percent": 7.5})}),
    "give up burden for cost": (2, {"settings": limits(0, aims={"give_up": {"burden": 0.5}})}),
    "give up half of the first teams, which gains nothing": (
        2,
        {"settings": limits(0, aims={"give_up": {"first teams": 0.5}})},
    ),
    "short sessions": (2, {"settings": limits(0, session={"short_sessions": True})}),
    "everybody is named": (2, {"people": tuple(dataclasses.replace(p, include=Include.MUST) for p in BOTH)}),
    "everybody can do everything": (
        2,
        {
            "people": tuple(person(f"{home}-{n}", home, P, A, N) for home in ("ALFA", "BETA") for n in range(6)),
            "settings": limits(0),
        },
    ),
    "two drivers": (2, {"crews": (crew(drivers=2),)}),
    "the crew is away on Monday": (2, {"absences": (Absence(who="CREW", first=day(0), last=day(0)),)}),
    "facilities on one spot": (2, {"facilities": (ALFA, facility("BETA", 0.3, 0.301)), "roads": ROADS[:1]}),
    "a hall and no other venue": (
        2,
        {
            "facilities": sites({"stations": 0, "session_room": None}),
            "places": (place("BASE", 0.0, 0.0), hall("HALL", 0.3, 0.45)),
            "roads": (),
        },
    ),
    "keep a seat": (2, lock(Do.KEEP, LockKind.SEAT, who="BETA-P1", role=P, date=day(1), place="ALFA")),
    "keep a visit": (2, lock(Do.KEEP, LockKind.VISIT, who="BETA", date=day(1), place="ALFA")),
    "keep a session": (2, lock(Do.KEEP, LockKind.SESSION, place="ALFA", crew="CREW", date=day(1))),
    "keep a trainer": (2, lock(Do.KEEP, LockKind.PERSON, who="T4")),
    "forbid a seat": (2, lock(Do.FORBID, LockKind.SEAT, who="BETA-P1", place="ALFA")),
    "forbid a date": (2, lock(Do.FORBID, LockKind.SESSION, date=day(1))),
    "forbid a person": (2, lock(Do.FORBID, LockKind.PERSON, who="BETA-P2")),
    "forbid a trainer on a date": (2, lock(Do.FORBID, LockKind.PERSON, who="T1", date=day(0))),
    "forbid a facility": (1, lock(Do.FORBID, LockKind.FACILITY, who="BETA")),
}


@pytest.mark.parametrize(("teams", "tables"), PLANNED.values(), ids=PLANNED.keys())
def test_a_plan_that_holds(teams: int, tables: dict[str, Any]) -> None:
    training_round = tiny(**tables)
    plan = make_plan(training_round, seconds=SECONDS, seed=1, workers=1)
    assert audit_plan(plan, training_round) == ()
    assert len(plan.teams) == teams, plan.reasons
    wanted = sum(f.teams_wanted for f in training_round.facilities)
    assert bool(plan.reasons) == (teams < wanted or any(p.include is Include.MUST for p in training_round.people))
    measured = measure(plan, training_round)
    assert {tier.aim: tier.value for tier in plan.tiers} == measured
    for definition, tier in zip(AIMS, plan.tiers, strict=True):
        if tier.bound is not None:
            assert tier.bound >= tier.value if definition.maximise else tier.bound <= tier.value


def closed(**settings: Any) -> dict[str, Any]:
    return {"settings": limits(0, **settings)}


IMPOSSIBLE: dict[str, tuple[set[str], dict[str, Any]]] = {
    "nothing at all": (
        {"facilities"},
        dict.fromkeys(("facilities", "people", "trainers", "crews", "roads", "items", "cases", "places"), ()),
    ),
    "no team wanted": ({"facilities"}, {"facilities": sites({"teams_wanted": 0}, {"teams_wanted": 0})}),
    "no people": ({"ALFA", "BETA"}, {"people": ()}),
    "no trainers": ({"ALFA", "BETA"}, {"trainers": ()}),
    "no venues": ({"ALFA", "BETA"}, {"facilities": sites({"stations": 0, "session_room": None})}),
    "the only theatre": ({"ALFA", "BETA"}, {"facilities": sites({"session_room": SessionRoom.ONLY_THEATRE})}),
    "nobody may train": ({"ALFA", "BETA"}, {"people": tuple(dataclasses.replace(p, include=Include.NO) for p in BOTH)}),
    "all are off": ({"ALFA", "BETA"}, {"people": FOUR, "duties": roster(DutyKind.OFF)}),
    "no shift may be covered": ({"ALFA", "BETA"}, closed(cover={"run": 0})),
    "a spare that nobody is": ({"ALFA", "BETA"}, closed(cover={"spare_without_roster": 1})),
    "all closed": ({"ALFA", "BETA"}, closed(round={"closed_days": DaySet(stretches=((day(0), day(3)),))})),
    "no date leaves notice": ({"ALFA", "BETA"}, closed(round={"announce_on": day(0), "plan_date": day(0)})),
    "three dates in a round of one": ({"ALFA", "BETA"}, closed(session={"days": 3})),
    "a floor too high": ({"floor_per_district"}, closed(aims={"floor_per_district": 3})),
    "a floor in a district without staff": (
        {"floor_per_district"},
        {
            "facilities": (ALFA, dataclasses.replace(BETA, district="Far")),
            "people": staff("ALFA"),
            "settings": limits(0, aims={"floor_per_district": 1}),
        },
    ),
    "keep a date outside the round": ({"ALFA"}, lock(Do.KEEP, LockKind.SESSION, place="ALFA", date=day(20))),
    "keep a session at no venue": ({"BETA"}, lock(Do.KEEP, LockKind.SESSION, place="BETA")),
}


@pytest.mark.parametrize(("who", "tables"), IMPOSSIBLE.values(), ids=IMPOSSIBLE.keys())
def test_no_plan_and_the_reason(who: set[str], tables: dict[str, Any]) -> None:
    with pytest.raises(ProvenImpossible) as caught:
        make_plan(tiny(**tables), seconds=SECONDS, seed=1, workers=1)
    assert who & {reason.who for reason in caught.value.reasons} or {r.rule for r in caught.value.reasons} - {None}
    named = {reason.who for reason in caught.value.reasons} - {rule.value for rule in Rule}
    assert named <= who
    assert all(reason.words for reason in caught.value.reasons)


NO_TEAM_LEFT: dict[str, dict[str, Any]] = {
    "no crews": {"crews": ()},
    "a cap too low": closed(prices={"cap": 10}),
    "no box models": {"crews": (crew(box_models=0),)},
    "a vehicle for the driver alone": {"crews": (crew(seats=1),)},
    "polar night": north(78.0),
    "every session forbidden": lock(Do.FORBID, LockKind.SESSION, place="ALFA"),
    "nothing to be bought": {"items": (thread(pack_price=None, lead_days=None),), "settings": limits(0)},
}


@pytest.mark.parametrize("tables", NO_TEAM_LEFT.values(), ids=NO_TEAM_LEFT.keys())
def test_no_team_is_possible_and_something_is_said(tables: dict[str, Any]) -> None:
    with pytest.raises(ProvenImpossible) as caught:
        make_plan(tiny(**tables), seconds=2 * SECONDS, seed=1, workers=1)
    assert caught.value.reasons
    assert all(reason.words for reason in caught.value.reasons)


HARMLESS = Lock(do=Do.KEEP, kind=LockKind.FACILITY, who="ALFA")
PAIRS: dict[str, dict[str, Any]] = {
    "seat": {"kind": LockKind.SEAT, "who": "BETA-P1"},
    "session": {"kind": LockKind.SESSION, "place": "ALFA"},
    "visit": {"kind": LockKind.VISIT, "who": "BETA", "date": day(0)},
    "person": {"kind": LockKind.PERSON, "who": "BETA-P2"},
    "trainer": {"kind": LockKind.PERSON, "who": "T4"},
    "facility": {"kind": LockKind.FACILITY, "who": "BETA"},
}


def clashing(kind: str) -> tuple[Lock, ...]:
    pair = tuple(Lock(do=do, why=f"why {do}", **PAIRS[kind]) for do in (Do.KEEP, Do.FORBID))
    # Where ALFA must have a team, forbidding its venue alone is a contradiction: the harmless lock is left out there.
    return pair if kind == "session" else (HARMLESS, *pair)


def possible(training_round: TrainingRound) -> bool:
    try:
        return bool(make_plan(training_round, seconds=SECONDS, seed=1, workers=1).teams)
    except ProvenImpossible:
        return False


@pytest.mark.parametrize("kind", PAIRS)
def test_keep_and_forbid_contradict_each_other_and_no_third_lock_is_named(kind: str) -> None:
    locks = clashing(kind)
    with pytest.raises(ProvenImpossible) as caught:
        make_plan(tiny(locks=locks, settings=limits(0)), seconds=SECONDS, seed=1, workers=1)
    words = [reason.words for reason in caught.value.reasons]
    assert len(words) == 2
    assert [f"why {do}" in text for do, text in zip((Do.KEEP, Do.FORBID), words, strict=True)] == [True, True]


def test_a_set_of_reasons_cannot_be_reduced() -> None:
    """Two visits of BETA, which wants one team, and one lock more: any two of the three can be kept."""
    locks = (
        Lock(do=Do.KEEP, kind=LockKind.VISIT, who="BETA", date=day(0), why="one"),
        Lock(do=Do.KEEP, kind=LockKind.VISIT, who="BETA", date=day(1), why="two"),
        HARMLESS,
    )
    with pytest.raises(ProvenImpossible) as caught:
        make_plan(tiny(locks=locks), seconds=SECONDS, seed=1, workers=1)
    assert [reason.who for reason in caught.value.reasons] == ["BETA", "BETA"]
    assert all(possible(tiny(locks=two)) for two in combinations(locks, 2) if two != locks[:2])


def test_a_newborn_seat_without_its_lead_names_the_facility() -> None:
    usual = (P, A, N, Role.NEWBORN_CARE)
    people = staff("ALFA") + staff("BETA", "PPAANNBB")
    leaders = tuple(t for t in TRAINERS if t.code in ("T1", "T2"))
    plan = make_plan(
        tiny(facilities=sites(None, {"usual_team": usual}), people=people, trainers=leaders), seconds=SECONDS, workers=1
    )
    assert [(reason.who, "newborn" in reason.words) for reason in plan.reasons] == [("BETA", True)]
