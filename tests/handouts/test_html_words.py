"""How documents say dates, times, money and lists."""

from __future__ import annotations

from datetime import date

import pytest

from roundplan.domain.role import Shift
from roundplan.handouts import words

TUESDAY = date(2027, 3, 2)  # 2 March 2027 is a Tuesday (ISO 8601 week 2027-W09-2, calc)


def plain(text: str) -> str:
    return text.replace(words.HARD_SPACE, " ").replace("\N{WORD JOINER}", "")


def test_dates_carry_the_months_name() -> None:
    assert words.long_date(TUESDAY) == "Tuesday 2 March 2027"
    assert plain(words.short_date(TUESDAY)) == "Tue 2 Mar"
    assert plain(words.full_date(TUESDAY)) == "Tue 2 Mar 2027"


def test_dates_of_one_month_name_it_once() -> None:
    days = [date(2027, 3, 3), TUESDAY, date(2027, 4, 1), TUESDAY]
    assert words.dates_words(days) == "Tuesday 2, Wednesday 3 March and Thursday 1 April"


def test_a_stretch_names_the_year_twice_only_where_it_changes() -> None:
    assert words.span_words(TUESDAY, date(2027, 3, 5)) == "2 March to 5 March 2027"
    assert words.span_words(date(2026, 12, 30), date(2027, 1, 2)) == "30 December 2026 to 2 January 2027"
    assert words.span_words(TUESDAY, TUESDAY) == "Tuesday 2 March 2027"


def test_a_night_is_named_by_both_its_dates() -> None:
    assert words.shift_words(TUESDAY, Shift.DAY) == "Tuesday 2 March, by day"
    assert words.shift_words(TUESDAY, Shift.NIGHT) == "night of Tuesday 2 to Wednesday 3 March"
    assert words.shift_words(date(2027, 3, 31), Shift.NIGHT) == "night of Wednesday 31 March to Thursday 1 April"


def test_departures_round_down_and_arrivals_up() -> None:
    assert words.clock(7 * 3600 + 59) == "07:00"
    assert words.arrival(7 * 3600 + 59) == "07:01"
    assert words.arrival(24 * 3600 + 60) == "00:01 the next day"


@pytest.mark.parametrize(
    ("seconds", "said"), [(0, "0 min"), (59, "1 min"), (3600, "1 h"), (4801, "1 h 21 min"), (7200, "2 h")]
)
def test_durations_round_up_to_the_minute(seconds: int, said: str) -> None:
    assert plain(words.duration(seconds)) == said


def test_money_shows_decimals_only_where_an_amount_of_the_document_has_them() -> None:
    assert plain(words.Money("MWK", 2, [100, 200])(1_250_000)) == "MWK 12,500"
    assert plain(words.Money("MWK", 2, [100, 201])(1_250_000)) == "MWK 12,500.00"
    assert plain(words.Money("UGX", 0, [5])(12_500)) == "UGX 12,500"


def test_quantities_leave_short_units_alone() -> None:
    assert plain(words.quantity(30, "pair")) == "30 pairs"
    assert plain(words.quantity(1, "piece")) == "1 piece"
    assert plain(words.quantity(250, "ml")) == "250 ml"
    assert plain(words.quantity(0.5, "litre")) == "0.5 litres"
    assert plain(words.quantity(30, "min")) == "30 min"


@pytest.mark.parametrize(
    ("unit", "several"),
    [("box", "boxes"), ("set", "sets"), ("gift box", "gift boxes"), ("pouch", "pouches"), ("kg", "kg")],
)
def test_units_of_three_letters_have_a_plural(unit: str, several: str) -> None:
    assert plain(words.quantity(2, unit)) == f"2 {several}"
    assert plain(words.quantity(1, unit)) == f"1 {unit}"


@pytest.mark.parametrize(
    ("phone", "number"),
    [
        ("+265 (0) 888-000.111", "+2650888000111"),
        (" 0888 000 111 ", "0888000111"),
        ("0888 000 111 / 0999 000 111", ""),
        ("ward 3, ask for Sister", ""),
        ("javascript:alert(1)", ""),
        ("1" * 16, ""),
        ("", ""),
    ],
)
def test_only_what_is_one_number_can_be_dialled(phone: str, number: str) -> None:
    assert words.dialled(phone) == number


def test_lists_and_languages() -> None:
    assert words.list_words(["a", "b", "c"]) == "a, b and c"
    assert words.language("fr") == "French"
    assert words.language("qqq") == "qqq"
