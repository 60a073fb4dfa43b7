"""What the audit finds wrong, and how it is put into words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from roundplan.domain.clock import DAY, clock_text
from roundplan.domain.role import Role, Shift
from roundplan.domain.rules import Rule


@dataclass(frozen=True, slots=True)
class Breach:
    """One thing in a plan that is not as it must be.

    Attributes
    ----------
    rule : Rule or None
        The hard rule that is broken; None where a listed figure is not what it comes to.
    words : str
        One sentence with people, place, day and figures.
    people : tuple of str
        Codes of the people or trainers concerned.
    place : str or None
        Code of the facility or place concerned.
    date : date or None
        Date concerned.
    """

    rule: Rule | None
    words: str
    people: tuple[str, ...] = ()
    place: str | None = None
    date: date | None = None


def describe(breaches: Iterable[Breach]) -> list[str]:
    """Return one line a breach, led by its rule's code; control characters in names are taken out."""
    return [printable(f"{found.rule or 'figures'}: {found.words}") for found in breaches]


def printable(text: str) -> str:
    """Return the text with a space for every character that is not printed."""
    return "".join(character if character.isprintable() else " " for character in text)


def day_words(day: date) -> str:
    """Return a date such as ``Tue 2 Feb 2027``."""
    return f"{day:%a} {day.day} {day:%b} {day.year}"


def shift_words(day: date, shift: Shift) -> str:
    """Return a shift such as ``by day on Tue 2 Feb 2027``."""
    return f"by day on {day_words(day)}" if shift is Shift.DAY else f"in the night of {day_words(day)}"


def clock_words(seconds: int) -> str:
    """Return a time of day, also where it lies outside the day."""
    return clock_text(seconds) if 0 <= seconds <= DAY else f"{seconds} s after midnight"


def duration_words(seconds: float) -> str:
    """Return a length of time in hours and minutes; seconds where they are not nought."""
    if seconds < 0:
        return f"−{duration_words(-seconds)}"
    minutes, spare = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" + (f" {spare} s" if spare else "")


def roles_words(roles: Iterable[Role]) -> str:
    """Return roles as a list, a repeated role with its number."""
    counted: dict[Role, int] = {}
    for role in roles:
        counted[role] = counted.get(role, 0) + 1
    return ", ".join(f"{number} × {role.value}" if number > 1 else role.value for role, number in counted.items())
