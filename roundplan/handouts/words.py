"""How documents say dates, times, money, lengths and lists; month names, never dates with slashes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal

from roundplan.domain.clock import DAY, HOUR, MINUTE, clock_text
from roundplan.domain.counts import plural, unit_word
from roundplan.domain.plan import Plan
from roundplan.domain.role import Shift

LOCALE = "en_GB"
"""Locale of the sentences that the documents are written in."""

NUMBER_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
HARD_SPACE = "\N{NO-BREAK SPACE}"


def long_date(day: date) -> str:
    """Write a date with weekday, month name and year: ``Tuesday 2 March 2027``."""
    return str(format_date(day, "EEEE d MMMM y", locale=LOCALE))


def day_date(day: date) -> str:
    """Write a date with weekday and month name: ``Tuesday 2 March``."""
    return str(format_date(day, "EEEE d MMMM", locale=LOCALE))


def short_date(day: date) -> str:
    """Write a date for narrow columns, unbroken: ``Tue 2 Mar``."""
    return str(format_date(day, "EEE d MMM", locale=LOCALE)).replace(" ", HARD_SPACE)


def full_date(day: date) -> str:
    """Write a date with its year for narrow columns, unbroken: ``Tue 2 Mar 2027``."""
    return str(format_date(day, "EEE d MMM y", locale=LOCALE)).replace(" ", HARD_SPACE)


def dates_words(days: Iterable[date]) -> str:
    """Write one date or several: ``Tuesday 2 and Wednesday 3 March`` without repeating the month."""
    ordered = sorted(set(days))
    said = []
    for index, day in enumerate(ordered):
        same = index + 1 < len(ordered) and ordered[index + 1].month == day.month
        said.append(str(format_date(day, "EEEE d" if same else "EEEE d MMMM", locale=LOCALE)))
    return list_words(said)


def span_words(first: date, last: date) -> str:
    """Write a stretch of dates: ``1 March to 19 March 2027``."""
    if first == last:
        return long_date(first)
    start = "d MMMM" if first.year == last.year else "d MMMM y"
    return f"{format_date(first, start, locale=LOCALE)} to {format_date(last, 'd MMMM y', locale=LOCALE)}"


def shift_words(day: date, shift: Shift) -> str:
    """Write a shift: ``Tuesday 2 March, by day`` or ``night of Tuesday 2 to Wednesday 3 March``."""
    if shift is Shift.DAY:
        return f"{day_date(day)}, by day"
    return "night of " + dates_words((day, day + timedelta(days=1))).replace(" and ", " to ")


def clock(seconds: int, *, up: bool = False) -> str:
    """Write a time of day to the minute, ``08:30``: departures rounded down, arrivals up; past midnight says so."""
    whole = seconds + (-seconds % MINUTE if up else -(seconds % MINUTE))
    return f"{clock_text(whole - DAY)} the next day" if whole > DAY else clock_text(whole)


def moment(day: date, time: str) -> str:
    """Write a date and a time of it for narrow columns, unbroken: ``Tue 2 Mar 07:18``."""
    return f"{short_date(day)}{HARD_SPACE}{time}"


def clock_span(start: int, end: int) -> str:
    """Write a stretch of a day, unbroken: ``09:00–10:10``."""
    return f"{clock(start)}\N{WORD JOINER}–\N{WORD JOINER}{clock(end)}"


def arrival(seconds: int) -> str:
    """Write a time of arrival, rounded up to the minute."""
    return clock(seconds, up=True)


def duration(seconds: float) -> str:
    """Write a length of time to the minute, rounded up: ``1 h 20 min``."""
    minutes = -(-int(seconds) // MINUTE)
    hours, rest = divmod(minutes, HOUR // MINUTE)
    parts = [f"{hours}{HARD_SPACE}h"] * bool(hours) + [f"{rest}{HARD_SPACE}min"] * bool(rest or not hours)
    return HARD_SPACE.join(parts)


def number(value: float, digits: int = 1) -> str:
    """Write a number with thousands marked and at most ``digits`` decimals."""
    return str(format_decimal(round(value, digits), format="#,##0." + "#" * digits, locale=LOCALE))


def kilometres(value: float) -> str:
    """Write a road length in whole kilometres; below ten with one decimal."""
    return f"{number(value, 1 if value < 10 else 0)}{HARD_SPACE}km"


def kilograms(value: float) -> str:
    """Write a weight with at most one decimal."""
    return f"{number(value)}{HARD_SPACE}kg"


def percent(share: float) -> str:
    """Write a share of one in per cent, rounded to a whole number unless under one."""
    value = share * 100
    return f"{number(value, 1 if 0 < value < 1 else 0)}{HARD_SPACE}%"


def list_words(parts: Iterable[str]) -> str:
    """Join words: ``a, b and c``."""
    return str(format_list(list(parts), locale=LOCALE))


def quantity(value: float, unit: str) -> str:
    """Write a quantity of an item with its unit: ``30 pairs``, ``1 piece``, ``2 boxes``, ``250 ml``."""
    return f"{number(value)}{HARD_SPACE}{unit_word(value, unit)}"


def language(code: str) -> str:
    """Return the name of a language by its BCP 47 code; the code where there is none."""
    return str(Locale.parse(LOCALE).languages.get(code.replace("-", "_"), code))


def numeral(value: int) -> str:
    """Write a number up to twelve as a word."""
    return NUMBER_WORDS[value] if 0 <= value < len(NUMBER_WORDS) else number(value, 0)


def count(value: int, noun: str) -> str:
    """Write a count: ``two teams``, ``one person``, ``14 seats``, ``no team``."""
    return f"{numeral(value)} {noun if value in (0, 1) else plural(noun)}"


def capital(text: str) -> str:
    """Return the text with its first letter as a capital."""
    return text[:1].upper() + text[1:]


class Money:
    """Writes amounts of one currency the same way all through a document.

    Parameters
    ----------
    currency : str
        ISO 4217 code, written before the amount.
    digits : int
        Decimals of the currency; ``scale`` is the minor units in one whole.
    amounts : sequence of int
        All amounts of the document in minor units; where none has a fraction the decimals are left out.
    """

    def __init__(self, currency: str, digits: int, amounts: Sequence[int] = ()) -> None:
        self.currency = currency
        self.scale = 10**digits
        whole = all(amount % self.scale == 0 for amount in amounts)
        self._pattern = "#,##0" if whole or not digits else "#,##0." + "0" * digits

    def bare(self, amount: int) -> str:
        """Write an amount in minor units without the currency."""
        return str(format_decimal(Decimal(amount) / self.scale, format=self._pattern, locale=LOCALE))

    def __call__(self, amount: int) -> str:
        """Write an amount in minor units with its currency: ``MWK 12,500``."""
        return f"{self.currency}{HARD_SPACE}{self.bare(amount)}"


def version_words(plan: Plan, version: int | None = None) -> str:
    """Say which version a document is, and that a draft is one."""
    said = f"version {plan.version if version is None else version}"
    return f"{said}, draft" if plan.status == "draft" else said
