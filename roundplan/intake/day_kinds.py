"""Cells with dates, weekdays and times of day."""

from __future__ import annotations

import calendar
import re
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from roundplan.domain.clock import clock_text, parse_clock
from roundplan.domain.date_text import MONTHS
from roundplan.domain.dates import WEEKDAY_CODES, DaySet
from roundplan.intake.finding import BadCell, quoted
from roundplan.intake.kinds import Kind

FIRST_YEAR, LAST_YEAR = 1950, 2150
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_ISO_TIME = re.compile(r"(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?)(Z|[+-]\d{2}:?\d{2})?", re.ASCII)
_DAY_FIRST = re.compile(r"(\d{1,2})\s*[./-]\s*(\d{1,2})(?:\s*[./-]\s*(\d{4}|\d{2}))?", re.ASCII)
_YEAR_FIRST = re.compile(r"(\d{4})\s*[./-]\s*(\d{1,2})\s*[./-]\s*(\d{1,2})", re.ASCII)
_SERIAL = re.compile(r"(\d{5})(?:\.0+)?", re.ASCII)
_DAY_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WRITE_ISO = "write year-month-day, such as 2027-02-01"


def _why_no_date(year: int | None, month: int, day: int) -> str:
    if not 1 <= month <= 12:
        return f"there is no month {month}"
    longest = calendar.monthrange(year or 2000, month)[1]
    if not 1 <= day <= longest:
        in_year = f" {year}" if year and month == 2 else ""
        return f"{MONTHS[month - 1]}{in_year} has {longest} days"
    return ""


def _checked(year: int, month: int, day: int) -> date:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise BadCell("bad-date", f"has the year {year}", f"enter a year from {FIRST_YEAR} to {LAST_YEAR}")
    why = _why_no_date(year, month, day)
    if why:
        raise BadCell("bad-date", f"is no date: {why}", "correct the day or the month")
    return date(year, month, day)


def _slashed(first: int, second: int, year_text: str | None) -> BadCell:
    """Say what is wrong with ``31/04`` or ``3/4/2027`` and offer what may be meant."""
    year = int(year_text) + (2000 if len(year_text) == 2 else 0) if year_text else None
    day_first, month_first = _why_no_date(year, second, first), _why_no_date(year, first, second)
    if day_first and month_first:
        why = day_first if 1 <= second <= 12 else month_first
        return BadCell("bad-date", f"is no date: {why}", WRITE_ISO)
    if year is None:
        return BadCell("bad-date", "is a date without its year", WRITE_ISO)
    offers = []
    if not day_first:
        offers.append(f"{year:04d}-{second:02d}-{first:02d} for {first} {MONTHS[second - 1]}")
    if not month_first and first != second:
        offers.append(f"{year:04d}-{first:02d}-{second:02d} for {second} {MONTHS[first - 1]}")
    return BadCell("bad-date", "is not written year-month-day", "write " + ", or ".join(offers))


def read_date(text: str, _digits: int = 0) -> date:
    """Read an ISO 8601 date; a midnight after it, as spreadsheets write, is taken off.

    Raises
    ------
    BadCell
        With the date offered for other ways of writing it.
    """
    timed = _ISO_TIME.fullmatch(text)
    if timed:
        if timed.group(2).strip("0:."):
            raise BadCell("bad-date", "is a date with a time of day", f"write {timed.group(1)}")
        text = timed.group(1)
    match = _ISO.fullmatch(text)
    if match:
        return _checked(*(int(part) for part in match.groups()))
    loose = _YEAR_FIRST.fullmatch(text)
    if loose:
        day = _checked(*(int(part) for part in loose.groups()))
        raise BadCell("bad-date", "is not written year-month-day with hyphens and two digits", f"write {day}")
    slashed = _DAY_FIRST.fullmatch(text)
    if slashed:
        raise _slashed(int(slashed.group(1)), int(slashed.group(2)), slashed.group(3))
    serial = _SERIAL.fullmatch(text)
    if serial:
        day = date(1899, 12, 30) + timedelta(days=int(serial.group(1)))
        raise BadCell("bad-date", "is a spreadsheet's number for a date", f"write {day} if that is the date meant")
    raise BadCell("bad-date", "is not a date", WRITE_ISO)


def read_clock(text: str, _digits: int = 0) -> int:
    """Read a time of day as seconds after midnight."""
    try:
        if not text.isascii():
            raise ValueError
        return parse_clock(text)
    except ValueError:
        raise BadCell("bad-time", "is not a time of day", "write hours and minutes, such as 08:30") from None


def _write_clock(value: Any, _digits: int) -> str:
    return clock_text(value)


def _write_iso(value: Any, _digits: int) -> str:
    return str(value.isoformat())


def parts_of(text: str) -> list[str]:
    """Split a list cell at its semicolons; empty parts are left out."""
    return [part.strip() for part in text.split(";") if part.strip()]


def refuse_commas(text: str) -> None:
    """Refuse a list cell whose parts are separated by commas."""
    if "," in text:
        parts = "; ".join(part.strip() for part in text.replace(";", ",").split(",") if part.strip())
        raise BadCell("comma-list", "has parts separated by commas", f"separate them by semicolons: {parts}")


def weekday(text: str) -> int:
    """Read a weekday code, Monday 0."""
    if text.upper() in WEEKDAY_CODES:
        return WEEKDAY_CODES.index(text.upper())
    for number, name in enumerate(_DAY_NAMES):
        if len(text) >= 2 and name.startswith(text.casefold().rstrip(".")):
            raise BadCell("bad-weekday", f"{quoted(text)} is not a weekday code", f"write {WEEKDAY_CODES[number]}")
    codes = ", ".join(WEEKDAY_CODES)
    raise BadCell("bad-weekday", f"{quoted(text)} is not a weekday code", f"use {codes}")


def _read_weekdays(text: str, _digits: int) -> frozenset[int]:
    refuse_commas(text)
    return frozenset(weekday(part) for part in parts_of(text))


def _write_weekdays(value: Any, _digits: int) -> str:
    return "; ".join(WEEKDAY_CODES[day] for day in sorted(value))


def _stretch(part: str) -> tuple[date, date]:
    first_text, _, last_text = part.partition("/")
    first, last = read_date(first_text.strip()), read_date(last_text.strip())
    if last < first:
        raise BadCell("ends-before-start", f"{quoted(part)} ends before it starts", "write the earlier date first")
    return first, last


def _read_days(text: str, _digits: int) -> DaySet:
    refuse_commas(text)
    weekdays, dates, stretches = set(), set(), []
    for part in parts_of(text):
        try:
            if part.count("/") == 1 and part.count("-") == 4:
                stretches.append(_stretch(part))
            elif part[0].isdigit():
                dates.add(read_date(part))
            else:
                weekdays.add(weekday(part))
        except BadCell as bad:
            words = bad.words if bad.words.startswith("“") else f"{quoted(part)} {bad.words}"
            raise BadCell(bad.code, words, bad.remedy) from None
    return DaySet(frozenset(weekdays), frozenset(dates), tuple(stretches))


def _write_days(value: Any, digits: int) -> str:
    parts = [WEEKDAY_CODES[day] for day in sorted(value.weekdays)]
    parts += [day.isoformat() for day in sorted(value.dates)]
    parts += [f"{first.isoformat()}/{last.isoformat()}" for first, last in value.stretches]
    return "; ".join(parts)


def _read_pauses(text: str, _digits: int) -> tuple[tuple[int, int], ...]:
    refuse_commas(text)
    pauses = []
    for part in parts_of(text):
        first_text, slash, last_text = part.partition("/")
        if not slash:
            raise BadCell("bad-time", f"{quoted(part)} is not a pause", "write start/end, such as 12:30/13:00")
        first, last = read_clock(first_text.strip()), read_clock(last_text.strip())
        if last <= first:
            raise BadCell("ends-before-start", f"{quoted(part)} ends before it starts", "write the earlier time first")
        pauses.append((first, last))
    for (_, earlier_to), (later_from, _) in pairwise(sorted(pauses)):
        if later_from < earlier_to:
            words = f"a pause starts at {clock_text(later_from)}, before the one until {clock_text(earlier_to)} is over"
            raise BadCell("overlap", words, "write them as one pause")
    return tuple(pauses)


def _write_pauses(value: Any, _digits: int) -> str:
    return "; ".join(f"{clock_text(first)}/{clock_text(last)}" for first, last in value)


DATE = Kind("date, year-month-day", read_date, _write_iso, date(2000, 1, 1), form="date")
CLOCK = Kind("time of day, HH:MM", read_clock, _write_clock, 0)
WEEKDAYS = Kind("weekdays MO–SU, separated by ;", _read_weekdays, _write_weekdays, frozenset(), form="list")
DAYS = Kind("MO–SU, dates, date/date, separated by ;", _read_days, _write_days, DaySet(), form="list")
PAUSES = Kind("HH:MM/HH:MM, separated by ;", _read_pauses, _write_pauses, (), form="list")
