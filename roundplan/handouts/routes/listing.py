"""A crew's way as plain text: each drive stage by stage, then every place with its coordinates."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import date

from roundplan.domain.plan import Drive, Leg
from roundplan.handouts.marking import TYPED_MARK, changes, with_mark
from roundplan.handouts.page import printable
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.routes.stages import Stage, compass, coordinates, legs_of, sites_of, stages
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say, without_marks
from roundplan.handouts.terms import surface_word
from roundplan.handouts.words import HARD_SPACE, arrival, clock, duration, kilometres, long_date, version_words

WIDTH = 60
"""Letters a line; a phone held upright shows about as many (common practice, no source)."""

_SPACES = str.maketrans(
    {HARD_SPACE: " ", "\N{NARROW NO-BREAK SPACE}": " ", "\N{WORD JOINER}": None, "\n": " ", "\t": " "}
)


def render(index: PlanIndex, crew: str, *, version: int | None = None) -> str:
    """Return a crew's places and directions as text.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    crew : str
        Code of the crew.
    version : int or None
        Version of this text's own last change; None = the plan's.
    """
    return "\n".join(_wrapped(line) for line in _lines(index, crew, version)) + "\n"


def _lines(index: PlanIndex, crew: str, version: int | None) -> Iterator[str]:
    yield say("{round}: crew {crew}", round=index.plan.round_name, crew=crew)
    yield version_words(index.plan, version)
    told = changes()
    if told is not None:
        yield from ("", say("{title}:", title=told.title), *told.told(TYPED_MARK))
    yield ""
    yield safety_lines(Reader.CREW)[0]
    if not index.trips_of(crew):
        yield from ("", say("No trip in this round."))
    day: date | None = None
    for trip, leg in legs_of(index, crew):
        if leg.drive.date != day:
            day = leg.drive.date
            yield ""
            yield say("{date}, trip {trip}", date=long_date(day), trip=trip)
        yield from _leg(index, leg, long_date(day))
    yield ""
    yield say("Places, latitude and longitude in degrees:")
    for site in sites_of(index, crew):
        yield f"{site.name}: {coordinates(site)}"


def _leg(index: PlanIndex, leg: Leg, day: str) -> Iterator[str]:
    drive = leg.drive
    yield ""
    said = say(
        "{depart} leave {start}, {arrive} reach {end}: {length}, {time} with breaks.",
        depart=clock(drive.depart), start=index.name(drive.start), arrive=arrival(drive.arrive),
        end=index.name(drive.end), length=kilometres(drive.km), time=duration(drive.arrive - drive.depart),
    )  # fmt: skip
    yield with_mark(day, said, TYPED_MARK)
    yield from _directions(index, drive)


def _directions(index: PlanIndex, drive: Drive) -> Iterator[str]:
    for number, stage in enumerate(stages(index, drive), start=1):
        yield f"{number}. {_stage(stage)}"


def _stage(stage: Stage) -> str:
    road = stage.road
    values = {
        "end": stage.end.name,
        "where": coordinates(stage.end),
        "direction": compass(stage.bearing),
        "straight": kilometres(stage.straight_km),
    }
    if road is None or road.km is None:
        return say("Head {direction} to {end} ({where}), {straight} as the crow flies.", **values)
    length = kilometres(road.km)
    if road.surface is None:
        return say("Head {direction}, {length} by road, to {end} ({where}).", length=length, **values)
    surface = surface_word(road.surface)
    return say(
        "Head {direction}, {length} by {surface} road, to {end} ({where}).", length=length, surface=surface, **values
    )


def _wrapped(line: str) -> str:
    text = without_marks(str(printable(line))).translate(_SPACES)
    return textwrap.fill(
        text,
        WIDTH,
        subsequent_indent="   " if text[:1].isdigit() else "",
        break_long_words=False,
        break_on_hyphens=False,
    )
