"""Counted nouns in sentences: one team, two teams."""

from __future__ import annotations

IRREGULAR = {"person": "people", "this": "these"}
LONG_SYMBOLS = frozenset({"min", "mcg"})
"""Symbols of units that are longer than two letters; a symbol has no plural, a short word such as box has one."""
_HISSING = ("s", "x", "z", "ch", "sh")
_VOWELS = "aeiou"


def plural(noun: str) -> str:
    """Return the plural of a noun; only the last word of several changes."""
    head, _, last = noun.rpartition(" ")
    return f"{head} {IRREGULAR.get(last) or _regular(last)}".strip()


def counted(number: float, noun: str) -> str:
    """Write a number with thousands marked and its noun: ``1 team``, ``0 facilities``, ``1,200 points``."""
    shown = f"{number:,}" if isinstance(number, int) else f"{number:,g}"
    return f"{shown} {noun if number == 1 else plural(noun)}"


def unit_word(number: float, unit: str) -> str:
    """Return the unit of a quantity as its number wants it: ``1`` piece, ``10`` pieces, ``250`` ml, ``2`` boxes."""
    symbol = len(unit) < 3 or unit in LONG_SYMBOLS
    return unit if number == 1 or symbol or unit.endswith("s") else plural(unit)


def _regular(word: str) -> str:
    if word.endswith("y") and word[-2:-1] not in _VOWELS:
        return f"{word[:-1]}ies"
    return f"{word}es" if word.endswith(_HISSING) else f"{word}s"
