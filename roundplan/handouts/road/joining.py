"""Where and when trainers join a crew and leave it, and the ways to and from home that the plan leaves to them."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Aboard, CrewDay
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.words import arrival, clock, duration, kilometres

NEAR_ENOUGH = 15 * MINUTE
"""A way between home and the crew that needs no word; the daylight margin is waived as far (common practice)."""


def joins_by(index: PlanIndex, day: CrewDay, place: str) -> int | None:
    """Return when a trainer has to stand at the place where they join (seconds after midnight); None = any time."""
    starts = [leg.drive.depart for leg in day.legs[:1] if index.roads.near(leg.drive.start, place)]
    starts += [index.set_up_from(index.sessions[code], day.date) for code in day.sessions[:1]]
    return min(starts, default=day.legs[-1].drive.arrive if day.legs else None)


def leaves_from(index: PlanIndex, day: CrewDay, place: str) -> int | None:
    """Return when a trainer is free at the place where they leave (seconds after midnight); None = any time."""
    ends = [index.packed_up_by(index.sessions[code], day.date) for code in day.sessions]
    ends += [leg.drive.arrive for leg in day.legs[-1:] if index.roads.near(leg.drive.end, place)]
    return max(ends, default=None)


def join_lines(index: PlanIndex, day: CrewDay, aboard: Aboard) -> Iterator[str]:
    """Yield where and when a trainer joins, and the way there that nobody plans for them."""
    place = aboard.joins_at
    if place is None:
        return
    by = joins_by(index, day, place)
    if by is None:
        yield say("Join the crew at {place}.", place=index.name(place))
    else:
        yield say("Join the crew at {place} by {time}.", place=index.name(place), time=clock(by))
    home = index.training_round.trainer(aboard.trainer).lives_at
    for way in index.roads.ways(home, place, day.date)[:1]:
        if way.seconds > NEAR_ENOUGH:
            said = say(
                "Your way there from {place}, {km} and {time} at the wheel, is not in this plan.",
                place=index.name(home),
                km=kilometres(way.km),
                time=duration(way.seconds),
            )
            if by is not None and by - way.seconds < index.daylight.sunrise(home, day.date):
                said += " " + say("By daylight you can only come the day before; no bed is planned for that.")
            yield said


def leave_lines(index: PlanIndex, day: CrewDay, aboard: Aboard) -> Iterator[str]:
    """Yield where and when a trainer leaves, and the way home that nobody plans for them."""
    place = aboard.leaves_at
    if place is None:
        return
    free = leaves_from(index, day, place)
    if free is None:
        yield say("Leave the crew at {place}.", place=index.name(place))
    else:
        yield say("Leave the crew at {place}, {time}.", place=index.name(place), time=arrival(free))
    home = index.training_round.trainer(aboard.trainer).lives_at
    for way in index.roads.ways(place, home, day.date)[:1]:
        if way.seconds > NEAR_ENOUGH:
            said = say(
                "Your way home to {place}, {km} and {time} at the wheel, is not in this plan.",
                place=index.name(home),
                km=kilometres(way.km),
                time=duration(way.seconds),
            )
            if free is not None and free + way.seconds > index.daylight.sunset(home, day.date):
                said += " " + say("You would not be home by sunset; no bed is planned for that.")
            yield said


def moves(index: PlanIndex, day: CrewDay, aboard: Aboard) -> Iterator[str]:
    """Yield where and when a trainer joins or leaves, in brackets after the name."""
    if aboard.joins_at is not None:
        by = joins_by(index, day, aboard.joins_at)
        place = index.name(aboard.joins_at)
        yield (
            say("joins at {place}", place=place)
            if by is None
            else say("joins at {place}, {time}", place=place, time=clock(by))
        )
    if aboard.leaves_at is not None:
        free = leaves_from(index, day, aboard.leaves_at)
        place = index.name(aboard.leaves_at)
        yield (
            say("leaves at {place}", place=place)
            if free is None
            else say("leaves at {place}, {time}", place=place, time=arrival(free))
        )
