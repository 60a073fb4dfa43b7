"""File names made from codes of the tables, which may hold anything."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

_NOT_IN_NAMES = re.compile(r"[^\w-]+")
_LONGEST = 80  # bytes; leaves room for an ending within the 255 that file systems allow
_RESERVED = re.compile(r"(?i:con|prn|aux|nul|com\d|lpt\d)")


def slug(code: str) -> str:
    """Return a code as a file name without ending: letters, figures, ``-`` and ``_`` only, never empty."""
    text = _NOT_IN_NAMES.sub("-", unicodedata.normalize("NFKC", code)).strip("-_")
    while len(text.encode("utf-8", "ignore")) > _LONGEST:
        text = text[:-1]
    text = text.strip("-_") or "unnamed"
    return f"{text}-1" if _RESERVED.fullmatch(text) else text


def file_names(codes: Iterable[str]) -> dict[str, str]:
    """Return a file name without ending for each code, no two alike even where case does not count.

    Parameters
    ----------
    codes : iterable of str
        Codes in a steady order; where two give the same name, the later gets a number.
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for code in codes:
        if code in names:
            continue
        name, number = slug(code), 1
        while name.casefold() in taken:
            number += 1
            name = f"{slug(code)}-{number}"
        taken.add(name.casefold())
        names[code] = name
    return names
