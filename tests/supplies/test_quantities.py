"""Quantities counted on paper; the plan is told in ``hand_plans``."""

from __future__ import annotations

import dataclasses
from fractions import Fraction
from typing import Any

import pytest
from hand_plans import MON, TUE, hand_plan, hand_round, session, team, trip, with_trips
from rounds import crew, day

from roundplan.domain.plan import CrewDay, Plan
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.supplies.orders import assembly
from roundplan.supplies.quantities import (
    reusables_of,
    session_needs,
    trip_needs,
    walls_of,
    with_wastage,
)

WED = day(2)


def item(per: Per, quantity: float = 1, kind: ItemKind = ItemKind.CONSUMABLE, **more: Any) -> Item:
    return Item(code=per.value, name=per.value, kind=kind, per=per, quantity=quantity, unit="piece", **more)


ONE_OF_EACH = tuple(item(per) for per in Per)
REUSABLE_OF_EACH = tuple(item(per, kind=ItemKind.REUSABLE) for per in Per)


def test_units_by_what_they_go_by() -> None:
    """Six simulations and demonstrations (the reserve slot apart), so three walls; six people seated."""
    needs = trip_needs(hand_plan(), hand_round(ONE_OF_EACH))
    assert needs == {
        "K1": {"crew": 1, "station": 1, "session": 1, "simulation": 6, "wall": 3, "participant": 6, "trip": 1}
    }


def test_wastage_divides_and_is_rounded_up_once_a_trip() -> None:
    """6 × 2.1 = 12.6; 12.6 ÷ 0.9 = 14 exactly, where float arithmetic gives 14.000000000000002 and so 15."""
    training_round = hand_round((item(Per.SIMULATION, 2.1, wastage_percent=10),))
    assert trip_needs(hand_plan(), training_round) == {"K1": {"simulation": 14}}


@pytest.mark.parametrize(
    ("units", "percent", "supplied"), [(37, 10, Fraction(370, 9)), (7, 30, 10), (0.7, 30, 1), (9, 10, 10), (5, 0, 5)]
)
def test_wastage_is_exact(units: float, percent: float, supplied: Fraction | int) -> None:
    assert with_wastage(Fraction(str(units)), percent) == supplied


@pytest.mark.parametrize(("letters", "walls"), [("", 0), ("s", 1), ("ss", 1), ("dss", 2), ("dssss", 3), ("ssrr", 1)])
def test_a_wall_serves_two_simulations_or_demonstrations(letters: str, walls: int) -> None:
    assert walls_of(session("S", "ALFA", {MON: letters}), 1) == walls


def test_walls_go_on_over_the_dates_of_a_session() -> None:
    """Three a date: a wall each date would make four, but the second is used up on Tuesday: three."""
    assert walls_of(session("S", "ALFA", {MON: "sss", TUE: "sss"}), 1) == 3


def test_two_stations_do_not_share_a_wall() -> None:
    shared = session("S", "ALFA", {MON: "s"}, crews=("CREW", "CREW"))
    assert [walls_of(shared, number) for number in (1, 2)] == [1, 1]
    plan = Plan(
        round_name="Tiny", sessions=(shared,), trips=(trip("K1", CrewDay(date=MON, sessions=("S",)), box_models=2),)
    )
    assert trip_needs(plan, hand_round((item(Per.WALL), item(Per.STATION, 3)))) == {"K1": {"wall": 2, "station": 6}}


def test_crews_that_share_a_session_count_their_own_stations() -> None:
    shared = session("S", "ALFA", {MON: "ss"}, crews=("CREW", "CREW2"))
    plan = Plan(
        round_name="Tiny",
        sessions=(shared,),
        teams=(team("T01", "ALFA", "S", MON), team("T02", "BETA", "S", MON, station=2)),
        trips=tuple(
            trip(code, CrewDay(date=MON, sessions=("S",)), crew_code=who)
            for code, who in (("K1", "CREW"), ("K2", "CREW2"))
        ),
    )
    training_round = hand_round(ONE_OF_EACH, crews=(crew(), crew("CREW2")))
    each = {"crew": 1, "station": 1, "session": 1, "simulation": 2, "wall": 1, "participant": 3, "trip": 1}
    assert trip_needs(plan, training_round) == {"K1": each, "K2": each}
    assert session_needs(shared, plan, training_round)["participant"] == 6
    assert session_needs(shared, plan, training_round, "CREW2")["participant"] == 3


def test_a_session_taught_from_the_base_on_two_trips_is_supplied_by_date() -> None:
    """Monday's trip: station and session, two walls for three simulations; Tuesday's: the third wall."""
    base = hand_plan()
    monday, tuesday = (dataclasses.replace(d, night=None) for d in base.trips[0].days)
    needs = trip_needs(with_trips(base, trip("K1", monday), trip("K2", tuesday)), hand_round(ONE_OF_EACH))
    assert needs["K1"] == {
        "crew": 1, "station": 1, "session": 1, "simulation": 3, "wall": 2, "participant": 3, "trip": 1,
    }  # fmt: skip
    assert needs["K2"] == {"simulation": 3, "wall": 1, "participant": 3, "trip": 1}


def test_session_needs_round_up_for_the_session_alone() -> None:
    """6 × 1 ÷ 0.9 = 6.67."""
    assert session_needs(
        hand_plan().sessions[0], hand_plan(), hand_round((item(Per.SIMULATION, wastage_percent=10),))
    ) == {"simulation": 7}


def test_reusables_go_by_crew_box_model_or_most_demanding_session() -> None:
    """Box models two, one station: per station 2; per simulation the larger session (4 of 4 and 2)."""
    plan = Plan(
        round_name="Tiny",
        sessions=(session("S1", "ALFA", {MON: "ss"}), session("S2", "ALFA", {TUE: "ssss"})),
        teams=(team("T01", "ALFA", "S1", MON), team("T02", "BETA", "S2", TUE)),
    )
    tour = trip("K1", CrewDay(date=MON, sessions=("S1",)), CrewDay(date=TUE, sessions=("S2",)), box_models=2)
    carried = reusables_of(tour, with_trips(plan, tour), hand_round(REUSABLE_OF_EACH))
    assert carried == {"crew": 1, "station": 2, "session": 1, "simulation": 4, "wall": 2, "participant": 3, "trip": 1}


def test_consumables_are_no_reusables() -> None:
    assert reusables_of(hand_plan().trips[0], hand_plan(), hand_round(ONE_OF_EACH)) == {}
    assert trip_needs(hand_plan(), hand_round(REUSABLE_OF_EACH)) == {"K1": {}}


def test_walls_to_assemble_before_each_trip() -> None:
    (work,) = assembly(hand_plan(), hand_round())
    assert (work.trip, work.crew, work.date, work.walls, work.minutes) == ("K1", "CREW", MON, 3, 60)  # 3 × 20 minutes


def test_an_empty_plan_needs_nothing() -> None:
    assert trip_needs(Plan(round_name="Tiny"), hand_round()) == {}
    assert assembly(Plan(round_name="Tiny"), hand_round()) == ()
