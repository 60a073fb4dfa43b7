"""What was done on sessions of several dates, with what is said and what is left unsaid."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest
from worked_rounds.hand_plan import TUE, WED, hand_plan, hand_round

from roundplan.closing.done import Done, Standing
from roundplan.closing.figures import Figures
from roundplan.closing.next_dates import first_date, from_on, next_settings
from roundplan.closing.telling import told
from roundplan.domain.dates import DaySet
from roundplan.domain.held import Came, Cause, DateHeld, Held, Result, Sat, SlotRun, session_keys
from roundplan.domain.plan import Plan

S1 = "ALFA 2026-06-02"


def two_days() -> Plan:
    """Return the plan with S1 on two dates: Alfa's team on Tuesday, Gama's with its slots 2 and 4 on Wednesday."""
    plan = hand_plan()
    first, *others = plan.sessions
    slots = tuple(dataclasses.replace(s, date=WED) if s.team == "T02" else s for s in first.slots)
    days = (*first.days, dataclasses.replace(first.days[0], date=WED))
    teams = tuple(dataclasses.replace(t, dates=(WED,)) if t.code == "T02" else t for t in plan.teams)
    return dataclasses.replace(
        plan, sessions=(dataclasses.replace(first, days=days, slots=slots), *others), teams=teams
    )


def everybody(plan: Plan, session: str) -> tuple[Sat, ...]:
    return tuple(
        Sat(session=S1, team=f"{t.facility} {t.number}", role=seat.role, person=seat.person, came=Came.YES)
        for t in plan.teams
        if t.session == session
        for seat in t.seats
    )


def done_with(*dates: DateHeld, slots: tuple[SlotRun, ...] = (), sat: tuple[Sat, ...] = ()) -> Done:
    return Done(two_days(), hand_round(), Held(dates=dates, slots=slots, sat=sat))


def on(day: date, held: Came, cause: Cause | None = None) -> DateHeld:
    return DateHeld(session=S1, date=day, held=held, cause=cause)


def test_one_date_of_two_was_held() -> None:
    done = done_with(on(TUE, Came.YES), on(WED, Came.NO, Cause.PATIENT), sat=everybody(two_days(), "S1"))
    assert done.standing(S1) is Standing.PARTLY
    assert done.causes(S1) == (Cause.PATIENT,)
    assert {team.key: (team.run, team.trained) for team in done.teams if team.session == S1} == {
        "ALFA 1": (2, True),
        "GAMA 1": (0, False),
    }
    results = {seat.person: seat.result for seat in done.seats if seat.session == S1}
    assert results["ALFA-P1"] is Result.TRAINED
    assert results["GAMA-P1"] is Result.CAME  # came for nothing, and is not absent


def test_a_date_held_in_part_counts_what_is_said_to_have_been_run() -> None:
    """Wednesday in part: slot 2 is said to have been run, slot 4 is not; silence is no yes."""
    run = SlotRun(session=S1, date=WED, station=1, number=2, run=True, wall=7)
    parts = (on(TUE, Came.YES), on(WED, Came.PARTLY, Cause.KIT))
    done = done_with(*parts, slots=(run,), sat=everybody(two_days(), "S1"))
    gama = next(team for team in done.teams if team.key == "GAMA 1")
    assert (gama.wanted, gama.run, gama.complete) == (2, 1, 1)
    assert done.walls(S1) == 3  # 1 and 2 on Tuesday, 7 on Wednesday
    assert done.simulations(S1) == 3
    silent = done_with(*parts, sat=everybody(two_days(), "S1"))
    assert "  2026-06-03 was held in part, but no simulation is said to have been run" in told(silent, date(2026, 6, 9))


def test_who_came_says_that_a_date_was_held() -> None:
    alfa = tuple(row for row in everybody(two_days(), "S1") if row.team == "ALFA 1")
    done = done_with(sat=alfa)
    assert done.dates_held(S1) == {TUE: Came.YES, WED: None}
    assert done.standing(S1) is Standing.PARTLY
    nobody = tuple(dataclasses.replace(row, came=Came.NO) for row in alfa)
    assert done_with(sat=nobody).standing(S1) is Standing.NOT_REPORTED


def test_a_role_that_the_staff_list_does_not_have_counts_for_no_team() -> None:
    """ALFA-P2 in the anaesthetist's seat: the team's minimum was never complete."""
    rows = tuple(
        dataclasses.replace(row, came=Came.NO, instead="ALFA-P2") if row.person == "ALFA-N1" else row
        for row in everybody(two_days(), "S1")
    )
    done = done_with(on(TUE, Came.YES), on(WED, Came.YES), sat=rows)
    alfa = next(team for team in done.teams if team.key == "ALFA 1")
    assert (alfa.run, alfa.complete, alfa.trained) == (2, 0, False)
    stranger = tuple(dataclasses.replace(row, instead="A Stranger") if row.instead else row for row in rows)
    done = done_with(on(TUE, Came.YES), on(WED, Came.YES), sat=stranger)
    assert next(team for team in done.teams if team.key == "ALFA 1").trained  # whom no list has, the form is believed


def test_two_sessions_at_one_venue_on_one_date_have_keys_of_their_own() -> None:
    plan = hand_plan()
    first = plan.sessions[0]
    later = dataclasses.replace(first.days[0], start=first.days[0].end + 3600, end=first.days[0].end + 7200)
    twice = dataclasses.replace(plan, sessions=(dataclasses.replace(first, code="S0", days=(later,)), *plan.sessions))
    assert session_keys(twice) == {"S0": f"{S1} #2", "S1": S1, "S2": "HALL 2026-06-04"}


def test_dates_of_the_next_round() -> None:
    r = hand_round()
    last = date(2026, 6, 4)
    assert first_date(r, last, date(2026, 6, 8)) == date(2026, 12, 7)  # 4 December is a Friday
    assert first_date(r, last, date(2027, 3, 1)) == date(2027, 3, 29)  # closed late: 28 days of notice, a Monday
    base = dataclasses.replace(
        r.settings.round, wet_from=date(2025, 11, 1), wet_to=date(2026, 4, 1), purge_on=date(2026, 8, 1),
        closed_days=DaySet(frozenset({6}), frozenset({date(2026, 6, 3)}), ((date(2026, 12, 1), date(2026, 12, 8)),)),
    )  # fmt: skip
    made = next_settings(base, date(2026, 12, 7), date(2026, 12, 1), "Next")
    assert (made.wet_from, made.wet_to) == (date(2026, 11, 1), date(2027, 4, 1))
    assert made.announce_on == date(2026, 12, 1)  # never before today
    assert made.purge_on == date(2027, 2, 6)  # 189 days later
    assert made.closed_days == DaySet(frozenset({6}), frozenset(), ((date(2026, 12, 1), date(2026, 12, 8)),))
    assert from_on(DaySet(), last) == DaySet()


@pytest.mark.parametrize("name", ["sessions", "roles", "lines"])
def test_figures_come_back_from_json_as_they_were(name: str) -> None:
    import json

    from roundplan.closing.counting import figures_of
    from roundplan.closing.next_round import next_round

    done = done_with(on(TUE, Came.YES), sat=everybody(two_days(), "S1"))
    figures = figures_of(done, next_round(done, date(2026, 6, 9), "Next"))
    back = Figures.from_plain(json.loads(json.dumps(figures.as_plain())))
    assert getattr(back, name) == getattr(figures, name)
    assert back == figures
