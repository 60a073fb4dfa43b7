"""Sentences that a plan or the reading of the tables holds, retold in the reader's language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from functools import reduce

from roundplan.domain.plan import Reason
from roundplan.domain.role import Lead, Role, Shift
from roundplan.domain.saying import Saying, Value, ValueKind
from roundplan.handouts.speech import language as spoken_language
from roundplan.handouts.speech import say
from roundplan.handouts.terms import LEAD_NAMES, role_word, shift_word
from roundplan.handouts.words import compact_dates, either_words, full_date, language, number


def _phrase(text: str) -> str:
    return say(text)


_WRITTEN: Mapping[ValueKind, Callable[[str], str]] = {
    ValueKind.TEXT: str,
    ValueKind.NUMBER: lambda text: number(float(text), 2),
    ValueKind.DATE: lambda text: full_date(date.fromisoformat(text)),
    ValueKind.DATES: lambda text: compact_dates(date.fromisoformat(part) for part in text.split()),
    ValueKind.ROLE: lambda text: role_word(Role(text)),
    ValueKind.LEAD: lambda text: say(LEAD_NAMES[Lead(text)]),
    ValueKind.SHIFT: lambda text: shift_word(Shift(text)),
    ValueKind.LANGUAGE: language,
    ValueKind.PHRASE: _phrase,
}


def retold(said: Saying) -> str:
    """Say a sentence in the reader's language; one that no catalogue knows stays English."""
    if spoken_language() == "en":
        return str(said)
    values: dict[str, list[str]] = {}
    for value in said.values:
        values.setdefault(value.name, []).append(_written(value))
    words = said.message
    return say(words, **{name: either_words(parts) for name, parts in values.items()})


def _written(value: Value) -> str:
    return _WRITTEN[value.kind](value.text)


def reason_words(reason: Reason) -> str:
    """Say why a facility, a further team or a person is left out; in words of its own where it is kept so."""
    if spoken_language() == "en" or not reason.said:
        return reason.words
    words = reduce(lambda first, more: say("{reason}; {more}", reason=first, more=more), map(retold, reason.said))
    return say("{when} {reason}", when=retold(reason.when), reason=words) if reason.when is not None else words
