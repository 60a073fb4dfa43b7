"""Counted nouns in sentences: one team, two teams."""

from __future__ import annotations

IRREGULAR = {"person": "people", "this": "these"}
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


def _regular(word: str) -> str:
    if word.endswith("y") and word[-2:-1] not in _VOWELS:
        return f"{word[:-1]}ies"
    return f"{word}es" if word.endswith(_HISSING) else f"{word}s"
