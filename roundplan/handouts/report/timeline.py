"""The printed timeline: each crew a line through the venues, date by date, as in a railway's graphic timetable.

Sites stand one below the other, dates run from left to right, and a crew's line is drawn where the crew is. Lines
differ by their strokes, and by name at their start, so that nothing hangs on colour. The table beside it says the
same in words.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from roundplan.domain.clock import DAY
from roundplan.domain.dates import Window
from roundplan.domain.plan import Trip
from roundplan.handouts.page import Cell, Table, environment
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import clock_span, count, dates_words, list_words, number, short_date, span_words

STROKES = ("none", "7 4", "2 4", "11 4 2 4", "4 2", "1 3")
"""Dash patterns of the crews' lines, used in turn."""

MARGIN_LEFT = 190
DAY_WIDTH = 66
ROW_HEIGHT = 52
TOP = 46
LABEL_LETTERS = 27
CREW_SHIFT = 7
"""Distance between the lines of two crews at one site."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A session on the drawing: a short heavy stroke at its venue, with its teams counted above."""

    x: float
    y: float
    width: float
    label: str
    title: str


@dataclass(frozen=True, slots=True)
class Line:
    """One trip of a crew."""

    crew: str
    points: str
    stroke: str
    label_x: float
    label_y: float
    title: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """All that the SVG template draws, in user units."""

    width: int
    height: int
    title: str
    desc: str
    day_width: int
    columns: tuple[tuple[float, str, bool], ...]
    rows: tuple[tuple[float, str, str], ...]
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...]


def timeline_svg(index: PlanIndex) -> Markup:
    """Return the timeline as an inline SVG with title and description; empty for a plan without trips."""
    days = _dates(index)
    if not days:
        return Markup("")
    drawing = _drawing(index, days)
    return Markup(environment().get_template("timeline.svg.j2").render(d=drawing))


def timeline_table(index: PlanIndex) -> Table:
    """Return the same in words: date, venue, crews, teams."""
    rows: list[tuple[Cell, ...]] = []
    for day in _dates(index):
        for session in index.sessions_in_order:
            if day in session.dates:
                teams = index.teams_of_session(session.code, day)
                said = tuple(f"{index.name(t.facility)}, team {t.number}" for t in teams)
                times = [clock_span(d.start, d.end) for d in session.days if d.date == day]
                when = (short_date(day), *times)
                rows.append((when, index.name(session.venue), list_words(session.crews), said))
    return Table("Sessions by date", ("Date", "Venue", "Crew", "Teams"), rows)


def _dates(index: PlanIndex) -> tuple[date, ...]:
    """Return all dates from the first trip or session to the last."""
    days = {day.date for trip in index.plan.trips for day in trip.days}
    days |= {day for session in index.plan.sessions for day in session.dates}
    return tuple(Window(min(days), max(days))) if days else ()


def _site_order(index: PlanIndex) -> tuple[str, ...]:
    """Return the sites that crews touch: bases first, then in the order in which they are reached."""
    order = dict.fromkeys(index.training_round.crew(code).base for code in index.crews_used())
    for trip in sorted(index.plan.trips, key=lambda trip: trip.days[0].date):
        for day in trip.days:
            order.update((leg.drive.end, None) for leg in day.legs)
            order.update((index.sessions[code].venue, None) for code in day.sessions)
    order.update((session.venue, None) for session in index.sessions_in_order)
    return tuple(order)


def _drawing(index: PlanIndex, days: tuple[date, ...]) -> Drawing:
    sites = _site_order(index)
    crews = index.crews_used()
    height = {site: TOP + ROW_HEIGHT * (row + 0.62) for row, site in enumerate(sites)}
    first = days[0]
    rest = index.training_round.settings.round.working_days
    title = f"Timeline of {count(len(crews), 'crew')}, {span_words(first, days[-1])}"
    return Drawing(
        width=MARGIN_LEFT + DAY_WIDTH * len(days) + 12,
        height=round(TOP + ROW_HEIGHT * (len(sites) + 0.3)),
        title=title,
        desc=_description(index),
        day_width=DAY_WIDTH,
        columns=tuple(
            (MARGIN_LEFT + DAY_WIDTH * number, short_date(day), day.weekday() not in rest)
            for number, day in enumerate(days)
        ),
        rows=tuple((height[site], _shortened(index.name(site)), index.name(site)) for site in sites),
        lines=tuple(
            _line(index, trip, first, height, place)
            for place, code in enumerate(crews)
            for trip in index.trips_of(code)
        ),
        marks=tuple(_marks(index, first, height)),
    )


def _shortened(name: str) -> str:
    return name if len(name) <= LABEL_LETTERS else name[: LABEL_LETTERS - 1].rstrip() + "…"


def _x(first: date, day: date, seconds: float) -> float:
    return round(MARGIN_LEFT + DAY_WIDTH * ((day - first).days + seconds / DAY), 1)


def _line(index: PlanIndex, trip: Trip, first: date, height: dict[str, float], place: int) -> Line:
    """Draw a trip: along a site while the crew is there, aslant while it drives."""
    shift = CREW_SHIFT * place
    points: list[tuple[float, float]] = []
    at = index.training_round.crew(trip.crew).base
    points.append((_x(first, trip.days[0].date, _start(trip)), height[at] + shift))
    for day in trip.days:
        for leg in day.legs:
            drive = leg.drive
            if drive.start in height:
                points.append((_x(first, day.date, drive.depart), height[drive.start] + shift))
            points.append((_x(first, day.date, drive.arrive), height[drive.end] + shift))
    last = trip.days[-1].date
    points.append((max(points[-1][0], _x(first, last, 0.75 * DAY)), points[-1][1]))
    where = list_words(dict.fromkeys(index.name(index.sessions[c].venue) for d in trip.days for c in d.sessions))
    return Line(
        crew=trip.crew,
        points=" ".join(f"{number(x).replace(',', '')},{number(y).replace(',', '')}" for x, y in points),
        stroke=STROKES[place % len(STROKES)],
        label_x=points[0][0] + 3,
        label_y=points[0][1] - 5,
        title=f"Crew {trip.crew}, {span_words(trip.days[0].date, last)}: {where or 'no session'}",
    )


def _start(trip: Trip) -> int:
    legs = trip.days[0].legs
    return min(legs[0].drive.depart, DAY // 4) if legs else DAY // 4


def _marks(index: PlanIndex, first: date, height: dict[str, float]) -> Iterator[Mark]:
    """Yield a mark for each session and date; sessions of one venue and date share the room above the line."""
    met: dict[tuple[date, str], int] = defaultdict(int)
    for session in index.sessions_in_order:
        for day in session.days:
            teams = index.teams_of_session(session.code, day.date)
            left, right = _x(first, day.date, day.start), _x(first, day.date, day.end)
            again = met[day.date, session.venue]
            met[day.date, session.venue] += 1
            who = list_words(f"{index.name(t.facility)} team {t.number}" for t in teams)
            yield Mark(
                x=left,
                y=height[session.venue] - 12 * again,
                width=round(right - left, 1),
                label=f"{len(teams)} {'team' if len(teams) == 1 else 'teams'}",
                title=f"{dates_words((day.date,))}, {index.name(session.venue)}: {who or 'no team'}",
            )


def _description(index: PlanIndex) -> str:
    parts = []
    for code in index.crews_used():
        stops = [
            f"{index.name(index.sessions[session].venue)} on {short_date(day.date)}"
            for trip in index.trips_of(code)
            for day in trip.days
            for session in day.sessions
        ]
        parts.append(f"Crew {code}: {list_words(stops) if stops else 'no session'}.")
    return " ".join(parts)
