"""Plans as JSON and back, by the type hints of :mod:`roundplan.domain.plan`.

Dates are ISO 8601, times of day ``HH:MM`` or ``HH:MM:SS``, enums their values, tuples lists, money minor units. Every
field is written, keys in alphabetical order, so that equal plans give equal text. Reading is strict: a key too many
or too few, a wrong type or a value out of its list is refused with its place in the file.
"""

from __future__ import annotations

import dataclasses
import json
import math
import re
import types
import typing
from collections.abc import Callable
from datetime import date
from enum import Enum
from functools import cache
from typing import Any, Union, cast

from roundplan.domain.clock import DAY, clock_text, parse_clock
from roundplan.domain.counts import counted
from roundplan.domain.plan import PLAN_FORMAT, Plan

CLOCK_FIELDS = frozenset({"start", "end", "depart", "arrive"})
"""Whole numbers in fields of these names are times of day, in seconds after midnight."""

CLOCK_PATTERN = r"^(?:(?:[01]\d|2[0-3]):[0-5]\d(?::[0-5]\d)?|24:00)$"
DATE_PATTERN = r"^\d{4}-\d{2}-\d{2}$"


class PlanFileError(ValueError):
    """A plan file that cannot be read.

    Attributes
    ----------
    path : str
        Place in the file, such as ``$.sessions[0].days[1].start``; ``$`` is the whole.
    words : str
        What is wrong.
    """

    def __init__(self, path: str, words: str) -> None:
        self.path = path
        self.words = words
        super().__init__(f"{path}: {words}")


def plan_to_json(plan: Plan) -> str:
    """Write a plan as JSON text that ends with a line feed.

    Raises
    ------
    ValueError
        If a time of day lies outside 00:00 to 24:00 or a number is not finite.
    """
    return json.dumps(encode(plan), ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False) + "\n"


def plan_from_json(text: str) -> Plan:
    """Read a plan from JSON text.

    Raises
    ------
    PlanFileError
        If the text is no JSON or no plan of this program's format; names the place.
    """
    try:
        raw = json.loads(text, object_pairs_hook=_no_key_twice, parse_constant=_no_constant)
    except PlanFileError:
        raise
    except json.JSONDecodeError as error:
        raise PlanFileError("$", f"is no JSON: {error.msg} in line {error.lineno}, column {error.colno}") from None
    except (ValueError, RecursionError):
        raise PlanFileError("$", "is no JSON that can be read: a number too long or brackets too deep") from None
    if isinstance(raw, dict) and raw.get("format") != PLAN_FORMAT:
        found = json.dumps(raw.get("format"))[:40]
        raise PlanFileError("$.format", f"is {found}; this program reads format {PLAN_FORMAT}")
    return cast(Plan, decode(Plan, raw, "$"))


@cache
def hints_of(kind: type[Any]) -> dict[str, Any]:
    """Return the types of a dataclass's fields, by name."""
    hints = typing.get_type_hints(kind)
    return {field.name: hints[field.name] for field in dataclasses.fields(kind)}


def is_optional(hint: Any) -> bool:
    """Whether the hint is a type or None."""
    return typing.get_origin(hint) in (Union, types.UnionType) and type(None) in typing.get_args(hint)


def inner_of(hint: Any) -> Any:
    """Return the type beside None of an optional hint."""
    (inner,) = (part for part in typing.get_args(hint) if part is not type(None))
    return inner


def is_clock(name: str, hint: Any) -> bool:
    """Whether a field of this name and type is a time of day."""
    return name in CLOCK_FIELDS and hint is int


def encode(value: Any) -> Any:
    """Return a dataclass of the plan as what JSON knows."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [encode(part) for part in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        hints = hints_of(type(value))
        return {name: _encode_field(name, hint, getattr(value, name)) for name, hint in hints.items()}
    return value


def _encode_field(name: str, hint: Any, value: Any) -> Any:
    if is_clock(name, hint):
        if not 0 <= value <= DAY:
            raise ValueError(f"{name}: {value} seconds after midnight is no time of day")
        return clock_text(value)
    return float(value) if hint is float else encode(value)


def decode(hint: Any, raw: Any, path: str) -> Any:
    """Read what JSON holds as a value of the given type.

    Raises
    ------
    PlanFileError
        With the place in the file, if it is none.
    """
    if is_optional(hint):
        return None if raw is None else decode(inner_of(hint), raw, path)
    if typing.get_origin(hint) is tuple:
        return _decode_tuple(typing.get_args(hint), raw, path)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _decode_enum(hint, raw, path)
    if dataclasses.is_dataclass(hint):
        return _decode_object(cast(type, hint), raw, path)
    return _SCALARS[hint](raw, path)


def _decode_object(kind: type, raw: Any, path: str) -> Any:
    if not isinstance(raw, dict):
        raise PlanFileError(path, f"is {_kind_words(raw)} where an object is wanted")
    hints = hints_of(kind)
    for name in sorted(raw.keys() - hints.keys()):
        raise PlanFileError(path, f"holds {json.dumps(name)[:60]}, which is no part of it")
    for name in hints:
        if name not in raw:
            raise PlanFileError(path, f"lacks {json.dumps(name)}")
    values = {
        name: _decode_clock(raw[name], f"{path}.{name}")
        if is_clock(name, hint)
        else decode(hint, raw[name], f"{path}.{name}")
        for name, hint in hints.items()
    }
    return kind(**values)


def _decode_tuple(parts: tuple[Any, ...], raw: Any, path: str) -> tuple[Any, ...]:
    if not isinstance(raw, list):
        raise PlanFileError(path, f"is {_kind_words(raw)} where a list is wanted")
    if parts[-1] is Ellipsis:
        return tuple(decode(parts[0], part, f"{path}[{index}]") for index, part in enumerate(raw))
    if len(raw) != len(parts):
        raise PlanFileError(path, f"has {counted(len(raw), 'entry')} where {len(parts)} are wanted")
    return tuple(
        decode(part, entry, f"{path}[{index}]") for index, (part, entry) in enumerate(zip(parts, raw, strict=True))
    )


def _decode_enum(kind: type[Enum], raw: Any, path: str) -> Enum:
    known = [member.value for member in kind]
    if not isinstance(raw, str) or raw not in known:
        raise PlanFileError(path, f"is {json.dumps(raw)[:60]}; known are {', '.join(known)}")
    return kind(raw)


def _decode_clock(raw: Any, path: str) -> int:
    text = _decode_text(raw, path)
    if not re.fullmatch(CLOCK_PATTERN, text, re.ASCII):
        raise PlanFileError(path, f"is {json.dumps(text)[:40]}, which is no time of day such as 08:30")
    return parse_clock(text)


def _decode_date(raw: Any, path: str) -> date:
    text = _decode_text(raw, path)
    try:
        if re.fullmatch(DATE_PATTERN, text, re.ASCII):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise PlanFileError(path, f"is {json.dumps(text)[:40]}, which is no date such as 2027-03-02")


def _decode_text(raw: Any, path: str) -> str:
    if not isinstance(raw, str):
        raise PlanFileError(path, f"is {_kind_words(raw)} where text is wanted")
    return raw


def _decode_int(raw: Any, path: str) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise PlanFileError(path, f"is {_kind_words(raw)} where a whole number is wanted")
    return raw


def _decode_float(raw: Any, path: str) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        raise PlanFileError(path, f"is {_kind_words(raw)} where a number is wanted")
    try:
        number = float(raw)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise PlanFileError(path, "is a number too large")
    return number


def _decode_bool(raw: Any, path: str) -> bool:
    if not isinstance(raw, bool):
        raise PlanFileError(path, f"is {_kind_words(raw)} where true or false is wanted")
    return raw


_SCALARS: dict[Any, Callable[[Any, str], Any]] = {
    str: _decode_text,
    int: _decode_int,
    float: _decode_float,
    bool: _decode_bool,
    date: _decode_date,
}


def _kind_words(raw: Any) -> str:
    words = {dict: "an object", list: "a list", str: "text", bool: "true or false", int: "a whole number"}
    return "null" if raw is None else words.get(type(raw), "a number")


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise PlanFileError("$", f"an object holds {json.dumps(twice)[:60]} twice")
    return found


def _no_constant(name: str) -> Any:
    raise PlanFileError("$", f"{name} is no number of JSON")
