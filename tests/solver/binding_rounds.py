"""For each hard rule tiny rounds in which it binds: leaving the rule out gives more coverage."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date

from rounds import ROADS, TRAINERS, A, N, P, crew, day, host, place, road, staff, thread, varied
from tiny_variants import ALFA, limits, sites, tiny

from roundplan.domain.dates import DaySet
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.person import Absence, Duty, LedgerEntry
from roundplan.domain.role import DutyKind, Include, OnSiteCover, Role, SessionRoom
from roundplan.domain.rules import Rule
from roundplan.domain.supply import Stock
from roundplan.domain.training_round import TrainingRound

BINDING: dict[Rule, list[Callable[[], TrainingRound]]] = {}
PLENTY = "PPPAAANNN"


def binds(rule: Rule) -> Callable[[Callable[[], TrainingRound]], Callable[[], TrainingRound]]:
    """Enter a round in the list under the rule that binds in it."""

    def enter(factory: Callable[[], TrainingRound]) -> Callable[[], TrainingRound]:
        BINDING.setdefault(rule, []).append(factory)
        return factory

    return enter


def one_date(**sections: dict[str, object]):  # type: ignore[no-untyped-def]
    """Return settings of a round of Monday alone."""
    return limits(0, **sections)


@binds(Rule.TEAM_MINIMUM)
def no_anaesthetist_at_beta() -> TrainingRound:
    # BETA has no anaesthetist at all (and keeps none), so a team of it can only count with that seat empty.
    facilities = sites(None, {"keep_team": (P, A), "keep_team_night": (P, A)})
    rules = one_date(teams={"guests": 0})
    return tiny(facilities=facilities, people=staff("ALFA") + staff("BETA", "PPAA"), settings=rules)


@binds(Rule.SEAT_AUTHORISED)
def no_surgeon_at_beta() -> TrainingRound:
    # BETA's two assistants to spare could fill the provider's seat if authorisation did not matter.
    facilities = sites(None, {"keep_team": (A, N), "keep_team_night": (A, N)})
    people = staff("ALFA") + staff("BETA", "AAAAANNN")
    return tiny(facilities=facilities, people=people, settings=one_date(teams={"guests": 0}))


@binds(Rule.TEAM_MIRRORS_HOME)
def two_more_roles_than_people() -> TrainingRound:
    # BETA's usual team has scrub and circulating, and nobody for either: two empty seats, one is allowed.
    usual = (P, A, N, Role.SCRUB, Role.CIRCULATING)
    return tiny(facilities=sites(None, {"usual_team": usual}), settings=one_date(teams={"guests": 0}))


@binds(Rule.GUEST_LIMIT)
def two_guests_wanted() -> TrainingRound:
    # BETA has one anaesthetist and one provider who must stay: only a team with two guests of ALFA can be made.
    return tiny(people=staff("ALFA", "PPPPAAANNNN") + staff("BETA", "PAAN"), settings=one_date())


@binds(Rule.ONCE_ONLY)
def a_second_team_of_the_same_people() -> TrainingRound:
    # Only one anaesthetist of BETA may be seated, so its second team on another date needs the same one again.
    people = varied(staff("BETA"), "BETA-N2", include=Include.NO)
    facilities = sites({"teams_wanted": 0}, {"teams_wanted": 2})
    people = staff("ALFA") + people
    return tiny(facilities=facilities, people=people, settings=limits(3, teams={"guests": 0}))


@binds(Rule.ONCE_ONLY)
def trained_three_months_ago() -> TrainingRound:
    # Everybody who could give anaesthetics in BETA's team was trained in March; six months must pass.
    ledger = tuple(LedgerEntry(person=f"BETA-N{n}", role=N, date=date(2026, 3, 2)) for n in (1, 2))
    return tiny(ledger=ledger, settings=one_date(teams={"guests": 0}))


@binds(Rule.INCLUDE)
def the_spare_anaesthetist_is_marked_no() -> TrainingRound:
    # One anaesthetist of BETA cannot cover and the other is marked 'no': only the latter could be released.
    people = varied(staff("BETA"), "BETA-N1", include=Include.NO)
    people = varied(people, "BETA-N2", include=Include.NO)
    return tiny(people=staff("ALFA") + people, settings=one_date(teams={"guests": 0}))


@binds(Rule.STAFF_AVAILABLE)
def three_on_leave() -> TrainingRound:
    # BETA's third anaesthetist is on leave; the two others are marked 'no', so only the one on leave could sit.
    people = varied(varied(staff("BETA", PLENTY), "BETA-N1", include=Include.NO), "BETA-N2", include=Include.NO)
    leave = (Absence(who="BETA-N3", first=day(0), last=day(0)),)
    return tiny(people=staff("ALFA") + people, absences=leave, settings=one_date(teams={"guests": 0}))


@binds(Rule.STAFF_AVAILABLE)
def night_duty_on_the_eve() -> TrainingRound:
    # BETA's only provider who may be seated had the night before the one date.
    people = varied(varied(staff("BETA", PLENTY), "BETA-P1", include=Include.NO), "BETA-P2", include=Include.NO)
    eve = (Duty(person="BETA-P3", date=day(-1), kind=DutyKind.NIGHT),)
    return tiny(people=staff("ALFA") + people, duties=eve, settings=one_date(teams={"guests": 0}))


@binds(Rule.NOTICE)
def announced_twenty_days_ahead() -> TrainingRound:
    # Twenty days are enough for ALFA at home (14), not for BETA away from home (28).
    return tiny(settings=one_date(round={"announce_on": day(-20), "plan_date": day(-20)}, teams={"guests": 0}))


@binds(Rule.COVER_KEPT)
def a_lone_anaesthetist() -> TrainingRound:
    # BETA has one anaesthetist: a team of its own leaves nobody to give anaesthetics.
    people = staff("ALFA") + staff("BETA", "PPAAN")
    return tiny(people=people, settings=one_date(teams={"guests": 0}))


@binds(Rule.COVER_ON_SITE)
def seated_at_home_without_others() -> TrainingRound:
    # ALFA's only anaesthetist would be seated at home, and nobody who is not seated could fill the keep-team.
    people = staff("ALFA", "PPAAN") + staff("BETA")
    return tiny(people=people, settings=one_date(teams={"guests": 0}))


@binds(Rule.COVER_RUN)
def one_left_for_three_shifts() -> TrainingRound:
    # A night before and after: of two people a role the one who stays would be named for five shifts in a row.
    roads = (ROADS[0], road("BASE", "BETA", 3.0, 150), road("ALFA", "BETA", 2.5, 100))
    return tiny(roads=roads, settings=limits(1, teams={"guests": 0}))


@binds(Rule.COVER_REFERRAL)
def the_referral_site_has_two_a_role() -> TrainingRound:
    # ALFA takes BETA's emergencies with two anaesthetists and providers; its own team, not counted while it trains,
    # leaves one of each, so the two teams cannot be away on the same date.
    facilities = sites({"on_site_cover": OnSiteCover.NO}, {"refers_to": "ALFA"})
    return tiny(facilities=facilities, settings=one_date(teams={"guests": 0}))


@binds(Rule.ROSTER_KNOWN)
def a_spare_is_asked_for() -> TrainingRound:
    # No roster is entered, so two a role must stay at BETA; it has two in all.
    return tiny(
        people=staff("ALFA", PLENTY) + staff("BETA"),
        settings=one_date(cover={"spare_without_roster": 1}, teams={"guests": 0}),
    )


@binds(Rule.VENUE_CAPACITY)
def three_learners_a_station() -> TrainingRound:
    # On one date the one station takes three learners, so one of the two teams.
    return tiny(settings=one_date(session={"learners_per_station": 3}))


@binds(Rule.VENUE_OPEN)
def the_only_date_is_closed() -> TrainingRound:
    # Each facility could come on the other date of two, but the round is closed on Monday and holds three learners.
    return tiny(
        settings=limits(
            1, round={"closed_days": DaySet(dates=frozenset({day(0)}))}, session={"learners_per_station": 3}
        )
    )


@binds(Rule.THEATRE_FREE)
def a_nearer_theatre() -> TrainingRound:
    # BETA has a session room in its only theatre; ALFA has a spare room which BETA's people cannot reach.
    facilities = (
        dataclasses.replace(ALFA, lodging_price=None),
        host("BETA", 0.3, 0.6, session_room=SessionRoom.ONLY_THEATRE),
    )
    roads = (ROADS[0], ROADS[1], road("ALFA", "BETA", 2.5, 100))
    return tiny(facilities=facilities, roads=roads, settings=limits(1, teams={"guests": 0}))


@binds(Rule.DAY_FITS)
def a_window_for_one_team() -> TrainingRound:
    # 150 minutes hold three slots (20 + 3 × 40 + 10), two teams need four and a reserve.
    return tiny(settings=one_date(session={"teach_from": 9 * 3600, "teach_to": 11 * 3600 + 1800}))


@binds(Rule.SLOT_ORDER)
def more_simulations_than_slots() -> TrainingRound:
    # The same 150 minutes: two teams fit only if slots overlap.
    return tiny(settings=one_date(session={"teach_from": 9 * 3600, "teach_to": 11 * 3600 + 1800, "reserve_slots": 0}))


@binds(Rule.SIMULATIONS_PER_TEAM)
def no_time_for_all_simulations() -> TrainingRound:
    # 190 minutes hold four slots: with one simulation each two teams and a reserve fit, with two each they do not.
    return tiny(settings=one_date(session={"teach_from": 8 * 3600 + 1800, "teach_to": 11 * 3600 + 2400}))


@binds(Rule.CREW_STAFFED)
def nobody_leads_newborn_care() -> TrainingRound:
    # BETA's usual team has newborn care and no trainer leads it.
    facilities = sites(None, {"usual_team": (P, A, N, Role.NEWBORN_CARE)})
    people = staff("ALFA") + staff("BETA", "PPAANNBB")
    trainers = tuple(dataclasses.replace(t, leads=t.leads - {"newborn care"}) for t in TRAINERS)
    return tiny(facilities=facilities, people=people, trainers=trainers, settings=one_date(teams={"guests": 0}))


@binds(Rule.DAYLIGHT)
def a_midwinter_evening() -> TrainingRound:
    # At 60 degrees north in December the sun is up for six hours: BETA's people cannot get home in it.
    north = {"latitude": 60.0, "lodging_price": None}
    window = {"first_day": date(2026, 12, 14), "last_day": date(2026, 12, 14)}
    return tiny(
        facilities=sites(north, north),
        places=(place("BASE", 60.0, 0.29),),
        roads=(road("BASE", "ALFA", 0.2, 5), road("ALFA", "BETA", 1.9, 100)),
        settings=limits(round=window),
    )


@binds(Rule.PARTICIPANT_TRAVEL)
def two_hours_and_a_half() -> TrainingRound:
    # BETA is past the day limit of two hours and there are no beds at ALFA.
    facilities = sites({"lodging_price": None})
    roads = (ROADS[0], road("BASE", "BETA", 3.0, 150), road("ALFA", "BETA", 2.5, 100))
    return tiny(facilities=facilities, roads=roads, settings=one_date())


@binds(Rule.CREW_IN_ONE_PLACE)
def two_venues_far_apart() -> TrainingRound:
    # Two hosts without beds, each for its own people only, ten hours apart; the crew reaches just one of them.
    facilities = (dataclasses.replace(ALFA, lodging_price=None), host("BETA", 0.3, 4.0))
    roads = (ROADS[0], road("BASE", "BETA", 10.0, 400), road("ALFA", "BETA", 10.0, 400))
    return tiny(facilities=facilities, roads=roads, settings=limits(1))


@binds(Rule.LEG_FEASIBLE)
def nine_hours_at_the_wheel() -> TrainingRound:
    # ALFA lies four and a half hours away without beds: nine hours at the wheel there and back, eight are allowed.
    facilities = (dataclasses.replace(ALFA, lodging_price=None), host("BETA", 0.3, 0.6))
    roads = (road("BASE", "ALFA", 4.5, 200), road("BASE", "BETA", 1.5, 75), road("ALFA", "BETA", 6.0, 300))
    rules = limits(1, session={"teach_to": 13 * 3600}, travel={"daylight": False})
    return tiny(facilities=facilities, roads=roads, settings=rules)


@binds(Rule.LEG_FEASIBLE)
def no_time_to_set_up() -> TrainingRound:
    # Sunrise is at 05:54 and the base two hours away: with an hour to set up no session starts before 08:55. Two teams
    # need 20 + 5 × 40 + 10 minutes and 30 for lunch, 260 in all, so they end at 13:15; the window ends at 12:50.
    session = {"teach_to": 12 * 3600 + 3000}
    return tiny(roads=(road("BASE", "ALFA", 2.0, 100), ROADS[2]), settings=one_date(session=session))


@binds(Rule.ROAD_OPEN)
def a_bridge_is_out() -> TrainingRound:
    # The only road between BETA and ALFA is closed.
    closed = dataclasses.replace(ROADS[2], closures=((day(0), day(0)),))
    return tiny(roads=(ROADS[0], closed), settings=one_date())


@binds(Rule.ROAD_OPEN)
def a_ferry_from_ten_to_two() -> TrainingRound:
    # BETA's people cross from 10:00 to 14:00 only: three hours at ALFA; two teams need 60 + 5 × 40 + 10 minutes there.
    ferry = dataclasses.replace(ROADS[2], open_from=10 * 3600, open_to=14 * 3600)
    return tiny(roads=(ROADS[0], ferry), settings=one_date(session={"opening": 60}))


@binds(Rule.TRAINER_LIMITS)
def one_working_day_in_a_row() -> TrainingRound:
    # Two dates of one team each need the same two trainers on consecutive days.
    rules = limits(1, session={"learners_per_station": 3}, trainers={"days_in_a_row": 1})
    return tiny(trainers=TRAINERS[:2], settings=rules)


@binds(Rule.TRAINER_LIMITS)
def no_night_away() -> TrainingRound:
    # ALFA is five hours from the base: nobody gets there and back on one date, and no trainer may sleep out.
    facilities = (ALFA, host("BETA", 0.3, 0.6, lodging_price=None))
    roads = (road("BASE", "ALFA", 5.0, 250), road("BASE", "BETA", 1.5, 75), road("ALFA", "BETA", 6.0, 300))
    return tiny(facilities=facilities, roads=roads, settings=limits(2, trainers={"nights_limit": 0}))


@binds(Rule.VEHICLE_LOAD)
def two_seats() -> TrainingRound:
    # One passenger seat beside the driver's, and a session needs two trainers of the base.
    return tiny(crews=(crew(seats=3),), facilities=sites({"stations": 2}), settings=tight_stations())


def tight_stations():  # type: ignore[no-untyped-def]
    """Return settings by which two teams need two stations on the one date."""
    return one_date(session={"learners_per_station": 3})


@binds(Rule.VEHICLE_LOAD)
def a_light_vehicle() -> TrainingRound:
    # Five people of 90 kg are 450 kg; of 500 kg a fifth stays free, so 400 kg may be carried: three and the driver.
    return tiny(crews=(crew(payload_kg=500.0),), facilities=sites({"stations": 2}), settings=tight_stations())


@binds(Rule.KIT_ENOUGH)
def one_box_model() -> TrainingRound:
    # Two stations would take both teams on the one date; the crew has one box model.
    return tiny(crews=(crew(box_models=1),), facilities=sites({"stations": 2}), settings=tight_stations())


@binds(Rule.KIT_ENOUGH)
def thread_cannot_be_bought() -> TrainingRound:
    # Three pieces lie at the base and no more can be had: a team needs two, two teams need four.
    item = thread(pack_price=None, lead_days=None)
    return tiny(items=(item,), stock=(Stock(item="THREAD", place="BASE", quantity=3),), settings=one_date())


@binds(Rule.BUDGET_CAP)
def three_hundred() -> TrainingRound:
    # ALFA's team alone costs 160, both teams 359, with a guest 296.
    return tiny(settings=one_date(prices={"cap": 280}))


@binds(Rule.LOCKS)
def beta_is_forbidden() -> TrainingRound:
    # Without the lock BETA's team counts three points more.
    return tiny(locks=(Lock(do=Do.FORBID, kind=LockKind.FACILITY, who="BETA"),), settings=one_date())
