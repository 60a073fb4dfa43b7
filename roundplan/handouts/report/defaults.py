"""Settings left at a default that rests on common practice only: what they mean and what stands there, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from babel.dates import get_day_names

from roundplan.domain.clock import clock_text
from roundplan.domain.role import Role, Surface, Weekend
from roundplan.domain.settings import SettingRow, setting_rows
from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import locale, message, say, several
from roundplan.handouts.terms import role_word, setting_meaning, surface_word
from roundplan.handouts.words import HARD_SPACE, capital, list_words, number, percent

WEEKENDS = {Weekend.HOME: message("home"), Weekend.AWAY: message("away"), Weekend.EITHER: message("either")}

_COUNTED: dict[str, Callable[[int], str]] = {
    "minutes": lambda value: several("{number} minute", "{number} minutes", value),
    "min": lambda value: several("{number} minute", "{number} minutes", value),
    "hours": lambda value: several("{number} hour", "{number} hours", value),
    "days": lambda value: several("{number} day", "{number} days", value),
    "nights": lambda value: several("{number} night", "{number} nights", value),
    "dates": lambda value: several("{number} date", "{number} dates", value),
    "slots": lambda value: several("{number} slot", "{number} slots", value),
    "simulations": lambda value: several("{number} simulation", "{number} simulations", value),
    "people": lambda value: several("{number} person", "{number} people", value),
    "seats": lambda value: several("{number} seat", "{number} seats", value),
    "shifts": lambda value: several("{number} shift", "{number} shifts", value),
}


def common_practice_table(index: PlanIndex) -> Table:
    """Return the settings left at a default that rests on common practice, each marked so."""
    settings = index.training_round.settings
    rows = [
        (capital(setting_meaning(row.meaning)), say("{value} (common practice)", value=value_words(row)))
        for row in setting_rows()
        if _is_common_practice(row) and getattr(getattr(settings, row.section), row.key) == row.default
    ]
    heads = (say("Setting"), say("Value in force"))
    return Table(say("Defaults in force that have no published source"), heads, rows)


def _is_common_practice(row: SettingRow) -> bool:
    return "common practice" in row.source or row.source.startswith("CP")


def value_words(row: SettingRow) -> str:
    """Write a setting's default with its unit."""
    value = row.default
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _number_words(value, row.unit)
    if isinstance(value, Mapping):
        return list_words(_entry_words(key, entry, row.unit) for key, entry in value.items())
    return _plain_words(value)


def _number_words(value: float, unit: str) -> str:
    if unit == "time":
        return clock_text(int(value))
    if unit == "share":
        return percent(value)
    if unit == "factor":
        return say("factor {value}", value=number(value, 2))
    if unit in _COUNTED and float(value).is_integer():
        return _COUNTED[unit](int(value))
    return f"{number(value, 2)}{HARD_SPACE}{unit}".strip()


def _entry_words(key: object, value: float, unit: str) -> str:
    """Write one entry of a small table by surface."""
    surface = surface_word(key) if isinstance(key, Surface) else str(key)
    return say("{surface} {length}", surface=surface, length=_number_words(value, "" if unit == "factor" else unit))


def _plain_words(value: object) -> str:
    if value is None:
        return say("as the rule says")
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, frozenset):
        names = get_day_names("wide", locale=locale())
        return list_words(str(names[day]) for day in sorted(value) if isinstance(day, int))
    if isinstance(value, tuple):
        return list_words(_plain_words(entry) for entry in value) if value else say("none")
    if isinstance(value, Role):
        return role_word(value)
    return say(WEEKENDS[value]) if isinstance(value, Weekend) else str(value)
