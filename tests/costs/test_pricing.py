"""Every cost line added up on paper; the plan and its prices are told in ``hand_plans``."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest
from hand_plans import MON, TUE, hand_plan, hand_round, with_trips
from rounds import crew, facility, host, settings, thread

from roundplan.costs.pricing import left_out_lines, price_plan, total
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import Aboard, CostEntry, Plan
from roundplan.domain.supply import ItemKind
from roundplan.domain.training_round import TrainingRound

LINES = {
    CostLine.CREW_TRAVEL: 708,  # two legs of round(50.5 km × 7 = 353.5) = 354, the even one
    CostLine.CREW_DAYS: 87,  # vehicle 2 × 40, driver 2 days × 2 and 1 night × 3
    CostLine.TRAINERS: 95,  # 2 days × (10 + 8 + 12 + the round's 10) and 3 nights away × 5; T3 sleeps at home
    CostLine.PARTICIPANTS: 30,  # BETA's 3 people: 2 dates away × 3 and 1 night × 4
    CostLine.PARTICIPANT_TRAVEL: 180,  # 2 drives × 3 people × round(30.5 km × 1) = 30
    CostLine.VENUES: 40,  # 2 dates × 20
    CostLine.LODGING: 42,  # at 6: 3 participants, 3 trainers away from home, 1 driver
    CostLine.LUNCHES: 16,  # each date 3 participants, 4 trainers, 1 driver
    CostLine.CONSUMABLES: 75,  # 6 shown × 5 = 30 threads: 3 packs of 10 × 25
    CostLine.PRINTING: 6,  # 6 participants
    CostLine.CONTINGENCY: 128,  # 10 % of 1,279 = 127.9, rounded up
}


def by_line(plan: Plan, training_round: TrainingRound) -> dict[CostLine, int]:
    sums: dict[CostLine, int] = {}
    for entry in price_plan(plan, training_round):
        sums[CostLine(entry.line)] = sums.get(CostLine(entry.line), 0) + entry.amount
    return sums


def entries_of(line: CostLine, training_round: TrainingRound, plan: Plan | None = None) -> list[CostEntry]:
    return [entry for entry in price_plan(plan or hand_plan(), training_round) if entry.line == line.value]


def test_every_line_of_the_hand_written_plan() -> None:
    assert by_line(hand_plan(), hand_round()) == LINES
    assert total(price_plan(hand_plan(), hand_round())) == 1279 + 128


def test_lines_stand_in_order_with_contingency_last() -> None:
    order = list(dict.fromkeys(entry.line for entry in price_plan(hand_plan(), hand_round())))
    assert order == [line.value for line in CostLine]


def test_entries_say_what_how_many_and_where() -> None:
    leg, _ = entries_of(CostLine.CREW_TRAVEL, hand_round())
    assert (leg.quantity, leg.unit, leg.price, leg.amount) == (50.5, "km", 7, 354)
    assert (leg.trip, leg.session) == ("K1", None)
    assert leg.what == "CREW: BASE to ALFA, 2026-06-01"
    fare, _ = entries_of(CostLine.PARTICIPANT_TRAVEL, hand_round())
    assert (fare.quantity, fare.unit, fare.price, fare.amount, fare.session) == (91.5, "person-km", 1, 90, "S1")
    (packs,) = entries_of(CostLine.CONSUMABLES, hand_round())
    assert (packs.what, packs.quantity, packs.unit, packs.price) == ("Thread", 3, "pack of 10 pieces", 25)


def test_amounts_are_quantity_times_price_wherever_nothing_is_rounded() -> None:
    rounded = {CostLine.CREW_TRAVEL.value, CostLine.PARTICIPANT_TRAVEL.value, CostLine.CONTINGENCY.value}
    plain = [entry for entry in price_plan(hand_plan(), hand_round()) if entry.line not in rounded]
    assert len(plain) >= 12
    for entry in plain:
        assert entry.amount == entry.quantity * entry.price


@pytest.mark.parametrize(
    ("key", "line", "left"),
    [
        ("participant_day", CostLine.PARTICIPANTS, 12),
        ("participant_night", CostLine.PARTICIPANTS, 18),
        ("trainer_day", CostLine.TRAINERS, 75),  # those with a price of their own keep it
        ("trainer_night", CostLine.TRAINERS, 80),
        ("driver_day", CostLine.CREW_DAYS, 83),
        ("driver_night", CostLine.CREW_DAYS, 84),
        ("fare_per_km", CostLine.PARTICIPANT_TRAVEL, 0),
        ("lunch", CostLine.LUNCHES, 0),
        ("venue_day", CostLine.VENUES, 0),
        ("lodging", CostLine.LODGING, 42),  # ALFA has a price of its own
        ("printing", CostLine.PRINTING, 0),
    ],
)
def test_a_price_left_out_takes_its_line_out_and_is_told(key: str, line: CostLine, left: int) -> None:
    out = hand_round(settings=settings(prices={"contingency_percent": 10.0, key: 0, "left_out": frozenset({key})}))
    sums = by_line(hand_plan(), out)
    assert sums.get(line, 0) == left
    others = {other: amount for other, amount in LINES.items() if other not in (line, CostLine.CONTINGENCY)}
    assert {other: sums[other] for other in others} == others
    (words,) = left_out_lines(out)
    assert words.startswith(f"{line.value}: ")
    assert not any(entry.price == 0 for entry in price_plan(hand_plan(), out))


def test_nothing_is_left_out_by_default() -> None:
    assert left_out_lines(hand_round()) == ()


def test_prices_of_the_tables_come_first() -> None:
    sites = (
        host("ALFA", 0.3, 0.3, lodging_price=9, day_price=11),
        facility("BETA", 0.3, 0.6, transport_price=3),
    )
    sums = by_line(hand_plan(), hand_round(facilities=sites))
    assert sums[CostLine.VENUES] == 22
    assert sums[CostLine.LODGING] == 63  # 7 person-nights × 9
    assert sums[CostLine.PARTICIPANT_TRAVEL] == 552  # 2 × 3 × round(91.5) = 92, the even one


def test_a_venue_with_price_nought_is_free() -> None:
    free = (host("ALFA", 0.3, 0.3, lodging_price=6, day_price=0), facility("BETA", 0.3, 0.6))
    (venue,) = entries_of(CostLine.VENUES, hand_round(facilities=free))
    assert (venue.quantity, venue.price, venue.amount) == (2, 0, 0)


def test_two_drivers_are_two_people() -> None:
    """Days 80 + 2 × 2 × 2 + 2 × 3 = 94; lodging one bed more; a lunch more on each date."""
    sums = by_line(hand_plan(), hand_round(crews=(crew(price_per_km=7, price_per_day=40, drivers=2),)))
    assert (sums[CostLine.CREW_DAYS], sums[CostLine.LODGING], sums[CostLine.LUNCHES]) == (94, 48, 18)


def test_a_trainer_who_leaves_in_the_evening_has_no_night_away() -> None:
    plan = hand_plan()
    monday, tuesday = plan.trips[0].days
    leaves = (*monday.aboard[:-1], Aboard(trainer="T4", leaves_at="ALFA"))
    days = (dataclasses.replace(monday, aboard=leaves), dataclasses.replace(tuesday, aboard=tuesday.aboard[:-1]))
    shorter = with_trips(plan, dataclasses.replace(plan.trips[0], days=days))
    sums = by_line(shorter, hand_round())
    assert sums[CostLine.TRAINERS] == 80  # 2 × (10 + 8 + 12) + 10, nights of T1 and T2 × 5
    assert sums[CostLine.LODGING] == 36
    assert sums[CostLine.LUNCHES] == 15


def test_there_and_back_on_the_day_is_one_day_away_without_a_night() -> None:
    plan = hand_plan()
    ours, theirs = plan.teams
    (outing,) = theirs.outings
    out, back = (dataclasses.replace(drive, date=TUE) for drive in outing.drives)
    daily = dataclasses.replace(theirs, outings=(dataclasses.replace(outing, drives=(out, back), nights=()),))
    sums = by_line(dataclasses.replace(plan, teams=(ours, daily)), hand_round())
    assert sums[CostLine.PARTICIPANTS] == 9  # 3 people × 1 date × 3
    assert sums[CostLine.LODGING] == 24
    assert sums[CostLine.PARTICIPANT_TRAVEL] == 180


def test_the_morrow_of_a_night_is_a_day_away() -> None:
    """A team of Monday that sleeps on and drives home on Tuesday is away on both dates."""
    plan = hand_plan()
    ours, theirs = plan.teams
    sums = by_line(dataclasses.replace(plan, teams=(ours, dataclasses.replace(theirs, dates=(MON,)))), hand_round())
    assert sums[CostLine.PARTICIPANTS] == 30


def test_stock_lowers_and_spare_raises_the_packs() -> None:
    (packs,) = entries_of(CostLine.CONSUMABLES, hand_round((thread(quantity=5, spare=1, pack_price=25),)))
    assert (packs.quantity, packs.amount) == (31, 775)


def test_reusables_are_ordered_but_are_no_consumables() -> None:
    bought = dataclasses.replace(thread(quantity=5, pack_size=10, pack_price=25), code="BOX", kind=ItemKind.REUSABLE)
    (packs,) = entries_of(CostLine.CONSUMABLES, hand_round((bought, thread(pack_price=2))))
    assert (packs.quantity, packs.amount) == (6, 12)


def test_items_without_a_price_are_not_priced() -> None:
    assert entries_of(CostLine.CONSUMABLES, hand_round((thread(pack_price=None),))) == []


@pytest.mark.parametrize(
    ("percent", "amount"), [(0.0, None), (0.1, 2), (2.5, 32), (100.0, 1279)]
)  # 1.279, 31.975 and 1,279, rounded up
def test_contingency_is_rounded_up(percent: float, amount: int | None) -> None:
    sums = by_line(hand_plan(), hand_round(settings=settings(prices={"contingency_percent": percent})))
    assert sums.get(CostLine.CONTINGENCY) == amount


def test_contingency_is_exact() -> None:
    """1.1 % of 3,000 is 33, where float arithmetic gives 33.00000000000001 and so 34."""
    prices: dict[str, Any] = dict.fromkeys(
        ("participant_day", "participant_night", "trainer_day", "trainer_night", "driver_day", "driver_night",
         "fare_per_km", "lunch", "venue_day", "lodging", "printing"), None,
    )  # fmt: skip
    priced = settings(prices=prices | {"venue_day": 1500, "contingency_percent": 1.1})
    plan = with_trips(hand_plan())
    entries = price_plan(
        plan, hand_round((), settings=priced, facilities=(host("ALFA", 0.3, 0.3), facility("BETA", 1, 1)))
    )
    assert [(entry.line, entry.amount) for entry in entries] == [("venues", 3000), ("contingency", 33)]


def test_an_empty_plan_costs_nothing() -> None:
    assert price_plan(Plan(round_name="Tiny"), hand_round()) == ()
