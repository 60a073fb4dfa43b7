"""How a round stands, told in plain words by district and facility, and who has not replied."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from roundplan.domain.counts import counted
from roundplan.domain.role import Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.answers import about
from roundplan.followup.asked import Kind
from roundplan.followup.replies import Finding
from roundplan.followup.standing import REMINDED, Standing, State

_SEATS_BY_STATE = (
    (State.CONFIRMED, "confirmed"),
    (State.REPLACED, "replaced"),
    (State.DECLINED, "declined"),
    (State.CONTRADICTED, "with contradicting replies"),
    (State.ASKED, "asked, without a reply so far"),
    (State.NO_REPLY, "without a reply, and the day is near"),
)


def told(standings: Sequence[Standing], training_round: TrainingRound, today: date) -> Iterator[str]:
    """Yield the lines that say what stands where, facility by facility, then whose reply is missing."""
    by_facility: dict[str, list[Standing]] = {}
    for standing in standings:
        by_facility.setdefault(standing.asked.facility, []).append(standing)
    for district in dict.fromkeys(f.district for f in training_round.facilities):
        facilities = [f for f in training_round.facilities if f.district == district and f.code in by_facility]
        if facilities:
            yield f"{district}:"
        for facility in facilities:
            yield from _facility(facility.name, by_facility[facility.code], training_round)
    yield from _silent(standings, training_round, today)


def _facility(name: str, standings: Sequence[Standing], training_round: TrainingRound) -> Iterator[str]:
    seats = [s for s in standings if s.asked.kind is Kind.SEAT]
    counts = [(sum(s.state is state for s in seats), words) for state, words in _SEATS_BY_STATE]
    parts = [f"{number:,} {words}" for number, words in counts if number]
    said = f"{counted(len(seats), 'seat')}: {', '.join(parts)}" if seats else "nobody goes"
    yield f"  {name}: {said}; {'; '.join(_cover(standings))}"
    for standing in standings:
        line = _remarkable(standing, training_round)
        if line:
            yield f"    {line}"


def _cover(standings: Sequence[Standing]) -> Iterator[str]:
    for shift in Shift:
        asked = [s for s in standings if s.asked.kind is Kind.SHIFT and s.asked.shift is shift]
        if asked:
            confirmed = sum(s.state is State.CONFIRMED for s in asked)
            yield f"cover by {shift.value} confirmed for {confirmed:,} of {counted(len(asked), 'date')}"
    if not any(s.asked.kind is Kind.SHIFT for s in standings):
        yield "nobody is named to stay"


def _remarkable(standing: Standing, training_round: TrainingRound) -> str:
    """Return what is not as it was asked; empty where there is nothing to say."""
    asked, what = standing.asked, about(standing.asked, training_round).partition(", ")[2]
    if standing.named_twice:
        name = training_round.name_of(standing.substitute)
        return f"declined: {what}; {name} is named for more than one seat, so nobody is taken as coming"
    if standing.state is State.DECLINED:
        standby = f"; standby: {training_round.name_of(asked.standby)}" if asked.standby else ""
        return f"declined: {what}{standby}"
    if standing.state is State.REPLACED:
        return f"replaced: {what}; instead: {training_round.name_of(standing.substitute)}"
    if standing.state is State.CONTRADICTED:
        places = "; ".join(f"{reply.word or 'remark'} in {reply.place}" for reply in standing.replies)
        return f"contradicting replies, none of them taken: {what}{': ' if places else ''}{places}"
    return ""


def _silent(standings: Sequence[Standing], training_round: TrainingRound, today: date) -> Iterator[str]:
    silent = sorted(
        (s for s in standings if s.state is State.NO_REPLY), key=lambda s: (s.asked.dates[0], s.asked.facility)
    )
    if silent:
        yield f"No reply, from {REMINDED.days} days before on; not taken as yes ({counted(len(silent), 'reply')}):"
    for standing in silent:
        days = (standing.asked.dates[0] - today).days
        when = f"in {counted(days, 'day')}" if days > 1 else {1: "tomorrow", 0: "today"}.get(days, "past")
        yield f"  {about(standing.asked, training_round)} ({when})"


def contradictions(standings: Sequence[Standing], training_round: TrainingRound) -> tuple[Finding, ...]:
    """Return the replies that cannot all hold, each with the places that they came from."""
    found = []
    for standing in standings:
        if standing.named_twice:
            name = training_round.name_of(standing.substitute)
            words = f"{name} is named to come instead for more than one seat; none of them is taken"
            remedy = "ask who comes instead, and take that reply with --instead"
        elif standing.state is State.CONTRADICTED:
            words = f"{about(standing.asked, training_round)}: the replies contradict one another; none is taken"
            remedy = "ask which holds, and take that reply with --instead"
        else:
            continue
        places = "; ".join(f"{reply.word or 'remark'}, {reply.place}" for reply in standing.replies)
        found.append(Finding(code="contradiction", file=places, words=words, remedy=remedy))
    return tuple(found)
