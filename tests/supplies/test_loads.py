"""Loads and weights worked out on paper; the plan is told in ``hand_plans``."""

from __future__ import annotations

from typing import Any

import pytest
from hand_plans import MON, TUE, aboard, hand_plan, hand_round, session, trip
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st
from rounds import crew, day, hall, place, settings

from roundplan.domain.plan import CrewDay, Load, Plan, Trip
from roundplan.domain.role import PlaceKind
from roundplan.domain.supply import Item, ItemKind, Per, Stock
from roundplan.domain.training_round import TrainingRound
from roundplan.supplies.loads import kit_allowance, load_trips, payload_limit, stores_on, trip_weight
from roundplan.supplies.quantities import trip_needs

WED = day(2)
BARE = {"person_kg": 70.0, "luggage_kg": 10.0, "payload_reserve": 0.0}


def cloth(quantity: float, kg: float, litres: float = 0.0, **more: Any) -> Item:
    return Item(
        code="CLOTH",
        name="Cloth",
        kind=ItemKind.CONSUMABLE,
        per=Per.SIMULATION,
        quantity=quantity,
        unit="piece",
        unit_weight_kg=kg,
        unit_volume_l=litres,
        **more,
    )


BOX = Item(
    code="BOX",
    name="Box",
    kind=ItemKind.REUSABLE,
    per=Per.STATION,
    quantity=1,
    unit="piece",
    unit_weight_kg=5.5,
    unit_volume_l=45,
)


def tour() -> Plan:
    """Monday at HALL (no store), night at STORE, Tuesday and Wednesday at ALFA: 2, 2 and 4 simulations."""
    people = aboard("T1", "T2")
    return Plan(
        round_name="Tiny",
        sessions=(session("S1", "HALL", {MON: "ss"}), session("S2", "ALFA", {TUE: "ss", WED: "ssss"})),
        trips=(
            trip(
                "K1",
                CrewDay(date=MON, sessions=("S1",), night="STORE", aboard=people),
                CrewDay(date=TUE, sessions=("S2",), night="ALFA", aboard=people),
                CrewDay(date=WED, sessions=("S2",), aboard=people),
            ),
        ),
    )


def tour_round(payload: float, items: tuple[Item, ...], **more: Any) -> TrainingRound:
    sites = (
        place("BASE", 0, 0),
        hall("HALL", 0.2, 0.2),
        place("STORE", 0.25, 0.25, PlaceKind.STORE, PlaceKind.LODGING),
    )
    keys = {"settings": settings(travel=BARE), "crews": (crew(payload_kg=payload, **more),), "places": sites}
    return hand_round(items, **keys)


def loaded(plan: Plan, training_round: TrainingRound) -> Trip:
    return load_trips(plan, training_round).trips[0]


def test_everything_is_loaded_at_the_base_when_the_trip_starts() -> None:
    """Thread: 6 shown × 5 = 30. People: 4 trainers and a driver, 5 × 90 kg; box 5.5; thread 30 × 0.1 kg."""
    items = (cloth(5, 0.1, 0.2), BOX)
    k1 = loaded(hand_plan(), hand_round(items))
    assert set(k1.loads) == {
        Load(item="CLOTH", quantity=30, place="BASE", date=MON),
        Load(item="BOX", quantity=1, place="BASE", date=MON),
    }
    assert k1.weight_kg == pytest.approx(450 + 5.5 + 3)
    assert k1.volume_l == pytest.approx(45 + 6)  # 30 × 0.2 litres


def test_what_is_used_up_is_off_board_but_more_people_may_be_on() -> None:
    """Monday 2 people + driver + 8 kg; Tuesday 3 + driver and 8 − 2 × 1 kg: 3 × 80 + 8 = 248 < 4 × 80 + 6 = 326."""
    plan = tour()
    days = plan.trips[0].days
    more = trip(
        "K1", days[0], CrewDay(date=TUE, sessions=("S2",), night="ALFA", aboard=aboard("T1", "T2", "T4")), days[2]
    )
    k1 = loaded(Plan(round_name="Tiny", sessions=plan.sessions, trips=(more,)), tour_round(2000, (cloth(1, 1),)))
    assert k1.weight_kg == 326


def test_nothing_is_split_while_the_payload_holds() -> None:
    """3 × 80 kg and 8 × 20 kg = 400 kg: exactly the payload."""
    k1 = loaded(tour(), tour_round(400, (cloth(1, 20),)))
    assert {load.place for load in k1.loads} == {"BASE"}
    assert k1.weight_kg == 400


def test_over_the_payload_later_sessions_are_loaded_at_the_store_on_the_way() -> None:
    """Base: Monday's 2 × 20 kg. Tuesday morning at the store: 6 × 20 kg. Most: 240 + 120 = 360 kg on Tuesday."""
    k1 = loaded(tour(), tour_round(399, (cloth(1, 20),)))
    assert k1.loads == (
        Load(item="CLOTH", quantity=2, place="BASE", date=MON),
        Load(item="CLOTH", quantity=6, place="STORE", date=TUE),
    )
    assert k1.weight_kg == 360


def test_a_venue_with_stock_is_a_store_for_its_own_date() -> None:
    """ALFA keeps stock: Tuesday's and Wednesday's are loaded there; the night at ALFA serves Wednesday too."""
    keeps = (Stock(item="CLOTH", place="ALFA", quantity=1),)
    training_round = tour_round(399, (cloth(1, 20),)).replace(stock=keeps)
    assert stores_on(tour().trips[0], tour(), training_round) == ((TUE, "STORE"), (TUE, "ALFA"), (WED, "ALFA"))
    k1 = loaded(tour(), training_round)
    assert [(load.place, load.date, load.quantity) for load in k1.loads] == [
        ("BASE", MON, 2),
        ("ALFA", TUE, 2),
        ("ALFA", WED, 4),
    ]
    assert k1.weight_kg == 320  # Wednesday: 3 × 80 + 4 × 20


def test_space_splits_loads_too() -> None:
    """8 × 10 litres do not fit into 79."""
    k1 = loaded(tour(), tour_round(2000, (cloth(1, 1, 10),), space_l=79))
    assert {load.place for load in k1.loads} == {"BASE", "STORE"}
    assert k1.volume_l == 60
    full = loaded(tour(), tour_round(2000, (cloth(1, 1, 10),), space_l=80))
    assert {load.place for load in full.loads} == {"BASE"}


def test_reusables_stay_on_board_and_come_from_the_base() -> None:
    k1 = loaded(tour(), tour_round(399, (cloth(1, 20), BOX)))
    assert Load(item="BOX", quantity=1, place="BASE", date=MON) in k1.loads
    assert k1.weight_kg == pytest.approx(365.5)  # Tuesday: 240 + 120 + 5.5


def test_rounding_up_happens_once_though_loads_are_split() -> None:
    """2 ÷ 0.9 = 2.22 at the base: 3; 8 ÷ 0.9 = 8.89 in all: 9, so 6 at the store."""
    k1 = loaded(tour(), tour_round(399, (cloth(1, 20, wastage_percent=10),)))
    assert [load.quantity for load in k1.loads] == [3, 6]


def test_weight_of_a_written_trip_follows_its_loads() -> None:
    training_round = tour_round(2000, (cloth(1, 20),))
    plan = load_trips(tour(), training_round)
    assert trip_weight(plan.trips[0], plan, training_round) == (400, 0)
    bare = trip("K1", *plan.trips[0].days)
    assert trip_weight(bare, plan, training_round) == (240, 0)


def test_payload_counts_people_luggage_and_reserve() -> None:
    """900 kg less 20 % = 720; less 5 × (75 + 15) = 450 leaves 270."""
    rules = settings().travel
    assert payload_limit(crew(payload_kg=900.0), rules) == 720
    assert kit_allowance(crew(payload_kg=900.0), 5, rules) == 270


@limits(max_examples=40, deadline=None)
@given(
    quantity=st.sampled_from((0.1, 0.25, 0.3, 1.0, 1.1, 7.0)),
    percent=st.sampled_from((0.0, 5.0, 10.0, 33.3)),
    payload=st.sampled_from((100.0, 300.0, 5000.0)),
)
def test_loads_always_add_up_to_the_need(quantity: float, percent: float, payload: float) -> None:
    training_round = tour_round(payload, (cloth(quantity, 20, wastage_percent=percent),))
    taken = sum(load.quantity for load in loaded(tour(), training_round).loads)
    assert taken == trip_needs(tour(), training_round)["K1"]["CLOTH"]
