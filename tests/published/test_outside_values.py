"""Values from outside, each with its source; "calc" is worked out from the inputs stated beside it."""

from __future__ import annotations

import math
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hand_plans import MON, aboard, hand_round, session, trip
from rounds import crew, place, settings, thread, tiny_round

from roundplan.costs.pricing import price_plan, total
from roundplan.domain.dates import WEEKDAY_CODES, Window
from roundplan.domain.plan import CrewDay, Plan
from roundplan.domain.supply import Item, ItemKind, Per, Stock
from roundplan.supplies.loads import kit_allowance, load_trips
from roundplan.supplies.orders import order_lines, packs_for
from roundplan.supplies.quantities import trip_needs, with_wastage
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.daylight import Daylight
from roundplan.travel.distance import geodesic_km


def degrees(sign: int, whole: int, minutes: int, seconds: float) -> float:
    return sign * (whole + minutes / 60 + seconds / 3600)


# Distance


def test_flinders_peak_to_buninyong() -> None:
    """Geoscience Australia, worked example of Vincenty's formulae: 54,972.271 m on GRS80."""
    flinders = place("FLINDERS", degrees(-1, 37, 57, 3.72030), degrees(1, 144, 25, 29.52440))
    buninyong = place("BUNINYONG", degrees(-1, 37, 39, 10.15610), degrees(1, 143, 55, 35.38390))
    assert geodesic_km(flinders, buninyong) == pytest.approx(54.972271, abs=1e-6)


def test_lands_end_to_john_o_groats() -> None:
    """Published worked example of a geodesic calculator: 969,954.166 m."""
    lands_end, john_o_groats = place("SW", 50.06632, -5.71475), place("NE", 58.64402, -3.07009)
    assert geodesic_km(lands_end, john_o_groats) == pytest.approx(969.954166, abs=1e-6)


# Daylight

ALMANAC = [
    # US Naval Observatory, worked example of the sunrise algorithm, zenith 90°50′: 05:26 EDT
    (40.9, -74.3, "America/New_York", date(1990, 6, 25), "05:26", None),
    # calc by two methods that agree within 0.8 minutes
    (-13.9626, 33.7741, "Africa/Blantyre", date(2026, 6, 21), "06:08", "17:26"),  # Lilongwe
    (0.3476, 32.5825, "Africa/Kampala", date(2026, 6, 21), "06:47", "18:56"),  # Kampala
    (27.7172, 85.3240, "Asia/Kathmandu", date(2026, 12, 21), "06:50", "17:13"),  # Kathmandu
    (8.4657, -13.2317, "Africa/Freetown", date(2026, 12, 21), "07:02", "18:40"),  # Freetown
]


@pytest.mark.parametrize(("latitude", "longitude", "zone", "day", "rise", "fall"), ALMANAC)
def test_sunrise_and_sunset(
    latitude: float, longitude: float, zone: str, day: date, rise: str, fall: str | None
) -> None:
    training_round = tiny_round(
        settings=settings(round={"time_zone": zone}), places=(place("X", latitude, longitude), place("BASE", 0, 0))
    )
    sun = Daylight(training_round)
    for found, published in ((sun.sunrise("X", day), rise), (sun.sunset("X", day), fall)):
        if published is not None:
            hours, minutes = published.split(":")
            assert found == pytest.approx(int(hours) * 3600 + int(minutes) * 60, abs=120)


# Calendar

ISO_WEEKS = [  # ISO 8601
    (date(2005, 1, 1), (2004, 53, 6)),
    (date(2008, 12, 29), (2009, 1, 1)),
    (date(2010, 1, 3), (2009, 53, 7)),
    (date(2026, 12, 31), (2026, 53, 4)),
]


@pytest.mark.parametrize(("day", "week"), ISO_WEEKS)
def test_weekday_codes_follow_iso_weeks(day: date, week: tuple[int, int, int]) -> None:
    assert tuple(day.isocalendar()) == week
    assert WEEKDAY_CODES[day.weekday()] == ("MO", "TU", "WE", "TH", "FR", "SA", "SU")[week[2] - 1]


def test_ten_dates_in_a_row() -> None:
    """RFC 5545, DAILY;COUNT=10 from 2 September 1997: 2 to 11 September."""
    assert [day.day for day in Window(date(1997, 9, 2), date(1997, 9, 11))] == list(range(2, 12))


HOLIDAYS = {  # from memory, official gazettes
    "MW": {
        (1, 1), (1, 15), (3, 3), (4, 3), (4, 6), (5, 1), (5, 14), (7, 6), (10, 15), (12, 25), (12, 26),
    },
    "KE": {(1, 1), (4, 3), (4, 6), (5, 1), (6, 1), (10, 10), (10, 20), (12, 12), (12, 25), (12, 26)},
}  # fmt: skip


@pytest.mark.parametrize("country", sorted(HOLIDAYS))
def test_public_holidays_of_2026(country: str) -> None:
    """Fixed feasts and Easter (5 April 2026 by the Gregorian computus); lunar feasts come on top."""
    year = {"country": country, "first_day": date(2026, 1, 1), "last_day": date(2026, 12, 31)}
    calendar = WorkingCalendar(tiny_round(settings=settings(round=year)))
    for month, day in HOLIDAYS[country]:
        assert calendar.holiday(date(2026, month, day)), (country, month, day)
        assert date(2026, month, day) not in calendar.session_dates()
    plain = {(d.month, d.day) for d in Window(date(2026, 1, 1), date(2026, 12, 31)) if not calendar.holiday(d)}
    assert len(plain) >= 365 - 20
    assert {(2, 10), (8, 5), (9, 15), (11, 11)} <= plain


# Wastage, packs, orders


@pytest.mark.parametrize(
    ("percent", "factor"),
    [(5, 1.0526), (10, 1.1111), (15, 1.1765), (20, 1.25), (25, 1.3333), (30, 1.4286), (50, 2)],
)
def test_wastage_factor(percent: float, factor: float) -> None:
    """WHO immunisation logistics: 1 ÷ (1 − w), not 1 + w; training module: 30 % → 1.43; rest calc."""
    assert float(with_wastage(Fraction(1), percent)) == pytest.approx(factor, abs=5e-5)
    plan = shown(10_000)
    need = trip_needs(plan, hand_round((thread(wastage_percent=percent),)))["K1"]["THREAD"]
    assert need == math.ceil(Fraction(10_000 * 100, 100 - int(percent)))


def shown(simulations: int) -> Plan:
    """Return one trip on 1 June 2026 with so many simulations."""
    return Plan(
        round_name="Published",
        sessions=(session("S1", "ALFA", {MON: "s" * simulations}),),
        trips=(trip("K1", CrewDay(date=MON, sessions=("S1",))),),
    )


def test_combined_wastage() -> None:
    """WHO 2019: 1 − (1 − wc)^n (1 − wo) with wc .01, n 3, wo .10 is 12.67 %: losses one after the other."""
    combined = 1 - Fraction(99, 100) ** 3 * Fraction(90, 100)
    assert float(combined) * 100 == pytest.approx(12.67, abs=0.005)
    after_another = Fraction(1000)
    for percent in (1, 1, 1, 10):
        after_another = with_wastage(after_another, percent)
    assert after_another == 1000 / (1 - combined)
    assert trip_needs(shown(1000), hand_round((thread(wastage_percent=12.67),)))["K1"]["THREAD"] == 1146  # 1145.08


def test_pack_rounding() -> None:
    """Calc: 37 at 10 % wastage → 41.1 → 42; packs of 10 → 50."""
    item = thread(wastage_percent=10, pack_size=10, pack_price=7)
    (line,) = order_lines(shown(37), hand_round((item,)))
    assert float(with_wastage(Fraction(37), 10)) == pytest.approx(41.1, abs=0.02)
    assert (line.need, line.packs, line.packs * line.pack_size, line.amount) == (42, 5, 50, 35)


def test_order_up_to() -> None:
    """MDS-3, chapter 23 (memory, calc): C 120, LT 2, PP 3, SS 240 make Smax 840; less 300, 100: 440; packs: 450."""
    item = thread(spare=240, pack_size=50)
    stock = (
        Stock(item="THREAD", place="BASE", quantity=300),
        Stock(item="THREAD", place="BASE", quantity=100, due=date(2026, 5, 1)),
    )
    (line,) = order_lines(shown(120 * (2 + 3)), hand_round((item,), stock=stock))
    assert line.need + line.spare == 840
    assert (line.in_stock, line.due, line.short) == (300, 100, 440)
    assert line.packs * line.pack_size == 450
    assert packs_for(Fraction(440), 50) == 9


# Weights


def kit(code: str, number: float, kg: float, per: Per = Per.CREW) -> Item:
    return Item(code=code, name=code, kind=ItemKind.REUSABLE, per=per, quantity=number, unit="piece", unit_weight_kg=kg)


BARE = {"luggage_kg": 0.0, "payload_reserve": 0.0}
VAN = crew(payload_kg=3350.0 - 2740.0)


def test_payload_counts_people() -> None:
    """Calc: 3,350 kg gross − 2,740 kg kerb = 610 kg, less 5 × 75 kg, leaves 235 kg for kit."""
    assert kit_allowance(VAN, 5, settings(travel=BARE).travel) == 235


@pytest.mark.parametrize(("kg", "fits"), [(235.0, True), (235.1, False)])
def test_a_full_van_weighs_its_payload(kg: float, fits: bool) -> None:
    rules, full = settings(travel=BARE), CrewDay(date=MON, sessions=("S1",), aboard=aboard("T1", "T2", "T3", "T4"))
    plan = Plan(round_name="Van", sessions=shown(1).sessions, trips=(trip("K1", full),))
    (loaded,) = load_trips(plan, hand_round((kit("KIT", 1, kg),), settings=rules, crews=(VAN,))).trips
    assert (loaded.weight_kg <= 610) is fits
    assert loaded.weight_kg == pytest.approx(375 + kg)


def test_weights_of_materials_add_up() -> None:
    """IOM: a lidded 14-litre bucket 0.78 kg or more; tarpaulin 190 g/m² (seen); polyethylene film 92 g/m² (calc)."""
    items = (kit("BUCKET", 4, 0.78), kit("TARPAULIN", 6, 0.190), kit("SHEET", 10, 0.092))
    rules = settings(travel=BARE | {"person_kg": 0.0})
    (loaded,) = load_trips(shown(2), hand_round(items, settings=rules)).trips
    assert loaded.weight_kg == pytest.approx(3.12 + 1.14 + 0.92)  # 4 buckets, 6 m² of tarpaulin, 10 m² of sheet


# Costs


def test_visit_cost_of_mali() -> None:
    """PMC6447136, table of visit costs, Mali: (2.1 people × 15 + transport 45) × 1.03 days = 78.8 a visit.

    Over 1,000 visits: 1,030 dates at 45.00, and 2.1 × 1,030 = 2,163 person-dates at 15.00: two trainers on each
    date and a third on 103 of them. Our lines: crew days and trainers.
    """
    start = date(2026, 1, 1)
    days = tuple(
        CrewDay(date=start + timedelta(days=n), aboard=aboard(*("T1", "T2", "T3")[: 3 if n < 103 else 2]))
        for n in range(1030)
    )
    plan = Plan(round_name="Mali", trips=(trip("K1", *days),))
    trainers = tuple(
        # day price 15.00 each, as the table has it
        type(person)(code=person.code, name=person.name, lives_at="BASE", leads=person.leads, day_price=1500)
        for person in tiny_round().trainers
    )
    prices = settings(prices={"driver_day": None, "driver_night": None})
    training_round = hand_round((), crews=(crew(price_per_day=4500),), trainers=trainers, settings=prices)
    entries = price_plan(plan, training_round)
    by_line = {name: sum(entry.amount for entry in entries if entry.line == name) for name in ("crew days", "trainers")}
    assert by_line == {"crew days": 1030 * 4500, "trainers": 2163 * 1500}
    assert total(entries) / 100 / 1000 == pytest.approx(78.8, abs=0.05)


def test_cost_of_a_use_of_a_home_made_model() -> None:
    """Open hardware write-up (seen; calc): 2.97 for about 50 uses, 0.42 + 0.11 a use: 0.589 a use.

    In tenths of a cent over 50 simulations: one model 2,970 and 50 × (420 + 110) = 26,500: 29,470 ÷ 50 = 589.4.
    """
    model = Item(
        code="MODEL", name="Model", kind=ItemKind.REUSABLE, per=Per.STATION, quantity=1, unit="piece", uses=50,
        pack_price=2970, lead_days=5,
    )  # fmt: skip
    parts = thread(pack_price=420), Item(
        code="FILL", name="Fill", kind=ItemKind.CONSUMABLE, per=Per.SIMULATION, quantity=1, unit="portion",
        pack_price=110, lead_days=5,
    )  # fmt: skip
    lines = order_lines(shown(50), hand_round((model, *parts)))
    assert sum(line.amount for line in lines) / 50 == pytest.approx(589, abs=0.5)
    assert order_lines(shown(51), hand_round((model,)))[0].packs == 2, "the fifty-first use needs a second model"


def test_one_wall_serves_two_simulations() -> None:
    """Common practice, no source."""
    layer = Item(code="LAYER", name="Layer", kind=ItemKind.CONSUMABLE, per=Per.WALL, quantity=1, unit="piece")
    needs = [trip_needs(shown(number), hand_round((layer,)))["K1"]["LAYER"] for number in (1, 2, 3, 8)]
    assert needs == [1, 1, 2, 4]
