"""Names for values that are the same in every process: pickles are not, for sets of text come out in any order."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Iterator, Mapping
from datetime import date, time, timedelta
from enum import Enum
from fractions import Fraction
from pathlib import PurePath


def fingerprint(value: object) -> str:
    """Return the SHA-256 of a value's content; equal values have equal fingerprints in every process.

    Parameters
    ----------
    value : object
        Dataclasses (their fields that count in comparisons), enumerations, mappings, sets, tuples, lists, dates, times,
        paths, numbers, text, bytes and None, nested as you like.

    Raises
    ------
    TypeError
        If it holds anything else.
    """
    return hashlib.sha256(_encoded(value)).hexdigest()


def _encoded(value: object) -> bytes:
    if isinstance(value, Enum):
        return _tagged(type(value).__qualname__, [value.name.encode()])
    if value is None or isinstance(value, bool | int | float | str | date | time | timedelta | Fraction | PurePath):
        return _tagged(type(value).__name__, [repr(value).encode("utf-8", "surrogatepass")])
    if isinstance(value, bytes):
        return _tagged("bytes", [value])
    if isinstance(value, Mapping):
        return _tagged("mapping", sorted(_encoded(key) + _encoded(entry) for key, entry in value.items()))
    if isinstance(value, set | frozenset):
        return _tagged("set", sorted(map(_encoded, value)))
    if isinstance(value, tuple | list):
        return _tagged("sequence", list(map(_encoded, value)))
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _tagged(type(value).__qualname__, list(_fields(value)))
    raise TypeError(f"{type(value).__name__} has no fingerprint")


def _fields(value: object) -> Iterator[bytes]:
    for field in dataclasses.fields(value):  # type: ignore[arg-type]
        if field.compare:
            yield _tagged(field.name, [_encoded(getattr(value, field.name))])


def _tagged(tag: str, parts: list[bytes]) -> bytes:
    """Join parts so that no two lists of parts look alike."""
    return b"".join([f"{tag}[{len(parts)}]".encode(), *(b"%d:%b" % (len(part), part) for part in parts)])
