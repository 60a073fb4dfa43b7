"""Repairs of small rounds, worked by hand; the arithmetic stands beside each figure. All are audited.

The base round: ALFA hosts, BETA comes; two people a role each. Both train at ALFA on one date, so that they watch each
other. Today is long before the round unless a test says otherwise, so points count once.
"""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest
from rounds import ROADS, TRAINERS, N, day, facility, host, road, settings, staff, tiny_round, varied
from short_rounds import short_round

from roundplan.audit import audit_plan
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.outcome import ProvenImpossible
from roundplan.domain.person import Absence, Duty
from roundplan.domain.plan import Plan, Team
from roundplan.domain.repair import Repaired, RepairTask, SeatRef
from roundplan.domain.role import DutyKind, Role
from roundplan.domain.training_round import TrainingRound
from roundplan.draft import completed
from roundplan.handouts.codec import plan_to_json
from roundplan.solver import find_plan, repair_plan

FAR = day(0) - timedelta(days=60)
WORK = 3.0
"""Deterministic work for a plan or a repair: the same on every machine; coverage and points are proven long before."""


def tiny(**changes: Any) -> TrainingRound:
    """Return the base round cut to Monday and Tuesday; ``rules`` are settings to change."""
    rules = {"round": {"last_day": day(1)}, **changes.pop("rules", {})}
    found = settings(**rules)
    search = dataclasses.replace(found.search, reproducible=True, work_limit=WORK)
    return tiny_round(**{"settings": dataclasses.replace(found, search=search)} | changes)


NO_GUESTS = {"teams": {"guests": 0}}


def announced(training_round: TrainingRound) -> Plan:
    """Return a plan of a round, as it is announced."""
    return completed(find_plan(training_round, seconds=0, seed=1, workers=1, reproducible=True), training_round)


@cache
def usual() -> Plan:
    """Return the plan of the base round."""
    return announced(tiny())


def repaired(plan: Plan, changed: TrainingRound, today: date = FAR, **more: Any) -> Repaired:
    """Return the repaired plan, audited; its figures are proven."""
    task = RepairTask(plan, changed, today, **more)
    found = repair_plan(task, seconds=0, seed=1, workers=1, reproducible=True)
    assert audit_plan(completed(found.plan, changed), changed) == ()
    assert (found.coverage_lost.gap, found.stability.gap) == (0, 0)
    return found


def team_of(plan: Plan, code: str) -> Team:
    """Return the one team of a facility."""
    (team,) = (team for team in plan.teams if team.facility == code)
    return team


def holder(team: Team, role: Role) -> str:
    """Return who sits in a role."""
    return next(seat.person for seat in team.seats if seat.role is role)


def away(training_round: TrainingRound, who: str, on: date, *more: date) -> TrainingRound:
    """Return the round with somebody on leave on some dates."""
    rows = tuple(Absence(who=who, first=x, last=x) for x in (on, *more))
    return training_round.replace(absences=(*training_round.absences, *rows))


def keep(team: Team, *roles: Role) -> tuple[Lock, ...]:
    """Return locks on the seats of a team in some roles, confirmed."""
    return tuple(
        Lock(do=Do.KEEP, kind=LockKind.SEAT, who=seat.person, role=seat.role, date=team.dates[0], why="confirmed")
        for seat in team.seats
        if seat.role in roles
    )


def test_a_plan_that_is_still_lawful_stays_letter_by_letter() -> None:
    plan = usual()
    found = repaired(plan, away(tiny(), "BETA-P1", day(30)))
    assert found.plan == plan
    assert (found.coverage_lost.value, found.stability.value, found.moved) == (0, 0, ())


def test_who_declines_is_replaced_and_nothing_else_changes() -> None:
    # BETA's anaesthetist declines but stays as cover, the other one comes instead: one person, 3. Everything else is
    # as announced: the session, the trip, the other team, and who covers where.
    plan = usual()
    beta = team_of(plan, "BETA")
    lock = Lock(do=Do.FORBID, kind=LockKind.SEAT, who=holder(beta, N), role=N, date=beta.dates[0])
    found = repaired(plan, tiny(locks=(lock,)))
    assert (found.coverage_lost.value, found.stability.value) == (0, 3)
    (moved,) = found.moved
    assert (moved.team, moved.becomes, moved.points) == (beta.code, beta.code, 3)
    assert [role for role, _ in (*moved.left, *moved.joined)] == [N, N]
    assert team_of(found.plan, "ALFA") == team_of(plan, "ALFA")
    assert [(s.code, s.days) for s in found.plan.sessions] == [(s.code, s.days) for s in plan.sessions]
    assert found.plan.trips == plan.trips
    assert {c for c in found.plan.cover if c.facility == "ALFA"} == {c for c in plan.cover if c.facility == "ALFA"}


def test_a_seat_that_was_confirmed_and_released_counts_three_times() -> None:
    # 3 × 3 for the seat, × 2 because today is 20 days before: 18. Moving all three to another day would be
    # (2 × 3 + 2 + 2) × 2 = 20.
    plan = usual()
    beta = team_of(plan, "BETA")
    lock = Lock(do=Do.FORBID, kind=LockKind.SEAT, who=holder(beta, N), role=N, date=beta.dates[0])
    released = frozenset({SeatRef(beta.code, holder(beta, N), N)})
    today = beta.dates[0] - timedelta(days=20)
    assert repaired(plan, tiny(locks=(lock,)), today, released=released).stability.value == 18


def test_where_nobody_can_stay_instead_the_team_comes_on_another_day() -> None:
    # One of BETA's two anaesthetists is on leave on the date: the other would have to come and to cover. BETA moves:
    # three seats on another day, 6, and the two trainers are there as well. A guest would stay within the rules, were
    # guests allowed.
    training_round = tiny(rules=NO_GUESTS)
    plan = announced(training_round)
    beta = team_of(plan, "BETA")
    found = repaired(plan, away(training_round, holder(beta, N), beta.dates[0]))
    assert (found.coverage_lost.value, found.stability.value) == (0, 6)
    assert team_of(found.plan, "BETA").dates != beta.dates
    assert team_of(found.plan, "ALFA").dates == beta.dates


def test_new_sessions_leave_notice_from_today() -> None:
    # As before, but today is five days before: on another day there is no session yet, and one would have to be
    # announced 28 days before. BETA loses its team, weight 3; no person is named, so a point counts 1 × 1: 3.
    training_round = tiny(rules=NO_GUESTS)
    plan = announced(training_round)
    beta = team_of(plan, "BETA")
    changed = away(training_round, holder(beta, N), beta.dates[0])
    found = repaired(plan, changed, beta.dates[0] - timedelta(days=5))
    assert [(lost.facility, lost.number, lost.points) for lost in found.lost] == [("BETA", 1, 3)]
    assert (found.coverage_lost.value, found.stability.value) == (3, 0)
    assert [reason.who for reason in found.plan.reasons] == ["BETA"]


def test_a_trainer_who_is_ill_is_replaced() -> None:
    # One of the two trainers cannot come; T3 or T4 leads the same. Both teams have one trainer less of those
    # announced: 2 × 1.
    plan = usual()
    trainer = plan.trips[0].days[0].aboard[0].trainer
    changed = away(tiny(), trainer, plan.sessions[0].dates[0])
    found = repaired(plan, changed)
    assert (found.coverage_lost.value, found.stability.value) == (0, 2)
    assert {moved.staff_left for moved in found.moved} == {(trainer,)}


def test_a_closed_road_moves_the_team_that_takes_it() -> None:
    # BETA's way to ALFA is closed on the date, and round by the base it is 2.5 h, too far for a day. BETA moves to a
    # day of its own, 3 × 2.
    plan = usual()
    beta = team_of(plan, "BETA")
    closed = dataclasses.replace(ROADS[2], closures=((beta.dates[0], beta.dates[0]),))
    found = repaired(plan, tiny(roads=(*ROADS[:2], closed)))
    assert (found.coverage_lost.value, found.stability.value) == (0, 6)
    assert team_of(found.plan, "ALFA").dates == beta.dates


def test_a_facility_with_no_other_person_loses_its_team() -> None:
    # BETA's only surgical provider is on leave throughout; guests are not allowed: 3 points lost, proven.
    people = staff("ALFA") + staff("BETA", "PPAANN")
    training_round = tiny(people=people, rules=NO_GUESTS)
    plan = announced(training_round)
    changed = away(training_round, "BETA-P1", *(day(n) for n in range(-1, 5)))
    found = repaired(plan, changed)
    assert (found.coverage_lost.value, found.stability.value) == (3, 0)
    assert [lost.facility for lost in found.lost] == ["BETA"]


def test_cover_that_is_away_is_named_anew_without_any_point() -> None:
    # Whoever covers as anaesthetist at BETA has a night duty that date; BETA has a third one.
    people = staff("ALFA") + staff("BETA", "PPAANNN")
    training_round = tiny(people=people)
    plan = announced(training_round)
    named = next(c for c in plan.cover if c.facility == "BETA")
    who = next(person for role, person in named.named if role is N)
    duty = Duty(person=who, date=named.date, kind=DutyKind.NIGHT)
    found = repaired(plan, training_round.replace(duties=(duty,)))
    assert (found.coverage_lost.value, found.stability.value) == (0, 0)
    assert found.plan.teams == plan.teams or found.plan.sessions == plan.sessions
    assert who not in {person for c in found.plan.cover if c.facility == "BETA" for _, person in c.named}


# locks ------------------------------------------------------------------------------------------------------------


def test_confirmed_seats_stay_where_others_change() -> None:
    # BETA's provider and assistant have confirmed; the anaesthetist declines and is replaced: 3.
    plan = usual()
    beta = team_of(plan, "BETA")
    forbid = Lock(do=Do.FORBID, kind=LockKind.SEAT, who=holder(beta, N), role=N, date=beta.dates[0])
    others = [seat.role for seat in beta.seats if seat.role is not N]
    found = repaired(plan, tiny(locks=(forbid, *keep(beta, *others))))
    assert found.stability.value == 3
    assert [holder(team_of(found.plan, "BETA"), role) for role in others] == [holder(beta, role) for role in others]


def test_a_confirmed_seat_whose_holder_is_away_is_named_with_what_would_help() -> None:
    plan = usual()
    beta = team_of(plan, "BETA")
    locks = keep(beta, *(seat.role for seat in beta.seats))
    (mine,) = keep(beta, N)
    changed = away(tiny(locks=locks), holder(beta, N), beta.dates[0])
    with pytest.raises(ProvenImpossible) as raised:
        repaired(plan, changed)
    assert raised.value.releases == (mine,)
    assert [reason.who for reason in raised.value.reasons][:1] == [holder(beta, N)]
    assert any("on leave" in reason.words for reason in raised.value.reasons)


def test_where_no_single_release_helps_the_fewest_are_named() -> None:
    # BETA has no anaesthetist that date and guests are not allowed: both who confirmed contradict it by themselves.
    training_round = tiny(rules=NO_GUESTS)
    plan = announced(training_round)
    beta = team_of(plan, "BETA")
    locks = keep(beta, *(seat.role for seat in beta.seats if seat.role is not N))
    changed = away(training_round.replace(locks=locks), "BETA-N1", beta.dates[0])
    with pytest.raises(ProvenImpossible) as raised:
        repaired(plan, changed)
    assert len([reason for reason in raised.value.reasons if "confirmed" in reason.words]) == 1
    assert raised.value.releases == ()
    assert set(raised.value.together) == set(locks)


# the past, gains, the same plan again ---------------------------------------------------------------------------------


def two_dates() -> TrainingRound:
    """Return the base round in which each date has room for one team, and crews sleep at home."""
    return tiny(
        facilities=(host("ALFA", 0.3, 0.3), facility("BETA", 0.3, 0.6)), rules={"session": {"learners_per_station": 3}}
    )


def test_what_is_past_stays() -> None:
    # Each team has a date and a trip of its own. On the second date, when the first is past, a trainer of both falls
    # ill: only the second session changes, 1 for the trainer, × 3 for so near a date.
    plan = announced(two_dates())
    first, second = sorted(plan.sessions, key=lambda s: s.dates)
    aboard = [e.trainer for trip in plan.trips for d in trip.days if second.code in d.sessions for e in d.aboard]
    found = repaired(plan, away(two_dates(), aboard[0], second.dates[0]), second.dates[0])
    past = {s.code: s for s in found.plan.sessions}[first.code]
    assert past == first
    assert [t for t in found.plan.teams if t.session == first.code] == [
        t for t in plan.teams if t.session == first.code
    ]
    assert {moved.team for moved in found.moved} == {t.code for t in plan.teams if t.session == second.code}
    assert found.stability.value == 3


def test_a_past_that_cannot_go_on_is_named() -> None:
    # The crew has slept at ALFA since the first date; who is aboard cannot be ill there on the second one.
    training_round = tiny(
        rules={"session": {"learners_per_station": 3}}, roads=(road("BASE", "ALFA", 1.0, 400), *ROADS[1:])
    )
    plan = announced(training_round)
    (trip,) = plan.trips
    changed = away(training_round, trip.days[0].aboard[0].trainer, trip.days[1].date)
    with pytest.raises(ProvenImpossible, match="what was done before 2026-06-02 stays"):
        repaired(plan, changed, trip.days[1].date)


def test_no_facility_gets_more_than_was_announced_and_gains_are_apart() -> None:
    # ALFA and BETA want a second team each now and have people for it; the announced plan has one each. The session's
    # day has room for more teams, which are offered and not planned.
    people = staff("ALFA", "PPPAAANNN") + staff("BETA", "PPPAAANNN")
    training_round = tiny(people=people)
    plan = announced(training_round)
    wanting = (host("ALFA", 0.3, 0.3, lodging_price=6, lodging_beds=20, teams_wanted=1), facility("BETA", 0.3, 0.6))
    gamma = facility("GAMA", 0.3, 0.45)
    changed = training_round.replace(facilities=(*wanting, gamma), people=(*people, *staff("GAMA")))
    found = repaired(plan, changed)
    assert [t.facility for t in found.plan.teams] == [t.facility for t in plan.teams]
    assert [(gain.facility, gain.number, gain.dates) for gain in found.gains] == [("GAMA", 1, plan.sessions[0].dates)]


def test_a_repair_is_the_same_again() -> None:
    beta = team_of(usual(), "BETA")
    task = RepairTask(usual(), away(tiny(), holder(beta, N), beta.dates[0]), FAR)
    found = [repair_plan(task, seconds=0, seed=1, workers=1, reproducible=True).plan for _ in range(2)]
    assert plan_to_json(found[0]) == plan_to_json(found[1])


def test_trainers_beyond_those_announced_are_no_change() -> None:
    # T1 alone can direct; he is away on the date and nobody else can: the session moves with both teams, 2 × 6.
    people = varied(TRAINERS, "T3", leads=frozenset())
    training_round = tiny(trainers=people)
    plan = announced(training_round)
    found = repaired(plan, away(training_round, "T1", plan.sessions[0].dates[0]))
    assert (found.coverage_lost.value, found.stability.value) == (0, 12)


def test_in_short_sessions_too_only_the_seat_changes() -> None:
    # A crew holds several sessions on one date. ALFA's anaesthetist declines and stays as cover: 3.
    search = dataclasses.replace(short_round().settings.search, reproducible=True, work_limit=WORK)
    training_round = short_round(1)
    training_round = training_round.replace(settings=dataclasses.replace(training_round.settings, search=search))
    plan = announced(training_round)
    alfa = team_of(plan, "ALFA")
    forbid = Lock(do=Do.FORBID, kind=LockKind.SEAT, who=holder(alfa, N), role=N, date=alfa.dates[0])
    found = repaired(plan, training_round.replace(locks=(forbid,)))
    assert (found.coverage_lost.value, found.stability.value) == (0, 3)
    assert [(s.code, s.venue) for s in found.plan.sessions] == [(s.code, s.venue) for s in plan.sessions]
