"""What a plan changes in an announced one: sums by hand, and the cheapest way to tell teams apart."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta
from itertools import permutations
from random import Random

import pytest
from rounds import A, N, P, day, facility, host, staff, tiny_round, varied

from roundplan.domain.changes import changes, coverage_lost, lost_people, lost_teams, stability
from roundplan.domain.least_cost import assigned
from roundplan.domain.plan import Aboard, CrewDay, Plan, Seat, Session, SessionDay, Station, Team, Trip
from roundplan.domain.repair import SeatRef
from roundplan.domain.role import Include, Role
from roundplan.domain.training_round import TrainingRound

FAR = day(0) - timedelta(days=60)
"""A today from which every date of the round counts once."""


def session(code: str, venue: str, on: date, crew: str = "CREW") -> Session:
    """Return a session of one date with one station."""
    return Session(
        code=code, venue=venue, days=(SessionDay(date=on, start=0, end=1),), crews=(crew,),
        stations=(Station(number=1, crew=crew, director="T1"),), leads=(),
    )  # fmt: skip


def team(code: str, home: str, held: Session, people: str, number: int = 1) -> Team:
    """Return a team of a facility: ``P1 A1 N2`` are its people by letter and number, by role."""
    roles = {"P": P, "A": A, "N": N, "B": Role.NEWBORN_CARE}
    seats = tuple(Seat(role=roles[name[0]], person=f"{home}-{name}") for name in people.split())
    return Team(
        code=code, facility=home, number=number, session=held.code, station=1, dates=held.dates, seats=seats
    )  # fmt: skip


def plan(sessions: tuple[Session, ...], teams: tuple[Team, ...], trainers: str = "T1 T2") -> Plan:
    """Return a plan whose sessions have the same trainers."""
    trips = tuple(
        Trip(
            code=f"K{number}", crew=held.crews[0], box_models=1,
            days=(CrewDay(date=held.dates[0], sessions=(held.code,),
                          aboard=tuple(Aboard(trainer=t) for t in trainers.split())),),
        )
        for number, held in enumerate(sessions)
    )  # fmt: skip
    return Plan(round_name="Tiny", sessions=sessions, teams=teams, trips=trips)


MONDAY, TUESDAY = session("S01", "ALFA", day(0)), session("S02", "ALFA", day(1))
ANNOUNCED = plan((MONDAY,), (team("T01", "BETA", MONDAY, "P1 A1 N1"),))


def test_nothing_changed_has_no_points() -> None:
    assert stability(ANNOUNCED, ANNOUNCED, FAR) == 0
    assert changes(ANNOUNCED, ANNOUNCED, FAR) == ()


def test_another_person_has_three_points_and_more_the_nearer_the_date() -> None:
    # One seat of three: 3; at most 28 days ahead 3 × 2, at most 7 days 3 × 3; released by its owner × 3 again.
    other = plan((MONDAY,), (team("T01", "BETA", MONDAY, "P1 A1 N2"),))
    released = frozenset({SeatRef("T01", "BETA-N1", N)})
    points = [stability(ANNOUNCED, other, day(0) - timedelta(days=n)) for n in (29, 28, 8, 7, 0)]
    assert points == [3, 6, 6, 9, 9]
    assert stability(ANNOUNCED, other, FAR, released) == 9
    (moved,) = changes(ANNOUNCED, other, FAR)
    assert (moved.left, moved.joined) == (((N, "BETA-N1"),), ((N, "BETA-N2"),))


def test_another_day_has_two_points_a_seat_and_another_venue_two_more() -> None:
    # Three seats on another day: 3 × 2 = 6; at another venue too: 6 + 3 × 2 = 12; with N1 replaced: 12 + 3 = 15.
    later = plan((TUESDAY,), (team("T01", "BETA", TUESDAY, "P1 A1 N1"),))
    assert stability(ANNOUNCED, later, FAR) == 6
    hall = session("S02", "BETA", day(1))
    assert stability(ANNOUNCED, plan((hall,), (team("T01", "BETA", hall, "P1 A1 N1"),)), FAR) == 12
    assert stability(ANNOUNCED, plan((hall,), (team("T01", "BETA", hall, "P1 A1 N2"),)), FAR) == 15


def test_a_crew_and_each_trainer_gone_have_one_point_those_who_come_none() -> None:
    # T2 gone: 1; crew gone too: 2. T3 beside T1 and T2 is no change for the team.
    same = (team("T01", "BETA", MONDAY, "P1 A1 N1"),)
    assert stability(ANNOUNCED, plan((MONDAY,), same, "T1 T3"), FAR) == 1
    assert stability(ANNOUNCED, plan((session("S01", "ALFA", day(0), "SECOND"),), same, "T1 T3"), FAR) == 2
    assert stability(ANNOUNCED, plan((MONDAY,), same, "T1 T2 T3"), FAR) == 0


def test_a_seat_more_than_announced_counts_and_an_empty_one_counts_once() -> None:
    # A newborn seat more: 3. N1 gone and nobody instead: 3. Two people who change seats: 2 × 3.
    more = plan((MONDAY,), (team("T01", "BETA", MONDAY, "P1 A1 N1 B1"),))
    assert stability(ANNOUNCED, more, FAR) == 3
    assert stability(more, ANNOUNCED, FAR) == 3
    crossed = dataclasses.replace(
        ANNOUNCED.teams[0],
        seats=(Seat(role=P, person="BETA-A1"), Seat(role=A, person="BETA-P1"), Seat(role=N, person="BETA-N1")),
    )
    assert stability(ANNOUNCED, plan((MONDAY,), (crossed,)), FAR) == 6


def test_teams_are_told_apart_so_that_points_are_least() -> None:
    # Codes and numbers do not matter: the two teams are where they were, whatever they are called.
    first, second = team("T01", "BETA", MONDAY, "P1 A1 N1"), team("T02", "BETA", TUESDAY, "P2 A2 N2", 2)
    announced = plan((MONDAY, TUESDAY), (first, second))
    renamed = (dataclasses.replace(first, code="T02", number=2), dataclasses.replace(second, code="T01", number=1))
    assert stability(announced, plan((MONDAY, TUESDAY), renamed), FAR) == 0
    # With the first team lost the one left is the second: no points, though its number is 1 now.
    left = plan((MONDAY, TUESDAY), (dataclasses.replace(second, number=1),))
    assert stability(announced, left, FAR) == 0


def three_of_beta(**beta: object) -> TrainingRound:
    """Return the tiny round in which BETA wants three teams."""
    facilities = (host("ALFA", 0.3, 0.3), facility("BETA", 0.3, 0.6, teams_wanted=3, **beta))
    return tiny_round(facilities=facilities)


def test_a_gain_elsewhere_hides_no_loss() -> None:
    # BETA, weight 3, loses the second and third of its three teams: 3 × 6 and 3 × 4. ALFA's new team does not count.
    training_round = three_of_beta()
    teams = tuple(team(f"T0{n}", "BETA", MONDAY, f"P{n} A{n} N{n}", n) for n in (1, 2, 3))
    after = plan((MONDAY,), (teams[0], team("T09", "ALFA", MONDAY, "P1 A1 N1")))
    announced = plan((MONDAY,), teams)
    assert [(lost.number, lost.points) for lost in lost_teams(announced, after, training_round)] == [(2, 18), (3, 12)]
    assert coverage_lost(announced, after, training_round) == 30


def test_a_first_team_outweighs_people_and_a_person_all_further_teams() -> None:
    # A person counts one more than all further teams announced, 18 + 12: 31. BETA-P1 and BETA-P2 are named, so a
    # point of first teams counts 3 × 31 = 93, and BETA's first team 3 × 93 = 279.
    people = varied(varied(staff("ALFA") + staff("BETA", "PPPAAANNN"), "BETA-P1", include=Include.MUST), "BETA-P2",
                    include=Include.MUST)  # fmt: skip
    training_round = three_of_beta().replace(people=people)
    teams = tuple(team(f"T0{n}", "BETA", MONDAY, f"P{n} A{n} N{n}", n) for n in (1, 2, 3))
    announced = plan((MONDAY,), teams)
    assert coverage_lost(announced, plan((MONDAY,), teams[:1]), training_round) == 18 + 12 + 31
    assert lost_people(announced, plan((MONDAY,), teams[:1]), training_round) == ("BETA-P2",)
    assert coverage_lost(announced, plan((), ()), training_round) == 279 + 18 + 12 + 2 * 31


@pytest.mark.parametrize("seed", range(40))
def test_the_cheapest_assignment_is_that_of_trying_all(seed: int) -> None:
    rng = Random(seed)
    rows, columns = rng.randint(1, 5), rng.randint(1, 5)
    costs = [[rng.randint(0, 9) for _ in range(columns)] for _ in range(rows)]
    found = assigned(costs)
    assert len(found) == len(set(found.values())) == min(rows, columns)
    if rows <= columns:
        least = min(sum(costs[r][c] for r, c in enumerate(order)) for order in permutations(range(columns), rows))
    else:
        least = min(sum(costs[r][c] for c, r in enumerate(order)) for order in permutations(range(rows), columns))
    assert sum(costs[row][column] for row, column in found.items()) == least
