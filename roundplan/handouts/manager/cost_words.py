"""Priced lines in the reader's language: what a line is for, and what it is counted in."""

from __future__ import annotations

import re
from datetime import date

from roundplan.domain.decision import CostLine
from roundplan.handouts.speech import message, say
from roundplan.handouts.words import full_date

_PARTS = {
    "vehicle": message("vehicle"),
    "drivers, days": message("drivers, days"),
    "drivers, nights": message("drivers, nights"),
    "days": message("days"),
    "nights away": message("nights away"),
    "days away": message("days away"),
    "nights lodged": message("nights lodged"),
    "printed sheets": message("printed sheets"),
}

_WHATS = (
    (re.compile(r"(?P<team>[^,]+), people of (?P<facility>.+?): (?P<what>.+)", re.S),
     message("{team}, people of {facility}: {what}")),
    (re.compile(r"(?P<who>.+?): (?P<what>.+)", re.S), message("{who}: {what}")),
    (re.compile(r"1 person, (?P<start>.+) to (?P<end>.+), (?P<date>\d{4}-\d\d-\d\d)", re.S),
     message("1 person, {start} to {end}, {date}")),
    (re.compile(r"(?P<people>[\d,]+) people, (?P<start>.+) to (?P<end>.+), (?P<date>\d{4}-\d\d-\d\d)", re.S),
     message("{people} people, {start} to {end}, {date}")),
    (re.compile(r"(?P<start>.+) to (?P<end>.+), (?P<date>\d{4}-\d\d-\d\d)", re.S), message("{start} to {end}, {date}")),
    (re.compile(r"lunches at (?P<venue>.+)", re.S), message("lunches at {venue}")),
    (re.compile(r"at (?P<place>.+)", re.S), message("at {place}")),
    (re.compile(r"(?P<crew>.+) at (?P<place>.+)", re.S), message("{crew} at {place}")),
    (re.compile(r"(?P<percent>[\d.]+) % of all other lines"), message("{percent} % of all other lines")),
)  # fmt: skip
"""How the texts of priced lines are made up (roundplan.costs); the first that fits counts."""

_UNITS = {
    "vehicle-day": message("vehicle-day"),
    "driver-day": message("driver-day"),
    "driver-night": message("driver-night"),
    "trainer-day": message("trainer-day"),
    "trainer-night": message("trainer-night"),
    "person-day": message("person-day"),
    "person-night": message("person-night"),
    "person-km": message("person-km"),
    "venue-day": message("venue-day"),
    "lunch": message("lunch"),
    "participant": message("participant"),
    "% of the sum": message("% of the sum"),
}
_PACK = re.compile(r"pack of (?P<size>\S+) (?P<unit>.+)", re.S)


def cost_what(text: str, line: str) -> str:
    """Say what a priced line is for; names of items, and texts that are put together otherwise, stay as they are."""
    return text if line == CostLine.CONSUMABLES.value else _what(text)


def _what(text: str) -> str:
    if text in _PARTS:
        return say(_PARTS[text])
    for pattern, words in _WHATS:
        if found := pattern.fullmatch(text):
            return say(words, **{name: _value(name, value) for name, value in found.groupdict().items()})
    return text


def _value(name: str, value: str) -> str:
    if name == "what":
        return _what(value)
    try:
        return full_date(date.fromisoformat(value)) if name == "date" else value
    except ValueError:
        return value


def cost_unit(text: str) -> str:
    """Say what a priced line is counted in."""
    if text in _UNITS:
        return say(_UNITS[text])
    found = _PACK.fullmatch(text)
    return say("pack of {size} {unit}", **found.groupdict()) if found else text
