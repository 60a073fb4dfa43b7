"""How each seat and each shift's cover stands, from the replies that hold; no reply is never taken as yes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from roundplan.domain.role import Shift
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
    """Return how everything that was asked stands, in the order asked, whichever reply came first."""
    alone = [_by_itself(row, replies.get(row.subject, ()), today) for row in question.rows]
    seats = _each_once([s for s in alone if s.asked.kind is Kind.SEAT])
    cover = _without_who_goes([s for s in alone if s.asked.kind is Kind.COVER], seats)
    shifts = _with_their_cover([s for s in alone if s.asked.kind is Kind.SHIFT], cover)
    settled = {id(s.asked): s for s in (*seats, *cover, *shifts)}
    return tuple(settled[id(row)] for row in question.rows)


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


def _each_once(seats: Sequence[Standing]) -> list[Standing]:
    """Return the seats; who is named to come for more than one of them is taken for none."""
    named = Counter(s.substitute for s in seats if s.substitute)
    return [replace(s, state=State.DECLINED, named_twice=True) if named[s.substitute] > 1 else s for s in seats]


def _without_who_goes(cover: Sequence[Standing], seats: Sequence[Standing]) -> list[Standing]:
    """Return the cover; who takes somebody's seat on a date does not stay on it, unless somebody stays instead."""
    goes = {(s.substitute, day): s for s in seats if s.state is State.REPLACED for day in s.asked.dates}
    found = []
    for standing in cover:
        seat = goes.get((standing.asked.person, standing.asked.dates[0]))
        if seat is not None and standing.state is not State.REPLACED:
            standing = replace(standing, state=State.DECLINED, replies=(*standing.replies, *seat.replies))
        found.append(standing)
    return found


def _with_their_cover(shifts: Sequence[Standing], cover: Sequence[Standing]) -> list[Standing]:
    """Return the shifts; none is confirmed in which somebody named to stay does not, and nobody stays instead."""
    open_in: dict[tuple[str, date, Shift | None], list[Kept]] = {}
    for standing in cover:
        if standing.state in (State.DECLINED, State.CONTRADICTED):
            open_in.setdefault(_shift(standing.asked), []).extend(standing.replies)
    found = []
    for standing in shifts:
        against = open_in.get(_shift(standing.asked))
        if against is not None:
            state = State.DECLINED if standing.state is not State.CONFIRMED else State.CONTRADICTED
            standing = replace(standing, state=state, replies=tuple(dict.fromkeys((*standing.replies, *against))))
        found.append(standing)
    return found


def _shift(asked: Asked) -> tuple[str, date, Shift | None]:
    return asked.facility, asked.dates[0], asked.shift
