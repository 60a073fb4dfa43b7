"""Cell text on its way in and out: white space, guards against formulas, characters that nobody can see."""

from __future__ import annotations

import re
import unicodedata

_GUARDED = re.compile(r"'+[=+\-@\t\r]")
_STARTS_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_UNSEEN = re.compile("[\ufeff\u200b]")
_FORBIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff]"
)
REPLACEMENT = "\ufffd"


def guard(text: str) -> str:
    """Put ``'`` before text that a spreadsheet would take for a formula; never used for numbers."""
    return "'" + text if _STARTS_FORMULA.match(text) else text


def unguard(text: str) -> str:
    """Take the prefix of :func:`guard` off again."""
    return text[1:] if _GUARDED.match(text) else text


def clean(text: str) -> str:
    """Return the text of a cell, tidy and without its guard; to be done once a cell, for a guard is one mark."""
    return tidy(unguard(text))


def tidy(text: str) -> str:
    """Return text without unseen marks, one space for any white space, composed letters (NFC)."""
    return " ".join(unicodedata.normalize("NFC", _UNSEEN.sub("", text)).split())


def forbidden_character(text: str) -> str | None:
    """Return the first character that no cell may hold (control, direction override, no character), or None."""
    found = _FORBIDDEN.search(text)
    return found.group() if found else None
