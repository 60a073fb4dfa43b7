"""What else a facility has to be told: sessions held there, staff away as trainers, swaps, rosters, why no team."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from roundplan.domain.plan import Session
from roundplan.handouts.difference.change import Change, Effect, Topic
from roundplan.handouts.difference.matching import Matched
from roundplan.handouts.facility.cover import (
    leave_first,
    referral_words,
    rosters_wanted,
    swap_words,
    teaching_words,
)
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.speech import message, say, several
from roundplan.handouts.words import clock, list_words, short_date

_Lines = Callable[[PlanIndex, str], Sequence[str]]

_NO_LONGER = {
    Topic.SWAP: message("No longer: {line}"),
    Topic.AWAY: message("No longer: {line}"),
    Topic.REFERRAL: message("No longer: {line}"),
    Topic.ROSTER: message("No roster is missing any longer."),
}
"""How it is told that a line is on the sheet no more; on other topics something else then stands there instead."""


def home_changes(matched: Matched, facility: str) -> Iterator[Change]:
    """Yield what is different about a facility beside its teams and those who stay."""
    yield from _held(matched, facility)
    for topic, lines in _LINES.items():
        yield from _lines(matched, facility, topic, lines)


def _held(matched: Matched, facility: str) -> Iterator[Change]:
    for old, new in matched.sessions:
        then = old if old is not None and old.venue == facility else None
        now = new if new is not None and new.venue == facility else None
        if now is not None and then is not None and _hours(matched.before, then) != _hours(matched.after, now):
            tell = partial(_held_words, message("The session held here: {hours}."), matched.after, now)
            yield _held_change(facility, now, Effect.CHANGED, tell)
        elif now is not None and then is None:
            tell = partial(_held_words, message("New: a session is held here, {hours}."), matched.after, now)
            yield _held_change(facility, now, Effect.NEW, tell)
        elif then is not None and now is None:
            tell = partial(_held_words, message("No longer: a session held here, {hours}."), matched.before, then)
            yield _held_change(facility, then, Effect.GONE, tell)


def _held_change(facility: str, session: Session, effect: Effect, tell: partial[str]) -> Change:
    date = session.dates[0]
    return Change(topic=Topic.HELD, effect=effect, facility=facility, session=session.code, date=date, tell=tell)


def _held_words(said: str, index: PlanIndex, session: Session) -> str:
    return say(said, hours=_hours(index, session))


def _hours(index: PlanIndex, session: Session) -> str:
    """Say a session's hours date by date, and how many stations it has."""
    days = (
        say("{date}, {start} to {end}", date=short_date(day.date), start=clock(day.start), end=clock(day.end))
        for day in session.days
    )
    stations = several("{numeral} station", "{numeral} stations", len(session.stations))
    return list_words((*days, stations))


def _lines(matched: Matched, facility: str, topic: Topic, lines: _Lines) -> Iterator[Change]:
    """Yield the lines that are on the sheet anew, then those that are on it no more."""
    then, now = lines(matched.before, facility), lines(matched.after, facility)
    for place, line in enumerate(now):
        if line not in then:
            effect = Effect.CHANGED if then else Effect.NEW
            tell = partial(_line, lines, matched.after, facility, place)
            yield Change(topic=topic, effect=effect, facility=facility, tell=tell)
    for place, line in enumerate(then):
        if line not in now and topic in _NO_LONGER and (topic is Topic.SWAP or not now):
            tell = partial(_line_gone, topic, lines, matched.before, facility, place)
            yield Change(topic=topic, effect=Effect.GONE, facility=facility, tell=tell)


def _line(lines: _Lines, index: PlanIndex, facility: str, place: int) -> str:
    return lines(index, facility)[place]


def _line_gone(topic: Topic, lines: _Lines, index: PlanIndex, facility: str, place: int) -> str:
    return say(_NO_LONGER[topic], line=lines(index, facility)[place])


def _reasons(index: PlanIndex, facility: str) -> Sequence[str]:
    """Say why a facility sends no team; nothing where it sends one."""
    if any(team.facility == facility for team in index.plan.teams):
        return ()
    first = [r for r in index.plan.reasons if r.who == facility and (r.team_number or 1) == 1][:1]
    return [say("No team from here in this round: {reason}.", reason=reason_words(reason)) for reason in first]


def _rosters(index: PlanIndex, facility: str) -> Sequence[str]:
    wanted = rosters_wanted(index, facility)
    return [say("Rosters wanted: {shifts}.", shifts=wanted)] if wanted else []


def _referral(index: PlanIndex, facility: str) -> Sequence[str]:
    said = referral_words(index, facility)
    return [said] if said else []


_LINES: dict[Topic, _Lines] = {
    Topic.LEAVES_FIRST: leave_first,
    Topic.REFERRAL: _referral,
    Topic.SWAP: swap_words,
    Topic.AWAY: teaching_words,
    Topic.ROSTER: _rosters,
    Topic.REASON: _reasons,
}
