"""Order lines worked out on paper: the hand-written trip on Monday 1 June 2026 needs 30 threads (6 shown × 5)."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hand_plans import MON, TUE, hand_plan, hand_round, session, trip, with_trips
from rounds import crew, day, settings, thread

from roundplan.domain.plan import CrewDay, Plan
from roundplan.domain.supply import Item, ItemKind, Per, Stock
from roundplan.supplies.orders import OrderLine, order_lines

THU = day(3)


def line(*stock: Stock, plan: Plan | None = None, plan_date: date | None = date(2026, 4, 1), **more: Any) -> OrderLine:
    item = thread(**{"quantity": 5, "pack_size": 10, "pack_price": 25} | more)
    training_round = hand_round((item,), stock=stock, settings=settings(round={"plan_date": plan_date}))
    (found,) = order_lines(plan or hand_plan(), training_round)
    return found


def held(quantity: float, due: date | None = None, place: str = "BASE") -> Stock:
    return Stock(item="THREAD", place=place, quantity=quantity, due=due)


def two_trips() -> Plan:
    """A second trip on Thursday with two simulations: 10 threads more."""
    plan = hand_plan()
    later = session("S2", "ALFA", {THU: "ss"})
    grown = Plan(round_name="Tiny", sessions=(*plan.sessions, later), teams=plan.teams)
    return with_trips(grown, *plan.trips, trip("K2", CrewDay(date=THU, sessions=("S2",))))


def test_need_and_spare_less_stock_in_sealed_packs() -> None:
    """30 + 3 − 10 = 23 short: 3 packs of 10 at 25."""
    found = line(held(4), held(6, place="ALFA"), spare=3, supplier="Tailor")
    assert (found.need, found.spare, found.in_stock, found.due, found.short) == (30, 3, 10, 0, 23)
    assert (found.packs, found.pack_size, found.amount, found.supplier) == (3, 10, 75, "Tailor")
    assert (found.needed_by, found.runs_out, found.too_late) == (MON, True, False)


@pytest.mark.parametrize(("stock", "packs"), [(30, 0), (29.5, 1), (20, 1), (19, 2), (0, 3), (1000, 0)])
def test_packs_are_rounded_up(stock: float, packs: int) -> None:
    assert line(held(stock)).packs == packs


def test_halves_and_tenths_do_not_bite() -> None:
    """30 + 1.1 − 30.8 = 0.3 short, 3 packs of 0.1, where float arithmetic gives 3.000000000000007 and so 4."""
    found = line(held(30.8), spare=1.1, pack_size=0.1)
    assert (found.short, found.packs) == (0.3, 3)


def test_need_is_rounded_once_a_trip_and_added_up() -> None:
    """Trips of 30 ÷ 0.9 = 33.3 → 34 and 10 ÷ 0.9 = 11.1 → 12."""
    assert line(plan=two_trips(), wastage_percent=10).need == 46


def test_deliveries_count_if_they_arrive_by_the_date_needed() -> None:
    in_time, late = line(held(30, due=MON)), line(held(30, due=TUE))
    assert (in_time.due, in_time.packs, in_time.runs_out) == (30, 0, False)
    assert (late.due, late.packs, late.runs_out) == (0, 3, True)


def test_a_delivery_before_the_trip_that_would_run_out_counts() -> None:
    """Stock serves Monday's 30; Tuesday's delivery of 10 serves Thursday's."""
    served = line(held(30), held(10, due=TUE), plan=two_trips())
    assert (served.need, served.due, served.packs, served.runs_out) == (40, 10, 0, False)
    short = line(held(30), held(9, due=TUE), plan=two_trips())
    assert (short.due, short.short, short.packs) == (9, 1, 1)


def test_a_delivery_after_the_trip_that_runs_out_does_not_count() -> None:
    """Monday's 30 cannot wait for Tuesday's 50: all 40 are ordered."""
    found = line(held(50, due=TUE), plan=two_trips())
    assert (found.due, found.short, found.packs, found.needed_by) == (0, 40, 4, MON)


def test_needed_by_is_the_first_trip_that_stock_does_not_serve() -> None:
    assert line(held(30), plan=two_trips()).needed_by == THU
    assert line(held(29), plan=two_trips()).needed_by == MON
    assert line(held(40), plan=two_trips()).needed_by == MON, "nothing runs out: the first trip that needs it"


def test_orders_come_a_working_day_before_the_trip() -> None:
    """Back from Monday 1 June: it comes on Friday 29, ordered on Thursday 28, Wednesday 27, Tuesday 26 May."""
    assert line(lead_days=3).latest_order_date == date(2026, 5, 26)
    assert line(lead_days=0).latest_order_date == date(2026, 5, 29)
    assert line(held(30), lead_days=3).latest_order_date is None, "nothing to order"


@pytest.mark.parametrize(
    ("plan_date", "late"),
    [(date(2026, 5, 26), False), (date(2026, 5, 27), False), (date(2026, 5, 28), True), (None, False)],
)
def test_too_late_is_past_the_latest_order_date(plan_date: date | None, late: bool) -> None:
    assert line(lead_days=3, plan_date=plan_date).too_late is late


def test_an_order_that_can_come_no_sooner_than_the_trip_is_placed_on_the_date_of_planning() -> None:
    """It then has to be there on the first date of the trip, else on the working day before, Friday 29 May."""
    for planned, latest, there in (
        (date(2026, 5, 26), 26, date(2026, 5, 29)),
        (date(2026, 5, 27), 27, MON),
        (date(2026, 5, 28), 27, MON),
    ):
        found = line(lead_days=3, plan_date=planned)
        assert (found.latest_order_date, found.arrive_by) == (date(2026, 5, latest), there)
    assert line(held(30), lead_days=3).arrive_by is None


def test_what_cannot_be_bought_is_too_late_if_the_trips_run_out() -> None:
    for more in ({"pack_price": None}, {"lead_days": None}):
        found = line(**more)
        assert (found.packs, found.latest_order_date, found.too_late) == (3, None, True)
        assert not line(held(30), **more).too_late


def test_a_spare_that_cannot_come_in_time_stops_no_trip() -> None:
    found = line(held(30), spare=5, lead_days=3, plan_date=date(2026, 5, 29))
    assert (found.packs, found.runs_out, found.too_late) == (1, False, False)


def reusable(per: Per, quantity: float, uses: float | None = None) -> Item:
    return Item(
        code="GOWN", name="Gown", kind=ItemKind.REUSABLE, per=per, quantity=quantity, unit="piece", uses=uses,
        pack_price=100, lead_days=1,
    )  # fmt: skip


def gown_need(item: Item) -> int:
    """Two crews: CREW with trips of one and two box models, CREW2 with one; 8 shown in all."""
    plan = two_trips()
    other = session("S3", "ALFA", {TUE: ""}, crews=("CREW2",))
    plan = Plan(round_name="Tiny", sessions=(*plan.sessions, other), teams=plan.teams, trips=plan.trips)
    wider = trip("K2", plan.trips[1].days[0], box_models=2)
    third = trip("K3", CrewDay(date=TUE, sessions=("S3",)), crew_code="CREW2")
    training_round = hand_round((item,), crews=(crew(), crew("CREW2")))
    (found,) = order_lines(with_trips(plan, plan.trips[0], wider, third), training_round)
    return found.need


def test_reusables_are_what_all_crews_hold_at_once() -> None:
    assert gown_need(reusable(Per.CREW, 3)) == 6  # 3 × 2 crews
    assert gown_need(reusable(Per.STATION, 4)) == 12  # 4 × (2 box models of the larger trip + 1)


def test_a_short_life_adds_reusables() -> None:
    """8 shown × 4 ÷ 2 uses = 16 > 12; with 3 uses 10.7 → 11 < 12."""
    assert gown_need(reusable(Per.STATION, 4, uses=2)) == 16
    assert gown_need(reusable(Per.STATION, 4, uses=3)) == 12


def test_items_that_no_trip_needs_have_no_line() -> None:
    training_round = hand_round((thread(), reusable(Per.CREW, 0)))
    assert [found.item for found in order_lines(hand_plan(), training_round)] == ["THREAD"]
    assert order_lines(Plan(round_name="Tiny"), training_round) == ()
