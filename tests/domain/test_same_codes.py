"""Codes live on: what two plans have in common has one code, and no code stands for two things."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import pytest
from revised_plans import with_seat, without_session
from worked_rounds.hand_plan import hand_plan

from roundplan.domain.plan import Plan, Session, Team
from roundplan.domain.same_codes import codes_of, with_codes_of

CODES = ("S1", "S2", "T01", "T02", "T03", "R1")


def recoded(plan: Plan, shift: int) -> Plan:
    """Return the same plan with the codes of a search of its own: counted from elsewhere, in another order."""
    before = with_codes_of(replace(hand_plan(), sessions=(), teams=(), trips=()), plan, [f"S{n}" for n in range(shift)])
    return replace(before, sessions=before.sessions[::-1], teams=before.teams[::-1])


def test_the_same_plan_keeps_every_code() -> None:
    assert with_codes_of(hand_plan(), hand_plan()) == hand_plan()
    assert tuple(codes_of(hand_plan())) == CODES


@pytest.mark.parametrize("shift", range(2, 9))
def test_a_plan_coded_otherwise_gets_the_codes_that_readers_know(shift: int) -> None:
    other = recoded(hand_plan(), shift)
    assert set(codes_of(other)) != set(CODES)
    found = with_codes_of(hand_plan(), other)
    assert {s.code: s for s in found.sessions} == {s.code: s for s in hand_plan().sessions}
    assert {t.code: t for t in found.teams} == {t.code: t for t in hand_plan().teams}
    assert (found.trips, found.cover) == (hand_plan().trips, hand_plan().cover)


def test_after_a_session_is_gone_the_other_keeps_its_code() -> None:
    """A search counts the session that is left as S1; readers know it as S2."""
    left = recoded(without_session(hand_plan(), "S1"), 0)
    left = replace(
        left,
        sessions=tuple(replace(s, code="S1") for s in left.sessions),
        teams=tuple(replace(t, session="S1") for t in left.teams),
        trips=tuple(
            replace(t, days=tuple(replace(d, sessions=("S1",) if d.sessions else ()) for d in t.days))
            for t in left.trips
        ),
    )
    found = with_codes_of(hand_plan(), left)
    assert [s.code for s in found.sessions] == ["S2"]
    assert [t.code for t in found.teams] == ["T03"]
    assert {t.session for t in found.teams} == {"S2"}
    assert {code for trip in found.trips for day in trip.days for code in day.sessions} == {"S2"}


def test_something_new_never_has_a_code_that_stood_for_something_else() -> None:
    """S2 moves to another venue, crew and date: nothing of it is left, so it is another session."""
    plan = hand_plan()
    first, second = plan.sessions
    week = timedelta(days=7)
    days = tuple(replace(day, date=day.date + week) for day in second.days)
    moved = replace(second, venue="DELT", crews=("C2",), days=days)
    found = with_codes_of(plan, replace(plan, sessions=(first, moved)), ["S7", "S1"])
    assert [s.code for s in found.sessions] == ["S1", "S8"]
    assert found.teams[2].session == "S8"
    assert [s.code for s in with_codes_of(plan, replace(plan, sessions=(first, moved))).sessions] == ["S1", "S3"]


def test_a_session_that_moves_in_place_or_time_alone_is_the_same_one() -> None:
    first, second = hand_plan().sessions
    week = timedelta(days=7)

    def code(other: Session) -> str:
        swapped = replace(hand_plan(), sessions=(replace(other, code="S1"), replace(first, code="S2")))
        return with_codes_of(hand_plan(), swapped).sessions[0].code

    assert code(replace(second, venue="DELT")) == "S2"
    assert code(replace(second, days=tuple(replace(day, date=day.date + week) for day in second.days))) == "S2"
    assert code(replace(second, days=tuple(replace(day, start=day.start + 600) for day in second.days))) == "S2"


def two_teams() -> tuple[Plan, Team, Team]:
    """Return a plan in which ALFA has a second team, of other people."""
    plan = hand_plan()
    one = plan.teams[0]
    other = replace(one, code="T09", number=2, seats=tuple(replace(s, person=s.person[:-1] + "2") for s in one.seats))
    return replace(plan, teams=(*plan.teams, other)), one, other


def test_a_facilitys_teams_keep_their_numbers_with_their_people() -> None:
    plan, one, other = two_teams()
    swapped = replace(plan, teams=(replace(other, number=1), *plan.teams[1:3], replace(one, number=2)))
    found = {t.code: (t.number, t.seats) for t in with_codes_of(plan, swapped).teams}
    assert found == {t.code: (t.number, t.seats) for t in plan.teams}


def test_a_team_that_is_left_alone_is_its_facilitys_first() -> None:
    """Numbers are those of the new plan: a facility with one team has a team 1, whichever it was."""
    plan, _, other = two_teams()
    left = replace(plan, teams=(*plan.teams[1:3], replace(other, number=1)))
    (team,) = (t for t in with_codes_of(plan, left).teams if t.facility == "ALFA")
    assert (team.number, team.seats) == (1, other.seats)


def test_nothing_but_codes_and_numbers_is_changed() -> None:
    drawn = random.Random(3)
    for _ in range(20):
        plan = with_seat(hand_plan(), "GAMA-N1", person="GAMA-N2") if drawn.random() < 0.5 else hand_plan()
        plan = without_session(plan, "S2") if drawn.random() < 0.5 else plan
        other = recoded(plan, drawn.randrange(2, 9))
        found = with_codes_of(hand_plan(), other)
        assert len(set(codes_of(found))) == len(tuple(codes_of(found)))
        again = with_codes_of(other, found)
        assert again == other
