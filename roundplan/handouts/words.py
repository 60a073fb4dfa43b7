"""How documents say dates, times, money, lengths and lists, in the language spoken; month names, never slashes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby

from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal

from roundplan.domain.clock import DAY, HOUR, MINUTE, clock_text
from roundplan.domain.plan import Plan
from roundplan.domain.role import Shift
from roundplan.handouts import speech
from roundplan.handouts.speech import apart, locale, say, sentence
from roundplan.handouts.units import with_unit

HARD_SPACE = "\N{NO-BREAK SPACE}"

DAY_OF_MONTH = {"en": "d MMMM", "fr": "d MMMM", "pt": "d 'de' MMMM", "sw": "d MMMM"}
"""A date without weekday and year; patterns of CLDR without the commas that they have before and after weekdays."""

YEAR = {"en": " y", "fr": " y", "pt": " 'de' y", "sw": " y"}
"""What follows where the year is said."""


_NUMBER = re.compile(r"\+?(?:[ ().-]*[0-9]){3,15}")
"""One telephone number, digits at most as ITU-T E.164 has them."""


def _date(day: date, pattern: str) -> str:
    """Write a date after a pattern of CLDR; the first of a month is ordinal in French."""
    if speech.language() == "fr" and day.day == 1:
        pattern = " ".join("'1er'" if part == "d" else part for part in pattern.split(" "))
    return str(format_date(day, pattern, locale=locale()))


def _unbroken(text: str) -> str:
    return text.replace(" ", HARD_SPACE)


def _month_day(weekday: bool = False, year: bool = False) -> str:
    spoken = speech.language()
    return ("EEEE " if weekday else "") + DAY_OF_MONTH[spoken] + (YEAR[spoken] if year else "")


def long_date(day: date) -> str:
    """Write a date with weekday, month name and year: ``Tuesday 2 March 2027``."""
    return _date(day, _month_day(weekday=True, year=True))


def day_date(day: date) -> str:
    """Write a date with weekday and month name: ``Tuesday 2 March``."""
    return _date(day, _month_day(weekday=True))


def short_date(day: date) -> str:
    """Write a date for narrow columns, unbroken: ``Tue 2 Mar``."""
    return _unbroken(_date(day, "EEE d MMM"))


def full_date(day: date) -> str:
    """Write a date with its year for narrow columns, unbroken: ``Tue 2 Mar 2027``."""
    return _unbroken(_date(day, "EEE d MMM y"))


def dates_words(days: Iterable[date]) -> str:
    """Write one date or several: ``Tuesday 2 and Wednesday 3 March`` without repeating the month."""
    return list_words(_dates(sorted(set(days))))


def _dates(ordered: Sequence[date]) -> list[str]:
    """Write dates, the month only where the next date has another one."""
    said = []
    for index, day in enumerate(ordered):
        same = index + 1 < len(ordered) and ordered[index + 1].month == day.month
        said.append(_date(day, "EEEE d") if same else day_date(day))
    return said


def compact_dates(days: Iterable[date]) -> str:
    """Write dates in runs: ``1–3 and 9 February 2027``."""
    ordered = sorted(set(days))
    said = []
    for (year, month), group in groupby(ordered, key=lambda day: (day.year, day.month)):
        starts: list[date] = []
        ends: list[date] = []
        for day in group:
            if ends and day - ends[-1] == timedelta(days=1):
                ends[-1] = day
            else:
                starts.append(day)
                ends.append(day)
        runs = [str(a.day) if a == b else f"{a.day}–{b.day}" for a, b in zip(starts, ends, strict=True)]
        name = _date(date(year, month, 2), _month_day(year=True).removeprefix("d"))
        said.append(list_words(runs) + name)
    return "; ".join(said)


def span_words(first: date, last: date) -> str:
    """Write a stretch of dates: ``1 March to 19 March 2027``."""
    if first == last:
        return long_date(first)
    start = _date(first, _month_day(year=first.year != last.year))
    return say("{first_day} to {last_day}", first_day=start, last_day=_date(last, _month_day(year=True)))


def shift_words(day: date, shift: Shift) -> str:
    """Write a shift: ``Tuesday 2 March, by day`` or ``night of Tuesday 2 to Wednesday 3 March``."""
    if shift is Shift.DAY:
        return say("{date}, by day", date=day_date(day))
    evening, morning = _dates((day, day + timedelta(days=1)))
    return say("night of {evening} to {morning}", evening=evening, morning=morning)


def clock(seconds: int, *, up: bool = False) -> str:
    """Write a time of day to the minute, ``08:30``: departures rounded down, arrivals up; past midnight says so."""
    whole = seconds + (-seconds % MINUTE if up else -(seconds % MINUTE))
    return say("{time} the next day", time=clock_text(whole - DAY)) if whole > DAY else clock_text(whole)


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
    if not hours:
        return _unbroken(say("{minutes} min", minutes=rest))
    if not rest:
        return _unbroken(say("{hours} h", hours=hours))
    return _unbroken(say("{hours} h {minutes} min", hours=hours, minutes=rest))


def number(value: float, digits: int = 1) -> str:
    """Write a number with thousands marked and at most ``digits`` decimals."""
    return str(format_decimal(round(value, digits), format="#,##0." + "#" * digits, locale=locale()))


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


def dialled(phone: str) -> str:
    """Return a telephone number as a phone dials it; empty where the text is not one number and nothing else."""
    return "".join(c for c in phone if c in "+0123456789") if _NUMBER.fullmatch(phone.strip()) else ""


def list_words(parts: Iterable[str]) -> str:
    """Join words: ``a, b and c``."""
    return sentence(str(format_list([str(apart(part)) for part in parts], locale=locale())))


def either_words(parts: Iterable[str]) -> str:
    """Join words of which one holds: ``a, b or c``."""
    return sentence(str(format_list([str(apart(part)) for part in parts], style="or", locale=locale())))


def quantity(value: float, unit: str) -> str:
    """Write a quantity of an item with its unit, unbroken: ``30 pairs``, ``1 piece``, ``2 boxes``, ``250 ml``."""
    return _unbroken(with_unit(number(value), value, unit))


def language(code: str) -> str:
    """Return the name of a language by its BCP 47 code; the code where there is none."""
    return str(locale().languages.get(code.replace("-", "_"), code))


def capital(text: str) -> str:
    """Return the text with its first letter as a capital, marks of reading direction left alone."""
    bare = text.lstrip("\u200e\u2066\u2067\u2068")
    return text[: len(text) - len(bare)] + bare[:1].upper() + bare[1:]


class Money:
    """Writes amounts of one currency the same way all through a document.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
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
        return str(format_decimal(Decimal(amount) / self.scale, format=self._pattern, locale=locale()))

    def __call__(self, amount: int) -> str:
        """Write an amount in minor units with its currency on the side where the language has it: ``MWK 12,500``."""
        first = str(locale().currency_formats["standard"].pattern).startswith("¤")
        parts = (self.currency, self.bare(amount)) if first else (self.bare(amount), self.currency)
        return HARD_SPACE.join(parts)


def version_words(plan: Plan, version: int | None = None) -> str:
    """Say which version a document is, and that a draft is one."""
    number = plan.version if version is None else version
    if plan.status == "draft":
        return say("version {number}, draft", number=number)
    return say("version {number}", number=number)
