"""Sentences kept as a message and its values, so that each reader can be told them in their own language."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundplan.domain.date_text import compact_dates, day_text
from roundplan.domain.role import Lead, Role, Shift


class ValueKind(StrEnum):
    """What a value of a sentence is, and so how a language writes it."""

    TEXT = "text"
    NUMBER = "number"
    DATE = "date"
    DATES = "dates"
    ROLE = "role"
    LEAD = "lead"
    SHIFT = "shift"
    LANGUAGE = "language"
    PHRASE = "phrase"


class Phrase(str):
    """Words without values that are themselves said in the reader's language."""


class LanguageCode(str):
    """A language by its BCP 47 code, said by its name."""


class Dates(tuple[date, ...]):
    """Dates that are said together, in runs: ``1–3, 9 February 2027``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """One value of a sentence; several of the same name are said as a list of which one holds.

    Attributes
    ----------
    text : str
        Text as entered, a number in figures, dates (ISO 8601, blanks between), or the code of a role, lead, shift or
        language.
    """

    name: str
    kind: ValueKind
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """A sentence: an English message in which ``{name}`` stands for a value, and the values."""

    message: str
    values: tuple[Value, ...] = ()

    def __str__(self) -> str:
        """Return the sentence in English."""
        said: dict[str, list[str]] = {}
        for value in self.values:
            said.setdefault(value.name, []).append(_english(value))
        return self.message.format(**{name: " or ".join(words) for name, words in said.items()})


def saying(message: str, /, **values: object) -> Saying:
    """Return a sentence.

    Parameters
    ----------
    message : str
        The English sentence, written out where it is made so that it can be extracted for translation.
    **values
        Text, numbers, dates, roles, leads, shifts, ``Dates``, ``LanguageCode``, ``Phrase``, or several of these of
        which one holds.
    """
    kept = (_value(name, part) for name, value in values.items() for part in _parts(value))
    return Saying(message=message, values=tuple(kept))


def phrase(text: str) -> Phrase:
    """Return words that are said in the reader's language; marks them for translation."""
    return Phrase(text)


def _parts(value: object) -> Iterable[object]:
    return value if isinstance(value, tuple | list) and not isinstance(value, Dates) else (value,)


def _value(name: str, value: object) -> Value:
    if isinstance(value, Dates):
        return Value(name=name, kind=ValueKind.DATES, text=" ".join(day.isoformat() for day in sorted(set(value))))
    if isinstance(value, date):
        return Value(name=name, kind=ValueKind.DATE, text=value.isoformat())
    if isinstance(value, int | float):
        return Value(name=name, kind=ValueKind.NUMBER, text=f"{value:.12g}")
    kind = next((kind for python, kind in _KINDS if isinstance(value, python)), ValueKind.TEXT)
    return Value(name=name, kind=kind, text=str(value))


_KINDS: tuple[tuple[type, ValueKind], ...] = (
    (Role, ValueKind.ROLE),
    (Lead, ValueKind.LEAD),
    (Shift, ValueKind.SHIFT),
    (LanguageCode, ValueKind.LANGUAGE),
    (Phrase, ValueKind.PHRASE),
)


def _english(value: Value) -> str:
    if value.kind is ValueKind.DATE:
        return day_text(date.fromisoformat(value.text))
    if value.kind is ValueKind.DATES:
        return compact_dates(date.fromisoformat(text) for text in value.text.split())
    return value.text


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """A warning about the tables, for those who read a document.

    Attributes
    ----------
    file : str
        File, with its sheet where it is a workbook; empty for what concerns the whole round.
    row : int or None
        Row of the sheet, counting the heading as row 1; line of round.toml.
    column : str
        Column, or ``section.key`` of round.toml.
    said : Saying
        What is to be known; its value ``who`` is the code that the row is about.
    remedy : Saying or None
        What to do.
    """

    file: str
    row: int | None
    column: str
    said: Saying
    remedy: Saying | None = None
