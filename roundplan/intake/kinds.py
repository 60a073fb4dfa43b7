"""What a cell can hold: plain text, codes, numbers, money. One reader and one writer a kind."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from roundplan.domain.counts import counted
from roundplan.intake.finding import BadCell, quoted

Form = Literal["text", "number", "date", "yes/no", "list", "table"]
Reader = Callable[[str, int], Any]
Writer = Callable[[Any, int], str]


@dataclass(frozen=True, slots=True)
class Kind:
    """How cells of a column are read and written.

    Attributes
    ----------
    words : str
        What the guide says a cell holds.
    read : callable
        Takes the cleaned, non-blank text and the decimals of the currency; returns the value or raises
        :class:`~roundplan.intake.finding.BadCell`.
    write : callable
        Takes a value and the decimals of the currency; returns the text.
    fallback : object
        Stands in for a cell that cannot be read, so that other checks can go on; such a round is never returned.
    choices : tuple of str
        Words of a drop-down.
    form : str
        How the value is written in round.toml.
    """

    words: str
    read: Reader
    write: Writer
    fallback: Any
    choices: tuple[str, ...] = ()
    form: Form = "text"


LONGEST_TEXT = 2000
LONGEST_CODE = 60
MOST_MINOR_UNITS = 10**15
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_GROUPED = re.compile(r"[+-]?\d{1,3}([, '’]\d{3})+(\.\d+)?", re.ASCII)
_GROUPED_BY_POINT = re.compile(r"[+-]?\d{1,3}(\.\d{3})+,\d+", re.ASCII)
_BAD_IN_CODE = re.compile(r"[;,/\\\"<>|]")


def _plain(value: Any, _digits: int) -> str:
    return str(value)


def _read_text(text: str, _digits: int) -> str:
    if len(text) > LONGEST_TEXT:
        raise BadCell("too-long", f"is longer than {LONGEST_TEXT} characters", "shorten it")
    return text


def read_code(text: str, _digits: int = 0) -> str:
    """Read the code of a row; codes stand in lists and in file names, so some characters are out."""
    bad = _BAD_IN_CODE.search(text)
    if bad:
        words = f"has {quoted(bad.group())}, which a code cannot have"
        raise BadCell("bad-code", words, "use letters, digits, - and _")
    if text.startswith("."):
        raise BadCell("bad-code", "starts with a full stop, which a code cannot", "use letters, digits, - and _")
    if len(text) > LONGEST_CODE:
        raise BadCell("bad-code", f"is longer than {LONGEST_CODE} characters, too long for a code", "shorten it")
    return text


TEXT = Kind("text", _read_text, _plain, "")
CODE = Kind("code", read_code, _plain, "")


def parse_decimal(text: str) -> Decimal:
    """Read a number with a decimal point.

    Raises
    ------
    BadCell
        With a hint for decimal commas, grouped thousands and per cent signs.
    """
    if len(text) <= 40 and _NUMBER.fullmatch(text):
        return Decimal(text)
    if _GROUPED_BY_POINT.fullmatch(text):
        plain = text.replace(".", "").replace(",", ".")
        raise BadCell("decimal-comma", "has a decimal comma and grouped thousands", f"write {plain}")
    if _GROUPED.fullmatch(text):
        plain = re.sub(r"[, '’]", "", text)
        point = f" (or {text.replace(',', '.')}, if the comma is a decimal comma)" if text.count(",") == 1 else ""
        point = "" if "." in text else point
        raise BadCell("grouped-number", "has its thousands grouped", f"write {plain}{point}")
    if _DECIMAL_COMMA.fullmatch(text):
        raise BadCell("decimal-comma", "has a decimal comma", f"write {text.replace(',', '.')}")
    if text.endswith("%") and _NUMBER.fullmatch(text[:-1].strip()):
        raise BadCell("not-a-number", "has a per cent sign", f"write {text[:-1].strip()}")
    raise BadCell("not-a-number", "is not a number", "write digits, with a point for decimals, such as 12.5")


def whole(low: int, high: int) -> Kind:
    """Return the kind of a whole number between two bounds, both included."""

    def read(text: str, _digits: int) -> int:
        value = parse_decimal(text)
        if abs(value) > 10**12 or not low <= value <= high:
            raise BadCell("out-of-range", "is out of range", f"enter {low} to {high}")
        if value != int(value):
            raise BadCell("not-whole", "is not a whole number", f"enter a whole number, {low} to {high}")
        return int(value)

    return Kind(f"whole number, {low} to {high}", read, _plain, low, form="number")


def number(low: float, high: float, *, above_low: bool = False, below_high: bool = False) -> Kind:
    """Return the kind of a number between two bounds, included unless told otherwise."""
    start = f"more than {low:g}" if above_low else f"{low:g}"
    words = f"{start} to {'less than ' if below_high else ''}{high:g}"

    def read(text: str, _digits: int) -> float:
        value = float(parse_decimal(text))
        inside = (value > low if above_low else value >= low) and (value < high if below_high else value <= high)
        if not inside:
            raise BadCell("out-of-range", "is out of range", f"enter {words}")
        return value + 0.0

    def write(value: Any, _digits: int) -> str:
        return repr(int(value)) if float(value).is_integer() and abs(value) < 10**15 else repr(float(value))

    return Kind(f"number, {words}", read, write, high if above_low else low, form="number")


def _read_money(text: str, digits: int) -> int:
    minor = parse_decimal(text).scaleb(digits)
    if not 0 <= minor <= MOST_MINOR_UNITS:
        raise BadCell("out-of-range", "is out of range", "enter an amount of 0 or more")
    if minor != int(minor):
        words = "has more decimals than the currency" if digits else "has decimals, which the currency has not"
        remedy = f"enter at most {counted(digits, 'decimal')}" if digits else "round it"
        raise BadCell("too-many-decimals", words, remedy)
    return int(minor)


def money_text(minor: int, digits: int) -> str:
    """Write an amount of minor units in major ones, with a decimal point and no grouping."""
    return format(Decimal(minor).scaleb(-digits), "f")


MONEY = Kind("amount in the round's currency", _read_money, money_text, 0, form="number")
