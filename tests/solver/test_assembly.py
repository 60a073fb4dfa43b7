"""Outlines written by hand, assembled into plans; clock times follow from the tiny round's settings by hand."""

from __future__ import annotations

import dataclasses
from datetime import date
from typing import Any

import pytest
from rounds import A, N, P, day, facility, host, settings, staff, tiny_round, trainer

from roundplan.audit import audit_plan
from roundplan.domain.clock import HOUR, MINUTE
from roundplan.domain.person import Absence, Duty
from roundplan.domain.plan import CoverKind, Plan, Search, SlotKind
from roundplan.domain.role import DutyKind, Lead, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.assembly import CoverNotNamed, SlotsNotLaid, assemble
from roundplan.solver.facts import Facts
from roundplan.solver.outline import CrewDayOutline, Group, Outline, OutlineSeat, SessionOutline

START = 8 * HOUR + 30 * MINUTE
SLOT = 40 * MINUTE
"""Brief 5, simulation 10, debrief 15, reset 10 minutes: the tiny round's settings."""


def seats(*entries: str) -> tuple[OutlineSeat, ...]:
    """Return seats such as ``ALFA-P1``: the letter after the dash is the role."""
    letters = {"P": P, "A": A, "N": N, "S": Role.SCRUB}
    return tuple(OutlineSeat(code, letters[code.split("-")[1][0]]) for code in entries)


def group(facts: Facts, home: str, *hands: tuple[OutlineSeat, ...], venue: str = "ALFA") -> Group:
    """Return teams of one facility on Monday in their cheapest mode."""
    mode = facts.modes[home, venue, day(0)][0]
    return Group(home, day(0), mode, mode.own_site, hands)


def one_day(facts: Facts, *groups: Group, slots: int, stations: int = 1) -> Outline:
    """Return an outline of one Monday session at ALFA by the crew with all four trainers."""
    crew = facts.round.crews[0]
    out, back = (facts.arcs(*ends, day(0), crew)[0] for ends in (("BASE", "ALFA"), ("ALFA", "BASE")))
    leads = [("CREW", Lead.DIRECTOR, "T1"), ("CREW", Lead.DIRECTOR, "T3")][:stations]
    leads += [("CREW", Lead.ANAESTHESIA, "T2"), ("CREW", Lead.SURGERY, "T1")]
    session = SessionOutline("ALFA", day(0), {"CREW": stations}, {day(0): (START, slots)}, tuple(leads), groups)
    aboard = ("T1", "T2", "T3", "T4")
    return Outline((session,), (CrewDayOutline("CREW", day(0), out, back, None, ("ALFA", day(0)), "BASE", aboard),))


def both_teams(training_round: TrainingRound, *off: Rule, slots: int = 5) -> Plan:
    """Assemble ALFA's and BETA's team on Monday at one station."""
    facts = Facts(training_round, frozenset(off))
    alfa = group(facts, "ALFA", seats("ALFA-P1", "ALFA-A1", "ALFA-N1"))
    beta = group(facts, "BETA", seats("BETA-P1", "BETA-A1", "BETA-N1"))
    return assemble(one_day(facts, alfa, beta, slots=slots), facts, (), Search())


def breached(plan: Plan, training_round: TrainingRound) -> set[Rule]:
    """Return the rules that the audit finds broken."""
    return {found.rule for found in audit_plan(plan, training_round) if found.rule is not None}


def two_home_teams(**changes: Any) -> tuple[TrainingRound, tuple[tuple[OutlineSeat, ...], ...]]:
    """Return a round in which ALFA has three a role and two teams of its own, two stations."""
    base: dict[str, Any] = {
        "facilities": (host("ALFA", 0.3, 0.3, stations=2, teams_wanted=2), facility("BETA", 0.3, 0.6)),
        "people": staff("ALFA", "PPPAAANNN") + staff("BETA"),
    }
    hands = (seats("ALFA-P1", "ALFA-A1", "ALFA-N1"), seats("ALFA-P2", "ALFA-A2", "ALFA-N2"))
    return tiny_round(**base | changes), hands


def test_a_plan_of_two_teams_breaks_no_rule_and_comes_out_the_same_twice() -> None:
    training_round = tiny_round()
    plan = both_teams(training_round)
    assert breached(plan, training_round) == set()
    assert plan == both_teams(training_round)
    assert [(t.code, t.facility, t.number) for t in plan.teams] == [("T01", "ALFA", 1), ("T02", "BETA", 1)]
    assert plan.costs


def test_teams_take_turns_and_the_reserve_comes_last() -> None:
    plan = both_teams(tiny_round())
    slots = sorted(plan.sessions[0].slots, key=lambda s: s.number)
    kinds = [slot.kind for slot in slots]
    assert kinds == [SlotKind.SIMULATION] * 4 + [SlotKind.RESERVE]
    assert slots[0].team == slots[2].team != slots[1].team == slots[3].team
    assert [(s.wall, s.wall_end) for s in slots] == [(1, 1), (1, 2), (2, 1), (2, 2), (None, None)]
    # 08:30 and 20 minutes of opening
    assert slots[0].start == START + 20 * MINUTE
    assert slots[0].end - slots[0].start == SLOT


def test_nobody_runs_a_case_that_they_watched() -> None:
    plan = both_teams(tiny_round())
    teams = {team.code: {seat.person for seat in team.seats} for team in plan.teams}
    shown = sorted((s for s in plan.sessions[0].slots if s.kind is SlotKind.SIMULATION), key=lambda s: s.number)
    watched: dict[str, set[str]] = {code: set() for code in teams}
    for slot in shown:
        assert slot.case not in watched[str(slot.team)]
        for code, people in teams.items():
            if people & set(slot.observers):
                watched[code].add(str(slot.case))
    assert all(watched.values()), "each team watches the other"
    assert len({slot.case for slot in shown}) == 4


def test_a_lone_team_rests_between_its_simulations_and_a_free_trainer_watches() -> None:
    facts = Facts(tiny_round())
    outline = one_day(facts, group(facts, "ALFA", seats("ALFA-P1", "ALFA-A1", "ALFA-N1")), slots=6)
    session = assemble(outline, facts, (), Search()).sessions[0]
    assert [slot.number for slot in session.slots] == [1, 3]
    assert all(slot.observers for slot in session.slots)
    assert not {o for slot in session.slots for o in slot.observers} & {"T1", "T2"}
    # opening, three slots and closing; the three slots not needed are given back
    assert session.days[0].end == START + 20 * MINUTE + 3 * SLOT + 10 * MINUTE


def test_crew_and_participants_arrive_as_late_and_leave_as_early_as_allowed() -> None:
    plan = both_teams(tiny_round())
    clock = plan.sessions[0].days[0]
    out, back = (leg.drive for leg in plan.trips[0].days[0].legs)
    assert (out.depart, out.arrive) == (START - 2 * HOUR, START - 1 * HOUR), "one hour of road, one of set-up"
    assert back.depart == clock.end + 45 * MINUTE, "pack-up"
    drives = plan.teams[1].outings[0].drives
    assert [drive.depart for drive in drives] == [START - HOUR // 2, clock.end]
    assert plan.teams[0].outings[0].drives == ()


def test_own_teams_at_home_share_a_station_or_at_least_never_a_slot() -> None:
    training_round, hands = two_home_teams()
    facts = Facts(training_round)
    outline = one_day(facts, group(facts, "ALFA", *hands), slots=5, stations=2)
    plan = assemble(outline, facts, (), Search())
    numbers = [s.number for s in plan.sessions[0].slots if s.kind is SlotKind.SIMULATION]
    assert len(numbers) == len(set(numbers)) == 4
    assert len({team.station for team in plan.teams}) == 1
    by_team = {cover.team for cover in plan.cover if cover.kind is CoverKind.SLOT}
    assert by_team == {"T01", "T02"}
    assert breached(plan, training_round) <= {Rule.CREW_STAFFED, Rule.VENUE_CAPACITY}


def test_too_few_slots_are_an_error_unless_the_rule_is_off() -> None:
    with pytest.raises(SlotsNotLaid):
        both_teams(tiny_round(), slots=3)
    overlapping = both_teams(tiny_round(), Rule.SLOT_ORDER, slots=3)
    assert Rule.SLOT_ORDER in breached(overlapping, tiny_round())
    fewer = both_teams(tiny_round(), Rule.SIMULATIONS_PER_TEAM, slots=3)
    assert breached(fewer, tiny_round()) == {Rule.SIMULATIONS_PER_TEAM}


def test_cover_that_cannot_be_named_is_an_error_unless_the_rule_is_off() -> None:
    short = tiny_round(absences=(Absence(who="BETA-N2", first=day(0), last=day(0)),))
    with pytest.raises(CoverNotNamed) as caught:
        both_teams(short)
    assert (caught.value.facility, caught.value.shifts) == ("BETA", ((day(0), Shift.DAY),))
    plan = both_teams(short, Rule.COVER_KEPT)
    named = next(c.named for c in plan.cover if c.facility == "BETA")
    assert named == ((P, "BETA-P2"), (A, "BETA-A2"))
    assert breached(plan, short) == {Rule.COVER_KEPT}


def test_a_standby_is_named_where_cover_holds_with_both_away() -> None:
    assert all(seat.standby is None for team in both_teams(tiny_round()).teams for seat in team.seats)
    plenty = tiny_round(people=staff("ALFA", "PPPAANN") + staff("BETA", "PPPAAANN"))
    plan = both_teams(plenty)
    standbys = {seat.person: seat.standby for team in plan.teams for seat in team.seats}
    assert standbys["BETA-P1"] in {"BETA-P2", "BETA-P3"}
    assert standbys["BETA-A1"] in {"BETA-A2", "BETA-A3"}
    assert standbys["BETA-N1"] is None
    assert breached(plan, plenty) == set()


def test_seats_on_a_day_duty_are_swaps_and_unknown_rosters_are_provisional() -> None:
    codes = [person.code for person in staff("BETA")]
    rostered = tiny_round(duties=tuple(Duty(person=c, date=day(0), kind=DutyKind.DAY) for c in codes))
    plan = both_teams(rostered)
    assert {(s.person, s.date, s.shift) for s in plan.swaps} == {(f"BETA-{c}1", day(0), Shift.DAY) for c in "PAN"}
    provisional = {team.facility: {seat.provisional for seat in team.seats} for team in plan.teams}
    assert provisional == {"ALFA": {True}, "BETA": {False}}


def test_trainers_join_where_they_live_if_the_crew_comes_by() -> None:
    local = tiny_round(
        trainers=(trainer("T1", "ds"), trainer("T2", "a"), trainer("T3", "dsn", lives_at="ALFA"), trainer("T4", "an"))
    )
    aboard = both_teams(local).trips[0].days[0].aboard
    assert {a.trainer: (a.joins_at, a.leaves_at) for a in aboard} == {
        "T1": ("BASE", "BASE"), "T2": ("BASE", "BASE"), "T3": ("ALFA", "ALFA"), "T4": ("BASE", "BASE"),
    }  # fmt: skip


def test_each_facility_left_out_has_a_reason() -> None:
    training_round = tiny_round(people=staff("ALFA") + staff("BETA", "PPAAN"), settings=settings(teams={"guests": 0}))
    facts = Facts(training_round)
    outline = one_day(facts, group(facts, "ALFA", seats("ALFA-P1", "ALFA-A1", "ALFA-N1")), slots=4)
    plan = assemble(outline, facts, (), Search())
    found = [(r.who, r.rule, r.words, r.team_number) for r in plan.reasons]
    assert found == [("BETA", Rule.COVER_KEPT, "on every possible date its only anaesthetist must stay by day", 1)]
    (reason,) = plan.reasons
    assert str(reason.when) == "on every possible date"
    assert [said.message for said in reason.said] == ["its only {role} must stay by day"]


def test_a_facility_without_the_role_or_the_language_is_told_so() -> None:
    base = tiny_round(people=staff("ALFA") + staff("BETA", "PPAA"))
    facts = Facts(base)
    alfa = seats("ALFA-P1", "ALFA-A1", "ALFA-N1")
    plan = assemble(one_day(facts, group(facts, "ALFA", alfa), slots=4), facts, (), Search())
    assert plan.reasons[0].rule is Rule.TEAM_MINIMUM
    assert "it has no anaesthetist" in plan.reasons[0].words
    other = tuple(dataclasses.replace(f, languages=("sw",)) if f.code == "BETA" else f for f in base.facilities)
    facts = Facts(base.replace(facilities=other, people=staff("ALFA") + staff("BETA")))
    plan = assemble(one_day(facts, group(facts, "ALFA", alfa), slots=4), facts, (), Search())
    assert (plan.reasons[0].rule, plan.reasons[0].words) == (
        Rule.CREW_STAFFED, "no trainer speaks its working language, sw",
    )  # fmt: skip


def test_dates_of_the_plan_are_those_of_the_outline() -> None:
    plan = both_teams(tiny_round())
    assert {d for team in plan.teams for d in team.dates} == {date(2026, 6, 1)}
    assert plan.trips[0].days[0].night is None
    assert plan.trips[0].box_models == 1
