"""How each seat and each shift's cover stands, from the replies that hold; no reply is never taken as yes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from roundplan.followup.answers import Kept
from roundplan.followup.asked import Asked, Kind, Question
from roundplan.slips.reply_code import Word

REMINDED = timedelta(days=7)
"""From so long before a seat's or shift's first date on, silence is listed (common practice, no source)."""


class State(StrEnum):
    """How a seat, or the cover of a shift, stands."""

    ASKED = "asked"
    NO_REPLY = "no reply"
    CONFIRMED = "confirmed"
    DECLINED = "declined"
    REPLACED = "replaced"
    CONTRADICTED = "contradicting replies"


@dataclass(frozen=True, slots=True)
class Standing:
    """How one thing that was asked stands.

    Attributes
    ----------
    substitute : str
        Code of who comes or stays instead, where ``replaced``.
    replies : tuple of Kept
        What it rests on.
    named_twice : bool
        Whether the one named to come instead is named for another seat too; then nobody is taken as coming.
    """

    asked: Asked
    state: State
    substitute: str = ""
    replies: tuple[Kept, ...] = ()
    named_twice: bool = False


def standings(question: Question, replies: Mapping[str, Sequence[Kept]], today: date) -> tuple[Standing, ...]:
    """Return how everything that was asked stands, in the order asked."""
    alone = {row.subject: _by_itself(row, replies.get(row.subject, ()), today) for row in question.rows}
    twice = _named_twice(alone.values())
    kept_back = _shifts_kept_back(alone)
    return tuple(_settled(alone[row.subject], twice, kept_back) for row in question.rows)


def _by_itself(asked: Asked, replies: Sequence[Kept], today: date) -> Standing:
    said = {(kept.word, kept.substitute) for kept in replies if kept.word}
    if not said:
        near = asked.kind is not Kind.COVER and today >= asked.dates[0] - REMINDED
        return Standing(asked, State.NO_REPLY if near else State.ASKED, replies=tuple(replies))
    if len(said) > 1:
        return Standing(asked, State.CONTRADICTED, replies=tuple(replies))
    ((word, substitute),) = said
    state = {Word.YES: State.CONFIRMED, Word.NO: State.DECLINED, Word.REPLACED: State.REPLACED}[Word(word)]
    return Standing(asked, state, substitute, tuple(replies))


def _named_twice(found: Iterable[Standing]) -> frozenset[str]:
    """Return who is named to come for more than one seat."""
    named = Counter(s.substitute for s in found if s.asked.kind is Kind.SEAT and s.substitute)
    return frozenset(person for person, times in named.items() if times > 1)


def _shifts_kept_back(found: Mapping[str, Standing]) -> frozenset[tuple[str, date, str]]:
    """Return the shifts in which somebody named to stay cannot, and nobody stays instead."""
    wrong = (State.DECLINED, State.CONTRADICTED)
    return frozenset(_shift(s.asked) for s in found.values() if s.asked.kind is Kind.COVER and s.state in wrong)


def _shift(asked: Asked) -> tuple[str, date, str]:
    return asked.facility, asked.dates[0], str(asked.shift)


def _settled(standing: Standing, twice: frozenset[str], kept_back: frozenset[tuple[str, date, str]]) -> Standing:
    """Return how something stands beside everything else."""
    asked = standing.asked
    if asked.kind is Kind.SEAT and standing.substitute in twice:
        return Standing(asked, State.DECLINED, standing.substitute, standing.replies, named_twice=True)
    if asked.kind is Kind.SHIFT and _shift(asked) in kept_back:
        state = State.CONTRADICTED if standing.state is State.CONFIRMED else State.DECLINED
        return Standing(asked, state, replies=standing.replies)
    return standing
