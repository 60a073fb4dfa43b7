"""What differs between two versions of a plan: each reader is told theirs, and of nothing that stayed."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import cache

import planned_rounds
import pytest
from html_sample import NEXT_TUE, TUE, clock, sample_plan, sample_round

from roundplan.domain.plan import Plan
from roundplan.handouts.difference import Change, Differences, Effect, Topic, differences
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import LANGUAGES, speaking


def after(plan: Plan) -> Differences:
    r = sample_round()
    return differences(PlanIndex(sample_plan(), r), PlanIndex(plan, r))


def changed_team(code: str, **changes: object) -> Plan:
    plan = sample_plan()
    teams = tuple(dataclasses.replace(t, **changes) if t.code == code else t for t in plan.teams)  # type: ignore[arg-type]
    return dataclasses.replace(plan, teams=teams)


def said(changes: tuple[Change, ...]) -> list[str]:
    return [change.words() for change in changes]


def test_a_standby_who_takes_a_seat_is_told_to_facility_district_and_trainers_alone() -> None:
    team = next(t for t in sample_plan().teams if t.code == "T02")
    first = dataclasses.replace(team.seats[0], person=team.seats[0].standby, standby=None)
    found = after(changed_team("T02", seats=(first, *team.seats[1:])))

    assert said(found.of_facility("TUW")) == [
        "Team 1, surgical provider: Fumba Zimba, no longer Anda Zimba.",
        "Team 1, standby of Fumba Zimba (surgical provider): none; before: Fumba Zimba.",
    ]
    seat = found.of_facility("TUW")[0]
    assert (seat.topic, seat.effect, seat.team, seat.person) == (Topic.SEAT, Effect.CHANGED, "T02", "TUW06")
    assert said(found.of_district("Kamzani")) == said(found.of_facility("TUW"))
    words = "Session Tuesday 2 March, at Kamzani District Hospital, Tuwila Mission Hospital, surgical provider: "
    assert said(found.of_trainer("TR1")) == [f"{words}Fumba Zimba, no longer Anda Zimba."]
    assert said(found.of_session("S1")) == said(found.of_trainer("TR1"))
    assert (found.facilities, found.trainers, found.crews) == (("TUW",), ("TR1", "TR2"), ())


def test_a_team_that_moves_to_another_session() -> None:
    found = after(changed_team("T01", session="S3", dates=(NEXT_TUE,)))

    told = said(found.of_facility("KAM"))
    assert told[0] == "Team 1: Tuesday 9 March, here; no longer Tuesday 2 March, here."
    assert told[1] == "Team 1, new times: Session Tue\xa09\xa0Mar, 08:30 to 15:50."
    gone = "Session Tuesday 2 March, at Kamzani District Hospital: team 1 of Kamzani District Hospital does not come."
    assert said(found.of_crew("NORTH")) == [gone]
    comes = "Session Tuesday 9 March, at Kamzani District Hospital: a team of Kamzani District Hospital comes too"
    assert said(found.of_crew("SOUTH")) == [f"{comes}."]
    assert said(found.of_trainer("TR3"))[0].startswith(f"{comes}: Anda Moyo (surgical provider), ")


def test_a_team_that_is_gone_and_its_guest() -> None:
    plan = sample_plan()
    found = after(dataclasses.replace(plan, teams=tuple(t for t in plan.teams if t.code != "T02")))

    assert said(found.of_facility("TUW"))[0].startswith(
        "No longer: Team 1, Tuesday 2 March, at Kamzani District Hospital: Anda Zimba (surgical provider), "
    )
    assert said(found.of_facility("LUV")) == [
        "No longer: Guest in a team of Tuwila Mission Hospital, Tuesday 2 March, at Kamzani District Hospital: "
        "Jemu Phiri (newborn care)."
    ]


def test_a_drive_and_a_load_that_change() -> None:
    plan = sample_plan()
    trip = plan.trips[0]
    leg = trip.days[0].legs[0]
    early = dataclasses.replace(leg.drive, depart=clock(6, 30), arrive=clock(6, 36))
    first = dataclasses.replace(trip.days[0], legs=(dataclasses.replace(leg, drive=early), *trip.days[0].legs[1:]))
    less = tuple(dataclasses.replace(load, quantity=3) if load.item == "skin" else load for load in trip.loads)
    other = dataclasses.replace(trip, code="N9", days=(first, *trip.days[1:]), loads=less)
    found = after(dataclasses.replace(plan, trips=(other, *plan.trips[1:])))

    day, load = found.of_crew("NORTH")
    assert day.words().startswith("Tuesday 2 March, new: 06:30 leave Kamzani training store, 06:36 reach Kamzani ")
    assert (day.topic, day.date, day.trip) == (Topic.DAY, TUE, "N9")
    store = "from Kamzani training store, Tuesday 2 March"
    assert load.words() == f"Trip N9, load of Skin layer, cut: 3\xa0pieces {store}; before: 4\xa0pieces {store}."
    assert [change.topic for change in found.of_trainer("TR1")] == [Topic.DAY]
    assert found.facilities == ()


def renamed(plan: Plan) -> Plan:
    """Return the plan with other codes of its teams, sessions and trips, and these in another order."""

    def code(old: str | None) -> str | None:
        return None if old is None else f"X{old}"

    sessions = tuple(
        dataclasses.replace(
            s, code=f"X{s.code}", slots=tuple(dataclasses.replace(slot, team=code(slot.team)) for slot in s.slots)
        )
        for s in reversed(plan.sessions)
    )
    teams = tuple(dataclasses.replace(t, code=f"X{t.code}", session=f"X{t.session}") for t in reversed(plan.teams))
    trips = tuple(
        dataclasses.replace(
            t,
            code=f"X{t.code}",
            days=tuple(dataclasses.replace(d, sessions=tuple(f"X{c}" for c in d.sessions)) for d in t.days),
        )
        for t in plan.trips
    )
    cover = tuple(dataclasses.replace(c, team=code(c.team)) for c in plan.cover)
    return dataclasses.replace(plan, sessions=sessions, teams=teams, trips=trips, cover=cover)


@cache
def two_plans() -> Differences:
    """Return what differs between two quite different plans of a round of eight facilities."""
    from rivals.greedy import greedy_plan

    one = planned_rounds.planned("eight facilities")
    other = greedy_plan(one.training_round, seconds=60, seed=7)
    return differences(one, PlanIndex(other, one.training_round))


def readers(found: Differences) -> Iterator[tuple[str, str, tuple[Change, ...]]]:
    yield from (("facility", code, found.of_facility(code)) for code in found.facilities)
    yield from (("trainer", code, found.of_trainer(code)) for code in found.trainers)
    yield from (("crew", code, found.of_crew(code)) for code in found.crews)


@pytest.mark.parametrize("change", [lambda plan: plan, renamed], ids=["the same plan", "other codes and order"])
def test_nothing_is_told_where_nothing_but_codes_changed(change) -> None:
    index = planned_rounds.planned("eight facilities")
    found = differences(index, PlanIndex(change(index.plan), index.training_round))

    assert list(readers(found)) == []
    assert all(found.of_session(session.code) == () for session in found.matched.after.plan.sessions)


def test_each_reader_is_told_of_no_more_people_than_their_documents_name() -> None:
    found = two_plans()
    told = list(readers(found))

    assert {kind for kind, _, _ in told} == {"facility", "trainer", "crew"}
    for kind, code, changes in told:
        if kind == "trainer":
            continue
        may: set[str] = set()
        for index in (found.matched.before, found.matched.after) if kind == "facility" else ():
            may |= {p.code for p in index.training_round.people if p.facility == code}
            may |= {seat.person for team in index.plan.teams if team.facility == code for seat in team.seats}
        named = planned_rounds.people_in(" ".join(said(changes)), found.matched.after)
        assert named <= may, code


@pytest.mark.parametrize("language", LANGUAGES)
def test_everything_that_differs_can_be_said_in_every_language(language: str) -> None:
    with speaking(language):
        lines = [line for _, _, changes in readers(two_plans()) for line in said(changes)]
    english = {line for _, _, changes in readers(two_plans()) for line in said(changes)}

    assert lines
    assert all("{" not in line for line in lines)
    assert (set(lines) == english) is (language == "en")


def test_looked_at_from_the_other_side_the_same_readers_are_concerned() -> None:
    there = two_plans()
    back = differences(there.matched.after, there.matched.before)

    for attribute in ("facilities", "trainers", "crews"):
        assert sorted(getattr(there, attribute)) == sorted(getattr(back, attribute))
