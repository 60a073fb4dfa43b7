"""Variations of the tiny round, each small enough for the brute force; every one turns on another rule or aim."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date

from rounds import (
    ROADS,
    TRAINERS,
    A,
    N,
    P,
    crew,
    day,
    facility,
    hall,
    host,
    person,
    place,
    road,
    settings,
    staff,
    thread,
    tiny_round,
    trainer,
    varied,
)

from roundplan.domain.dates import DaySet
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.person import Absence, Duty, LedgerEntry, Relief
from roundplan.domain.role import DutyKind, Include, OnSiteCover, PlaceKind, Role, Weekend
from roundplan.domain.settings import Settings
from roundplan.domain.supply import Per, Stock
from roundplan.domain.training_round import TrainingRound

ALFA = host("ALFA", 0.3, 0.3, lodging_price=6, lodging_beds=20)
BETA = facility("BETA", 0.3, 0.6)
BOTH = staff("ALFA") + staff("BETA")
VARIANTS: dict[str, Callable[[], TrainingRound]] = {"the base round": tiny_round}


def tiny(**changes: object) -> TrainingRound:
    """Return the base round, cut to Monday and Tuesday unless its settings are changed."""
    return tiny_round(**{"settings": limits()} | changes)


def limits(last: int = 1, **sections: dict[str, object]) -> Settings:
    """Return settings of a round that ends so many days after Monday."""
    window = {"last_day": day(last)} | sections.pop("round", {})
    return settings(round=window, **sections)


def variant(factory: Callable[[], TrainingRound]) -> Callable[[], TrainingRound]:
    """Add a round to the list under its own name."""
    VARIANTS[factory.__name__.replace("_", " ")] = factory
    return factory


def sites(alfa: dict[str, object] | None = None, beta: dict[str, object] | None = None) -> tuple:
    """Return both facilities with some columns changed."""
    return (dataclasses.replace(ALFA, **alfa or {}), dataclasses.replace(BETA, **beta or {}))


@variant
def leave_of_an_anaesthetist() -> TrainingRound:
    return tiny(absences=(Absence(who="ALFA-N1", first=day(0), last=day(3)),))


@variant
def leave_on_two_dates() -> TrainingRound:
    return tiny(
        absences=(Absence(who="ALFA-P2", first=day(0), last=day(0)), Absence(who="BETA-A1", first=day(1), last=day(2)))
    )


@variant
def roster_leaves_one_date() -> TrainingRound:
    rows = [("N1", 0, DutyKind.NIGHT), ("N2", 1, DutyKind.NIGHT), ("N1", 2, DutyKind.NIGHT)]
    duties = tuple(Duty(person=f"BETA-{who}", date=day(n), kind=kind) for who, n, kind in rows)
    return tiny(duties=duties, settings=limits(last=3, teams={"guests": 0}))


@variant
def roster_by_day() -> TrainingRound:
    names = [p.code for p in staff("BETA")]
    off = {(0, "BETA-P1"), (1, "BETA-A2"), (3, "BETA-N2")}
    duties = tuple(
        Duty(person=code, date=day(n), kind=DutyKind.OFF if (n, code) in off else DutyKind.DAY)
        for n in range(4)
        for code in names
    )
    return tiny(duties=duties)


@variant
def a_single_anaesthetist_without_guests() -> TrainingRound:
    return tiny(people=staff("ALFA", "PPAAN") + staff("BETA"), settings=limits(teams={"guests": 0}))


@variant
def a_single_anaesthetist_with_a_guest() -> TrainingRound:
    return tiny(people=staff("ALFA", "PPAAN") + staff("BETA", "PPAANNN"))


@variant
def second_seat_as_a_guest() -> TrainingRound:
    people = staff("ALFA", "PPAAN") + varied(staff("BETA"), "BETA-N1", second_seat=True)
    people = varied(people, "BETA-N2", include=Include.NO)
    return tiny(people=people)


@variant
def staff_on_site_never_cover() -> TrainingRound:
    return tiny(facilities=sites({"on_site_cover": OnSiteCover.NO}), people=staff("ALFA", "PPPAANN") + staff("BETA"))


@variant
def staff_on_site_stop_for_a_patient() -> TrainingRound:
    alfa = {"on_site_cover": OnSiteCover.INTERRUPTIBLE}
    return tiny(facilities=sites(alfa), people=staff("ALFA", "PAN") + staff("BETA"))


@variant
def a_room_far_from_theatre() -> TrainingRound:
    return tiny(
        facilities=sites({"minutes_to_theatre": None, "on_site_cover": OnSiteCover.INTERRUPTIBLE}),
        people=staff("ALFA", "PPAANNN") + staff("BETA"),
    )


@variant
def lodging_before_and_after() -> TrainingRound:
    roads = (ROADS[0], road("BASE", "BETA", 3.0, 150), road("ALFA", "BETA", 2.5, 100))
    people = staff("ALFA") + staff("BETA", "PPPAAANNN")
    return tiny(roads=roads, people=people)


@variant
def lodging_is_held_by_the_run_of_cover() -> TrainingRound:
    roads = (ROADS[0], road("BASE", "BETA", 3.0, 150), road("ALFA", "BETA", 2.5, 100))
    return tiny(roads=roads, people=staff("ALFA") + staff("BETA", "PPPAAANN"))


@variant
def beds_are_few() -> TrainingRound:
    roads = (ROADS[0], road("BASE", "BETA", 3.0, 150), road("ALFA", "BETA", 2.5, 100))
    people = staff("ALFA") + staff("BETA", "PPPAAANNN")
    return tiny(roads=roads, people=people, facilities=sites({"lodging_beds": 2}))


@variant
def a_winter_day() -> TrainingRound:
    north = {"latitude": 55.3}
    window = {"first_day": date(2026, 12, 14), "last_day": date(2026, 12, 17)}
    roads = (road("BASE", "ALFA", 0.75, 40), road("BASE", "BETA", 1.5, 75), road("ALFA", "BETA", 1.0, 50))
    return tiny(
        facilities=sites(north, north),
        places=(place("BASE", 55.0, 0.0),),
        roads=roads,
        settings=limits(round=window, travel={"set_up": 30, "pack_up": 15}),
    )


@variant
def a_language_nobody_else_speaks() -> TrainingRound:
    people = (*TRAINERS[:3], trainer("T4", "an", day_price=40, languages=("en", "fr")))
    return tiny(facilities=sites(None, {"languages": ("fr",)}), trainers=people)


@variant
def a_language_to_be_spoken_on_every_date() -> TrainingRound:
    """T4 alone speaks it, from Tuesday on: a session from Monday would cost less, but have it on Tuesday only."""
    people = (
        trainer("T1", "ds", languages=("fr",)),
        trainer("T2", "a", languages=("fr",)),
        trainer("T4", "", day_price=40, lives_at="ALFA", available_from=day(1)),
    )
    rules = limits(2, session={"days": 2, "days_per_team": 1})
    return tiny(facilities=sites(None, {"teams_wanted": 0}), trainers=people, settings=rules)


@variant
def a_language_not_spoken() -> TrainingRound:
    return tiny(facilities=sites(None, {"languages": ("sw", "en")}))


@variant
def a_road_closed_for_two_dates() -> TrainingRound:
    closed = dataclasses.replace(ROADS[2], closures=((day(0), day(1)),))
    return tiny(roads=(*ROADS[:2], closed), settings=limits(last=2))


@variant
def a_road_closed_throughout() -> TrainingRound:
    closed = dataclasses.replace(ROADS[2], closures=((day(0), day(9)),))
    return tiny(roads=(*ROADS[:2], closed), settings=limits(last=1))


@variant
def a_crossing_with_hours() -> TrainingRound:
    ferry = dataclasses.replace(ROADS[2], open_from=9 * 3600, open_to=15 * 3600)
    return tiny(roads=(*ROADS[:1], ferry))


@variant
def must_people() -> TrainingRound:
    people = varied(varied(BOTH, "ALFA-P2", include=Include.MUST), "ALFA-P1", include=Include.MUST)
    return tiny(people=people, facilities=sites({"teams_wanted": 2}))


@variant
def a_second_seat_makes_no_second_must_person() -> TrainingRound:
    """ALFA-A1 may sit as a guest of BETA as well, which BETA, with assistants of its own, has no need of."""
    people = varied(BOTH, "ALFA-A1", include=Include.MUST, second_seat=True)
    return tiny(people=people, settings=limits(session={"learners_per_station": 3}))


@variant
def must_people_beat_further_teams() -> TrainingRound:
    people = varied(staff("ALFA", "PPAANN") + staff("BETA", "PPAAANN"), "BETA-A1", include=Include.MUST)
    people = varied(varied(people, "BETA-A2", include=Include.MUST), "BETA-A3", include=Include.MUST)
    return tiny(people=people, settings=limits(last=1))


@variant
def trained_too_recently() -> TrainingRound:
    seen = [("ALFA-P1", date(2026, 3, 2)), ("ALFA-P2", date(2025, 11, 30)), ("BETA-N2", date(2025, 12, 3))]
    ledger = tuple(LedgerEntry(person=who, role=P, date=on) for who, on in seen)
    return tiny(ledger=ledger)


@variant
def overdue_training_weighs_more() -> TrainingRound:
    ledger = (LedgerEntry(person="BETA-P1", role=P, date=date(2024, 1, 1)),)
    rules = limits(session={"learners_per_station": 3}, last=0)
    return tiny(ledger=ledger, settings=rules, facilities=sites({"priority": 5}, {"priority": 2}))


@variant
def two_stations() -> TrainingRound:
    return tiny(
        facilities=sites({"stations": 2}),
        settings=limits(session={"learners_per_station": 3, "simulations_per_team": 1}, last=1),
    )


@variant
def a_lone_team_where_two_stations_could_run() -> TrainingRound:
    """Nobody observes it, which counts once; the day is too short to spare the back-to-back pair."""
    window = {"teach_from": 9 * 3600, "teach_to": 9 * 3600 + 110 * 60}
    facilities = sites({"stations": 2}, {"teams_wanted": 0})
    return tiny(facilities=facilities, settings=limits(session=window, last=0, teams={"guests": 0}))


@variant
def two_stations_with_a_demonstration_each() -> TrainingRound:
    """Five slots let each team watch the other without a back-to-back pair; with four all get home sooner."""
    far = (road("BASE", "ALFA", 1.0, 50), road("ALFA", "BETA", 1.5, 30))
    session = {"learners_per_station": 3, "demonstrations": 1, "teach_to": 13 * 3600, "start_every": 30.0}
    return tiny(facilities=sites({"stations": 2}), roads=far, settings=limits(0, session=session))


@variant
def two_stations_in_a_short_day() -> TrainingRound:
    window = {"teach_from": 9 * 3600, "teach_to": 11 * 3600 + 1800, "simulations_per_team": 2}
    facilities = sites({"stations": 2, "on_site_cover": OnSiteCover.INTERRUPTIBLE})
    return tiny(facilities=facilities, settings=limits(session=window, last=0))


@variant
def a_cap_that_asks_for_a_guest_on_site() -> TrainingRound:
    return tiny(settings=limits(prices={"cap": 300}))


@variant
def a_cap_that_costs_burden() -> TrainingRound:
    facilities = (ALFA, host("BETA", 0.3, 0.6, day_price=200))
    rules = limits(prices={"cap": 420, "contingency_percent": 5.0}, last=0)
    return tiny(facilities=facilities, people=staff("ALFA", "PPPAAANNN") + staff("BETA"), settings=rules)


@variant
def two_dates_a_team() -> TrainingRound:
    facilities = sites({"lodging_price": None}, {})
    return tiny(
        facilities=facilities,
        people=staff("ALFA") + staff("BETA", "PPPAAANNN"),
        settings=limits(session={"days": 2, "days_per_team": 2}),
    )


@variant
def two_dates_and_a_second_session() -> TrainingRound:
    facilities = sites({"lodging_price": None, "teams_wanted": 2})
    return tiny(
        facilities=facilities,
        people=staff("ALFA") + staff("BETA"),
        settings=limits(last=3, session={"days": 2, "days_per_team": 2, "learners_per_station": 5}),
    )


@variant
def trainers_with_few_nights() -> TrainingRound:
    far = (road("BASE", "ALFA", 4.0, 200), road("ALFA", "BETA", 0.5, 30))
    return tiny(
        roads=far,
        settings=limits(
            session={"learners_per_station": 3}, last=2, trainers={"nights_limit": 1}, travel={"pack_up": 15}
        ),
    )


@variant
def trainers_with_few_days() -> TrainingRound:
    rules = limits(session={"learners_per_station": 3}, trainers={"days_in_a_row": 1}, last=1)
    return tiny(trainers=TRAINERS[:3], settings=rules)


@variant
def a_trainer_who_lives_at_the_venue() -> TrainingRound:
    far = (road("BASE", "ALFA", 4.0, 200), road("ALFA", "BETA", 0.5, 30))
    people = (*TRAINERS[:1], trainer("T2", "a", day_price=8, lives_at="ALFA"), *TRAINERS[2:])
    return tiny(roads=far, trainers=people, settings=limits(travel={"pack_up": 15}))


@variant
def two_beds_for_the_driver_and_the_trainer_from_afar() -> TrainingRound:
    """T2 lives at ALFA and needs no bed there; T4 could come along but would."""
    far = (road("BASE", "ALFA", 4.0, 200), road("ALFA", "BETA", 0.5, 30))
    people = (*TRAINERS[:1], trainer("T2", "a", day_price=8, lives_at="ALFA"), *TRAINERS[2:])
    rules = limits(travel={"pack_up": 15}, teams={"guests": 0})
    return tiny(roads=far, trainers=people, facilities=sites({"lodging_beds": 2}), settings=rules)


@variant
def trainers_who_go_home_between_two_dates() -> TrainingRound:
    """The crew teaches at ALFA, where T1 and T2 live, on two dates, and can sleep at BETA alone, half an hour away."""
    far = (road("BASE", "ALFA", 4.0, 200), road("ALFA", "BETA", 0.5, 30))
    people = (trainer("T1", "ds", lives_at="ALFA"), trainer("T2", "a", lives_at="ALFA"))
    rules = limits(3, session={"learners_per_station": 3}, travel={"pack_up": 15}, trainers={"nights_limit": 0})
    alone = sites({"lodging_price": None, "lodging_beds": None}, {"lodging_price": 6, "lodging_beds": 1})
    return tiny(roads=far, trainers=people, facilities=alone, settings=rules)


@variant
def trainers_on_some_dates() -> TrainingRound:
    people = varied(varied(TRAINERS, "T2", available_from=day(1)), "T4", available_to=day(0), day_price=30)
    return tiny(trainers=people)


@variant
def further_teams_and_the_run_of_cover() -> TrainingRound:
    return tiny(facilities=sites({"teams_wanted": 2}, {"teams_wanted": 2}), settings=limits(cover={"run": 1}))


@variant
def two_teams_at_home_stay_for_each_other() -> TrainingRound:
    """ALFA might have driven to BETA by night, but trains at home: while one team simulates the other covers."""
    facilities = (dataclasses.replace(ALFA, teams_wanted=2), host("BETA", 0.3, 0.6, teams_wanted=0))
    roads = (*ROADS[:2], road("ALFA", "BETA", 1.0, 30))
    return tiny(facilities=facilities, roads=roads, settings=limits(0, cover={"run": 1, "day_from": 9 * 3600}))


@variant
def days_off_are_used_last() -> TrainingRound:
    people = tuple(dataclasses.replace(p, works_days=frozenset({2, 3})) for p in staff("BETA"))
    people = varied(people, "BETA-P1", works_days=frozenset({3}))
    people = varied(people, "BETA-A1", works_days=frozenset({1, 3}))
    return tiny(people=staff("ALFA") + people, settings=limits(last=3))


@variant
def a_spare_without_a_roster() -> TrainingRound:
    people = staff("ALFA", "PPPAAANNN") + staff("BETA")
    return tiny(people=people, settings=limits(0, cover={"spare_without_roster": 1}))


@variant
def the_referral_site_needs_more() -> TrainingRound:
    people = staff("ALFA", "PPPAANNN") + staff("BETA")
    return tiny(facilities=sites(None, {"refers_to": "ALFA"}), people=people)


@variant
def the_referral_site_is_short() -> TrainingRound:
    return tiny(
        facilities=sites({"on_site_cover": OnSiteCover.NO}, {"refers_to": "ALFA"}),
        people=staff("ALFA", "PPPAANN") + staff("BETA"),
    )


@variant
def a_usual_seat_stays_empty() -> TrainingRound:
    usual = (P, A, N, Role.NEWBORN_CARE)
    return tiny(
        facilities=sites({"usual_team": usual}, {"usual_team": usual}),
        people=staff("ALFA", "PPAANNB") + staff("BETA", "PPAANNBB"),
        settings=limits(teams={"guests": 0}),
    )


@variant
def two_guests_are_half_of_four() -> TrainingRound:
    """ALFA has nobody for two seats of four; with its own two that is no more than half."""
    usual = (P, A, N, Role.NEWBORN_CARE)
    return tiny(
        facilities=sites({"usual_team": usual, "keep_team": (P,)}, {"teams_wanted": 0}),
        people=staff("ALFA", "PPN") + staff("BETA", "PPAANNBB"),
        settings=limits(0, teams={"guests": 2}),
    )


@variant
def a_pooled_team_of_three_facilities() -> TrainingRound:
    """One person each: the team is that of the first by code."""
    alfa, beta = sites({"keep_team": (P,)}, {"keep_team": (A,), "teams_wanted": 0})
    gama = facility("GAMA", 0.6, 0.3, keep_team=(N,), teams_wanted=0)
    return tiny(
        facilities=(alfa, beta, gama),
        people=staff("ALFA", "PP") + staff("BETA", "AA") + staff("GAMA", "NN"),
        roads=(*ROADS, road("ALFA", "GAMA", 0.5, 30)),
        settings=limits(0, teams={"guests_pooled": True}),
    )


@variant
def roles_beside_the_main_one() -> TrainingRound:
    people = (*staff("ALFA", "PPAAN"), person("ALFA-X", "ALFA", A, N), *staff("BETA"))
    return tiny(people=people)


@variant
def locks_pull_apart() -> TrainingRound:
    locks = (
        Lock(do=Do.KEEP, kind=LockKind.VISIT, who="BETA", date=day(1)),
        Lock(do=Do.FORBID, kind=LockKind.VISIT, who="ALFA", date=day(1)),
        Lock(do=Do.FORBID, kind=LockKind.PERSON, who="ALFA-A1"),
        Lock(do=Do.KEEP, kind=LockKind.SEAT, who="BETA-N2", role=N),
    )
    return tiny(locks=locks)


@variant
def stock_and_contingency() -> TrainingRound:
    items = (thread(3), dataclasses.replace(thread(1, Per.WALL), code="FOAM", pack_price=5))
    stock = (Stock(item="THREAD", place="BASE", quantity=7),)
    return tiny(items=items, stock=stock, settings=limits(prices={"contingency_percent": 7.5}))


@variant
def two_venues() -> TrainingRound:
    facilities = (ALFA, host("BETA", 0.3, 0.6, teams_wanted=2))
    return tiny(facilities=facilities, people=staff("ALFA") + staff("BETA", "PPPAAANNN"))


@variant
def a_hall_between() -> TrainingRound:
    facilities = sites({"stations": 0, "session_room": None})
    halls = (place("BASE", 0.0, 0.0), hall("HALL", 0.3, 0.45, day_price=3))
    roads = (*ROADS, road("ALFA", "HALL", 0.25, 15), road("BETA", "HALL", 0.25, 15), road("BASE", "HALL", 1.25, 60))
    return tiny(facilities=facilities, places=halls, roads=roads)


@variant
def the_weekend_at_home() -> TrainingRound:
    far = (road("BASE", "ALFA", 4.0, 200), road("ALFA", "BETA", 0.5, 30))
    return tiny(
        roads=far,
        settings=limits(
            round={"first_day": day(3), "last_day": day(8)},
            trainers={"weekend": Weekend.HOME},
            session={"learners_per_station": 3},
        ),
    )


@variant
def course_days_and_closed_days() -> TrainingRound:
    facilities = sites(
        {"closed_days": DaySet(dates=frozenset({day(0), day(3)}))}, {"course_days": DaySet(frozenset({2}))}
    )
    return tiny(
        facilities=facilities, settings=limits(last=3, round={"closed_days": DaySet(dates=frozenset({day(1)}))})
    )


@variant
def relief_arrives_on_tuesday() -> TrainingRound:
    lent = (Relief(person="ALFA-N3", facility="BETA", first=day(1), last=day(3)),)
    return tiny(people=staff("ALFA", "PPAANNN") + staff("BETA", "PPAAN"), relief=lent)


@variant
def a_crew_with_few_seats() -> TrainingRound:
    facilities = sites({"stations": 2})
    rules = limits(session={"learners_per_station": 3}, last=0)
    return tiny(facilities=facilities, crews=(crew(seats=4),), settings=rules)


@variant
def a_demonstration_and_a_pause() -> TrainingRound:
    session = {"demonstrations": 1, "pause": ((12 * 3600 + 1800, 13 * 3600),), "teach_to": 14 * 3600}
    return tiny(settings=limits(session=session))


@variant
def a_session_date_without_a_team() -> TrainingRound:
    """On Tuesday the ferry home leaves time for opening and closing only; nobody is there to be shown anything."""
    ferry = dataclasses.replace(ROADS[0], open_from=6 * 3600, open_to=10 * 3600 + 1800)
    session = {"days": 2, "days_per_team": 1, "demonstrations": 1}
    return tiny(facilities=sites(None, {"teams_wanted": 0}), roads=(ferry,), settings=limits(session=session))


@variant
def notice_is_short_at_first() -> TrainingRound:
    notice = {"announce_on": day(-27), "plan_date": day(-27), "last_day": day(2)}
    return tiny(settings=limits(round=notice, teams={"notice_on_site": 29}))


@variant
def guests_go_by_the_notice_of_their_team() -> TrainingRound:
    """BETA is told too late for a team of its own, but can lend ALFA, which trains at home, an anaesthetist."""
    notice = {"announce_on": day(-20), "plan_date": day(-20)}
    people = staff("ALFA", "PPAAN") + staff("BETA")
    return tiny(people=people, settings=limits(0, round=notice))


@variant
def two_stores_of_beds() -> TrainingRound:
    inn = place("INN", 0.31, 0.305, PlaceKind.LODGING, lodging_price=2)
    roads = (road("BASE", "ALFA", 4.0, 200), road("ALFA", "BETA", 0.5, 30))
    return tiny(facilities=sites({"lodging_price": None}), places=(place("BASE", 0.0, 0.0), inn), roads=roads)
