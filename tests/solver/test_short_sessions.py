"""Several short sessions on a crew's date: against every order tried, and one day worked out by hand."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from ortools.sat.python import cp_model
from rounds import day, host, staff
from short_rounds import SESSION, ShortBrute, short_round, visited_round

from roundplan.audit import audit_plan
from roundplan.domain.decision import CostLine, Do, Lock, LockKind
from roundplan.domain.plan import CrewDay, Plan
from roundplan.domain.rules import Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver import find_plan
from roundplan.solver.aims import coverage_expressions
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Scope

HOUR, MINUTE = 3600, 60
VARIANTS: dict[str, dict[str, Any]] = {
    "two dates": {},
    "one date": {"dates": 1},
    "one date, a short teaching window": {"dates": 1, "session": {"teach_to": 12 * HOUR}},
    "a duty day of seven hours": {"travel": {"duty_day": 7.0}},
    "long set-up and pack-up": {"travel": {"set_up": 75, "pack_up": 55}},
    "three hours at the wheel": {"travel": {"wheel_hours": 3.0}},
    "two drivers of under two hours each": {"drivers": 2, "travel": {"wheel_hours": 1.75}},
    "dark early": {"dates": 1, "travel": {"crew_margin": 240}},
}


def planned(training_round: TrainingRound, seconds: float = 30) -> Plan:
    plan = find_plan(training_round, seconds=seconds, seed=1, workers=2)
    assert audit_plan(plan, training_round) == ()
    return plan


def values(plan: Plan) -> dict[Aim, int]:
    return {tier.aim: tier.value for tier in plan.tiers}


def days_of(plan: Plan) -> list[CrewDay]:
    return [on for trip in plan.trips for on in trip.days]


def clocks(plan: Plan, on: CrewDay) -> list[tuple[str, int, int]]:
    """Return venue, start and end of the sessions of a date as it lists them."""
    held = {session.code: session for session in plan.sessions}
    return [(held[code].venue, held[code].days[0].start, held[code].days[0].end) for code in on.sessions]


@pytest.mark.parametrize("name", VARIANTS)
def test_as_good_as_the_best_of_all_orders(name: str) -> None:
    training_round = short_round(**VARIANTS[name])
    best = ShortBrute(training_round).best()
    plan = planned(training_round)
    assert values(plan)[Aim.FIRST_TEAMS] == 3 * best.teams
    assert values(plan)[Aim.COST] == best.cost


@pytest.mark.parametrize("name", VARIANTS)
def test_the_relaxation_never_forbids_the_best_of_all_orders(name: str) -> None:
    training_round = short_round(**VARIANTS[name])
    choices = Choices(Facts(training_round), Scope.OUTER)
    add_limits(choices)
    choices.model.maximize(coverage_expressions(choices)[Aim.FIRST_TEAMS])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(choices.model) == cp_model.OPTIMAL
    assert round(solver.objective_value) >= 3 * ShortBrute(training_round).best().teams


def test_a_day_worked_out_by_hand() -> None:
    # One date, duty day 12 h: all four facilities take 4 × (30 + 70 + 20) = 480 minutes and their drives. The least
    # kilometres of a round through all: BASE–ALFA 50, ALFA–BETA 30, BETA–DELT 20, DELT–GAMA 25, GAMA–BASE 52 = 177
    # (by ALFA, DELT, BETA, GAMA it is 50 + 21 + 20 + 35 + 52 = 178), 60 + 30 + 30 + 30 + 60 = 210 minutes at the wheel;
    # 480 + 210 = 690 minutes are within 720. The first session starts at 08:00 at the earliest, the fourth then ends
    # 3 × 120 + 70 + 3 × 30 = 520 minutes later, at 16:40: after 16:30. Teaching until 17:00 makes room; the drive to
    # the base then ends at 16:40 + 20 + 60 = 18:00, just before sunset (18:01), so the margin has to be nought.
    late = short_round(dates=1, session={"teach_to": 17 * HOUR}, travel={"crew_margin": 0})
    plan = planned(late)
    (only,) = days_of(plan)
    assert values(plan)[Aim.FIRST_TEAMS] == 12
    assert sum(leg.drive.km for leg in only.legs) == 177
    order = [code for code, _, _ in clocks(plan, only)]
    assert order in (["ALFA", "BETA", "DELT", "GAMA"], ["GAMA", "DELT", "BETA", "ALFA"])
    assert ShortBrute(short_round(dates=1)).best().teams == 3


def test_nothing_waits_between_two_sessions_of_a_date() -> None:
    plan = planned(short_round(dates=1))
    (only,) = days_of(plan)
    held = clocks(plan, only)
    assert len(held) == 3
    assert [leg.drive.end for leg in only.legs] == [*(venue for venue, _, _ in held), "BASE"]
    for leg, (venue, _, end), (later, start, _) in zip(only.legs[1:], held, held[1:], strict=False):
        assert (leg.drive.start, leg.drive.end) == (venue, later)
        assert leg.drive.depart == end + 20 * MINUTE
        assert start == leg.drive.arrive + 30 * MINUTE


def test_venues_next_door_need_no_leg_but_pack_up_and_set_up() -> None:
    near = (host("ALFA", 0.3, 0.3), host("BETA", 0.3, 0.301), host("GAMA", 0.301, 0.3))
    one_team_a_room = short_round(dates=1, session={"learners_per_station": 3})
    training_round = one_team_a_room.replace(
        facilities=near,
        people=sum((staff(f.code) for f in near), ()),
        roads=tuple(r for r in short_round().roads if {r.start, r.end} == {"BASE", "ALFA"}),
    )
    plan = planned(training_round)
    (only,) = days_of(plan)
    held = clocks(plan, only)
    assert len(held) == 3
    assert len(only.legs) == 2
    for (_, _, end), (_, start, _) in pairwise(held):
        assert start == end + (20 + 30) * MINUTE


def test_sessions_stand_in_the_order_of_time_and_no_two_of_a_crew_overlap() -> None:
    plan = planned(visited_round())
    assert values(plan)[Aim.FIRST_TEAMS] == 12
    for on in days_of(plan):
        held = clocks(plan, on)
        assert all(later >= end + 50 * MINUTE for (_, _, end), (_, later, _) in pairwise(held))
    codes = [session.code for session in plan.sessions]
    by_clock = sorted(plan.sessions, key=lambda s: (s.days[0].date, s.days[0].start))
    assert codes == [session.code for session in by_clock]


def test_without_the_setting_a_date_holds_one_session() -> None:
    plan = planned(short_round(session={"short_sessions": False}))
    assert values(plan)[Aim.FIRST_TEAMS] == 6
    assert [len(on.sessions) for on in days_of(plan)] == [1, 1]


def test_sessions_of_two_dates_never_share_a_date() -> None:
    plan = planned(short_round(dates=4, session={"days": 2}))
    assert all(len(on.sessions) <= 1 for on in days_of(plan))


def test_starts_keep_to_the_step_that_is_set() -> None:
    plan = planned(short_round(dates=1, session={"start_every": 45.0, "teach_from": 8 * HOUR + 10 * MINUTE}))
    starts = [session.days[0].start for session in plan.sessions]
    assert len(starts) > 1
    assert all((start - 8 * HOUR - 10 * MINUTE) % (45 * MINUTE) == 0 for start in starts)
    assert all(session.days[0].end - session.days[0].start == SESSION for session in plan.sessions)


def test_a_lock_keeps_a_session_on_its_date_among_the_others() -> None:
    lock = Lock(do=Do.KEEP, kind=LockKind.SESSION, place="GAMA", date=day(1))
    plan = planned(short_round().replace(locks=(lock,)))
    assert ("GAMA", day(1)) in {(session.venue, session.days[0].date) for session in plan.sessions}
    assert values(plan)[Aim.FIRST_TEAMS] == 12


@pytest.mark.parametrize("rule", [Rule.LEG_FEASIBLE, Rule.CREW_IN_ONE_PLACE, Rule.DAYLIGHT])
def test_without_the_rule_more_is_taught_and_the_audit_says_so(rule: Rule) -> None:
    # One date takes three of the four facilities; without set-up, pack-up and duty day, or without drives, it takes
    # all four. In the dark it does where the margin to sunset is what forbids the fourth.
    training_round = short_round(dates=1, session={"teach_to": 17 * HOUR})
    plan = find_plan(training_round, seconds=30, seed=1, workers=2, switched_off=frozenset({rule}))
    assert ShortBrute(training_round).best().teams == 3
    assert values(plan)[Aim.FIRST_TEAMS] == 12
    assert rule in {breach.rule for breach in audit_plan(plan, training_round)}


def test_trainers_and_drivers_lunch_once_a_date_participants_at_each_session() -> None:
    plan = planned(short_round(dates=1))
    eaten = [entry.quantity for entry in plan.costs if entry.line == CostLine.LUNCHES.value]
    # Three participants a session; two trainers and the driver at the first.
    assert eaten == [6, 3, 3]


def test_the_same_work_gives_the_same_plan() -> None:
    training_round = short_round()
    same = [find_plan(training_round, seconds=30, seed=3, workers=1, reproducible=True) for _ in range(2)]
    assert same[0] == same[1]


@pytest.mark.parametrize("name", ["two dates", "a duty day of seven hours"])
def test_the_way_of_large_rounds_trains_as_many(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("roundplan.solver.search.SMALL", 0)
    training_round = short_round(**VARIANTS[name])
    plan = planned(training_round, seconds=10)
    assert values(plan)[Aim.FIRST_TEAMS] == 3 * ShortBrute(training_round).best().teams
    assert all(tier.bound is None or tier.bound >= tier.value for tier in plan.tiers[:3])


def test_a_solution_is_a_whole_hint_for_a_model_with_more_visits() -> None:
    # What the large way does from model to model: the values of a narrower model, by name, satisfy a wider one.
    facts = Facts(short_round())
    narrow = Choices(facts, only=frozenset(visit for visit in facts.modes if visit[1] in ("ALFA", "DELT")))
    wide = Choices(facts)
    for choices in (narrow, wide):
        add_limits(choices)
    narrow.model.maximize(coverage_expressions(narrow)[Aim.FIRST_TEAMS])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(narrow.model) == cp_model.OPTIMAL
    hint = wide.hint(narrow.names(list(solver.response_proto.solution)))
    kinds = ("start[", "end[", "slots[", "piece[", "rests[", "hold[", "between[")
    for index, variable in enumerate(wide.model.proto.variables):
        if variable.name.startswith(kinds):
            wide.model.add(wide.model.get_int_var_from_proto_index(index) == hint[index])
    assert solver.solve(wide.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
