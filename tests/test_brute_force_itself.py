"""The brute force, checked against rounds that are worked by hand; the arithmetic stands beside each figure."""

from __future__ import annotations

import dataclasses

import pytest
from brute_facts import Facts, NotCovered, day_end
from brute_force import BruteForce, best_plan
from brute_people import matches
from rounds import ROADS, TRAINERS, A, N, P, crew, day, facility, host, road, settings, staff, tiny_round, trainer

from roundplan.domain.role import Role, Shift
from roundplan.domain.rules import Aim
from roundplan.domain.training_round import TrainingRound

MONDAY_ONLY = settings(round={"last_day": day(0)})


def values(training_round: TrainingRound) -> list[int]:
    """Return the six tier values."""
    best = best_plan(training_round)
    assert best is not None
    return [best.values[aim] for aim in Aim]


def test_both_teams_on_one_date() -> None:
    # Both facilities count 3. Each team watches the other, two simulations each in turn: realism 0.
    # Burden: three people of BETA away 3 × 480 = 1440, on the road 3 × 2 × 30 min = 180; BETA keeps one a role in the
    # day shift, 960. ALFA trains on site and nobody is away. They leave after 08:00, so no night is touched. 2580.
    # Cost: legs 2 × 50 = 100; crew day 7 + driver 2; trainers T1 10 + T2 8; allowances 3 × 3 = 9; fares
    # 3 × 2 × 30 = 180; venue 20; lunches 6 + 2 + 1 = 9; thread 4 × 2 = 8; printing 6. In all
    # 100 + 9 + 18 + 9 + 180 + 20 + 9 + 8 + 6 = 359.
    assert values(tiny_round()) == [6, 0, 0, 0, 2580, 359]


def test_one_team_alone() -> None:
    # BETA wants no team. ALFA alone: nobody observes it, 2; an empty slot between its two simulations spares the pair.
    # Cost: 100 + 9 + 18; no travel; venue 20; lunches 3 + 2 + 1; thread 2 × 2; printing 3: 160.
    alone = tiny_round(facilities=(tiny_round().facilities[0], facility("BETA", 0.3, 0.6, teams_wanted=0)))
    assert values(alone) == [3, 0, 0, 2, 0, 160]


def test_back_to_back_where_the_day_is_short() -> None:
    # 110 minutes hold 20 + 2 × 40 + 10: no empty slot, so one pair more: 2 + 1.
    short = settings(round={"last_day": day(0)}, session={"teach_from": 9 * 3600, "teach_to": 9 * 3600 + 110 * 60})
    alone = tiny_round(
        facilities=(tiny_round().facilities[0], facility("BETA", 0.3, 0.6, teams_wanted=0)), settings=short
    )
    assert values(alone) == [3, 0, 0, 3, 0, 160]


def test_lodging_before_and_after() -> None:
    # BETA is 2.5 hours away (one break of 15 min): over the day limit, so the eve and the morrow are used. Tuesday, for
    # the eve of Monday is a day off. Burden: 3 people × 3 dates × 480 = 4320; 3 × 2 × 165 min = 990; with three a role
    # two stay, nothing is thin. 5310.
    # Cost: crew 100 + 9 + 18; allowances 3 × 3 × 3 = 27; nights 3 × 2 × (4 + 6) = 60; fares 3 × 2 × 100 = 600; venue
    # 20; lunches 9; thread 8; printing 6: 857.
    roads = (ROADS[0], road("ALFA", "BETA", 2.5, 100))
    assert values(tiny_round(roads=roads, people=staff("ALFA") + staff("BETA", "PPPAAANNN"))) == [6, 0, 0, 0, 5310, 857]


def test_two_stations_need_four_trainers() -> None:
    # Three learners a station: two stations, four trainers 10 + 8 + 12 + 9 = 39 instead of 18, two lunches more.
    # Both teams simulate once at a time of their own: watched, and nothing back to back.
    wide = (host("ALFA", 0.3, 0.3, stations=2), tiny_round().facilities[1])
    rules = settings(MONDAY_ONLY, session={"learners_per_station": 3})
    assert values(tiny_round(facilities=wide, settings=rules)) == [6, 0, 0, 0, 2580, 359 + 21 + 2]


def test_a_date_without_a_team_shows_no_demonstration() -> None:
    # A session of two dates, one team for one of them. The crew sleeps at ALFA: legs 2 × 50; two dates 2 × (7 + 2),
    # night 3 + bed 6; trainers 2 × 18 + 2 × (5 + 6); venue 2 × 20; lunches 3 + 2 × 2 + 2; thread for two simulations
    # and one demonstration 3 × 2; printing 3: 100 + 18 + 9 + 36 + 22 + 40 + 9 + 6 + 3 = 243.
    alone = tiny_round(
        facilities=(tiny_round().facilities[0], facility("BETA", 0.3, 0.6, teams_wanted=0)),
        settings=settings(round={"last_day": day(1)}, session={"days": 2, "days_per_team": 1, "demonstrations": 1}),
    )
    assert values(alone) == [3, 0, 0, 2, 0, 243]


def test_a_second_team_counts_six_times_its_weight() -> None:
    # Three people a role at ALFA: two teams of it, weight 3 × 6 = 18 for the second; both on site.
    # Cost: 160 of the first, then three lunches, two simulations of thread and three prints: 160 + 3 + 4 + 3.
    two = (host("ALFA", 0.3, 0.3, teams_wanted=2), facility("BETA", 0.3, 0.6, teams_wanted=0))
    assert values(tiny_round(facilities=two, settings=MONDAY_ONLY)) == [3, 0, 18, 0, 0, 170]


def test_day_shifts_with_an_untouched_night_between_are_no_run() -> None:
    # One anaesthetist stays at BETA on Monday and another on Tuesday; with the night between untouched that is no run.
    far = (host("ALFA", 0.3, 0.3, teams_wanted=0), facility("BETA", 0.3, 0.6, teams_wanted=2))
    rules = settings(round={"last_day": day(1)}, session={"learners_per_station": 3}, cover={"run": 1})
    assert values(tiny_round(facilities=far, settings=rules))[:3] == [3, 0, 18]


def test_nobody_can_be_released() -> None:
    lone = staff("ALFA", "PAN") + staff("BETA", "PAN")
    assert best_plan(tiny_round(people=lone, settings=MONDAY_ONLY)) is None


def test_a_crew_sleeps_out_where_the_way_is_long() -> None:
    # Four hours each way (one break): 8 h at the wheel are allowed, but by 18:01 − 60 min the crew cannot be home after
    # set-up, a session of 110 min and pack-up (05:55 + 255 + 60 + 110 + 45 + 255 min = 18:00). So a night at ALFA:
    # legs 2 × 200; two dates 2 × (7 + 2) + night 3 + bed 6; trainers 2 × 18 + 2 × (5 + 6); venue 20; lunches 6; thread
    # 4; printing 3: 400 + 18 + 9 + 36 + 22 + 20 + 6 + 4 + 3 = 518.
    far = (road("BASE", "ALFA", 4.0, 200),)
    alone = (tiny_round().facilities[0], facility("BETA", 0.3, 0.6, teams_wanted=0))
    assert values(tiny_round(facilities=alone, roads=far)) == [3, 0, 0, 2, 0, 518]


def test_trainers_hold_leads_by_name() -> None:
    # T1 directs and leads surgery, T2 leads anaesthesia; T1 alone with T3 has nobody for anaesthesia.
    two = (TRAINERS[0], TRAINERS[2])
    assert best_plan(tiny_round(trainers=two, settings=MONDAY_ONLY)) is None
    assert best_plan(tiny_round(trainers=TRAINERS[:2], settings=MONDAY_ONLY)) is not None


def test_a_director_may_not_lead_anaesthesia_too() -> None:
    both = (trainer("T1", "da"), trainer("T2", "s"), trainer("T3", "s"))
    assert best_plan(tiny_round(trainers=both, settings=MONDAY_ONLY)) is None


def test_day_end_with_and_without_lunch() -> None:
    session = tiny_round().settings.session
    assert day_end(session, 8 * 3600, 3) == 8 * 3600 + (20 + 3 * 40 + 10) * 60
    # From 09:00 five slots end at 12:40: lunch of 30 min comes between, 13:20 with the closing.
    assert day_end(session, 9 * 3600, 5) == 9 * 3600 + (20 + 5 * 40 + 30 + 10) * 60
    # A pause from 10:00 to 10:30 pushes the third slot (09:40) to 10:30.
    prayer = dataclasses.replace(session, pause=((10 * 3600, 10 * 3600 + 1800),))
    assert day_end(prayer, 8 * 3600, 3) == 10 * 3600 + (30 + 40 + 10) * 60
    assert day_end(session, 15 * 3600, 2) is None
    # Without a slot opening and closing are all there is; past noon, lunch comes between.
    assert day_end(session, 9 * 3600, 0) == 9 * 3600 + (20 + 10) * 60
    assert day_end(session, 11 * 3600 + 2400, 0) == 11 * 3600 + 2400 + (20 + 30 + 10) * 60


def test_shifts_touched_by_a_stay() -> None:
    facts = Facts(tiny_round())
    early = facts.shifts_touched((day(0), 8 * 3600 - 60), (day(0), 12 * 3600))
    assert early == {(day(-1), Shift.NIGHT), (day(0), Shift.DAY)}
    exact = facts.shifts_touched((day(0), 8 * 3600), (day(0), 20 * 3600))
    assert exact == {(day(0), Shift.DAY)}
    over = facts.shifts_touched((day(0), 17 * 3600), (day(1), 8 * 3600))
    assert over == {(day(0), Shift.DAY), (day(0), Shift.NIGHT)}


def test_matching_is_no_head_count() -> None:
    assert matches((P, A), [(P, A), (P,)])
    assert not matches((P, A), [(P,), (P,)])
    assert not matches((P, A, N), [(P, A), (P, A), (P, A, Role.SCRUB)])


def test_what_it_does_not_enumerate_is_refused() -> None:
    with pytest.raises(NotCovered):
        BruteForce(tiny_round(crews=(crew(), crew("OTHER"))))
