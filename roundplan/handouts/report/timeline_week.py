"""One week of the timeline as a drawing: its sites, the crews' lines through them, the sessions held there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from roundplan.domain.clock import DAY
from roundplan.domain.plan import Team, Trip
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import day_date, list_words, short_date, span_words
from roundplan.travel.calendar import WorkingCalendar

STROKES = ("none", "7 4", "2 4", "11 4 2 4", "4 2", "1 3")
"""Dash patterns of the crews' lines, used in turn."""

WEEK = 7
MARGIN_LEFT = 170
DAY_WIDTH = 72
ROW_HEIGHT = 56
TOP = 46
LABEL_LETTERS = 25
CREW_SHIFT = 7
"""Distance between the lines of two crews at one site."""
CODES_A_LINE = 2
CODES_NAMED = 4
"""Teams of a session that are named above its stroke; of more, the number stands there."""

Stop = tuple[int, str]
"""Seconds after midnight of the timeline's first date, and where the crew is then."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A session on the drawing: a short heavy stroke at its venue, with its teams above."""

    x: float
    y: float
    width: float
    labels: tuple[str, ...]
    title: str


@dataclass(frozen=True, slots=True)
class Line:
    """One trip of a crew, or what of it lies in the week."""

    crew: str
    points: str
    stroke: str
    label_x: float
    label_y: float
    title: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """All that the SVG template draws, in user units."""

    ident: str
    width: int
    height: int
    title: str
    desc: str
    day_width: int
    columns: tuple[tuple[float, str, bool], ...]
    rows: tuple[tuple[float, str, str], ...]
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...]


class Week:
    """What one week's drawing shows."""

    def __init__(
        self, index: PlanIndex, first: date, origin: date, stops: dict[str, tuple[Stop, ...]], calendar: WorkingCalendar
    ) -> None:
        self._index, self._first, self._calendar = index, first, calendar
        self._days = [first + timedelta(days=n) for n in range(WEEK)]
        self._from = (first - origin).days * DAY
        self._pieces = {code: self._cut(row) for code, row in stops.items()}
        self._sessions = [s for s in index.sessions_in_order if any(day in s.dates for day in self._days)]
        self.sites = self._site_order()
        self._height = {site: TOP + ROW_HEIGHT * (row + 0.66) for row, site in enumerate(self.sites)}

    def _cut(self, stops: Sequence[Stop]) -> list[tuple[Stop, Stop]]:
        """Return the stretches of a trip that touch the week."""
        until = self._from + WEEK * DAY
        return [(a, b) for a, b in pairwise(stops) if a[0] < until and b[0] > self._from]

    def _site_order(self) -> tuple[str, ...]:
        """Return the sites of the week: bases first, then in the order in which they are reached."""
        bases = [self._index.training_round.crew(code).base for code in self._index.crews_used()]
        reached = [site for pieces in self._pieces.values() for a, b in pieces for site in (a[1], b[1])]
        held = [session.venue for session in self._sessions]
        touched = dict.fromkeys([*reached, *held])
        return tuple(dict.fromkeys([*(base for base in bases if base in touched), *touched]))

    def drawing(self, ident: str) -> Drawing:
        """Return the drawing."""
        crews = self._index.crews_used()
        return Drawing(
            ident=ident,
            width=MARGIN_LEFT + DAY_WIDTH * WEEK + 12,
            height=round(TOP + ROW_HEIGHT * (len(self.sites) + 0.3)),
            title=say("Crews, venues and teams, {dates}", dates=span_words(self._days[0], self._days[-1])),
            desc=self._description(crews),
            day_width=DAY_WIDTH,
            columns=tuple(
                (MARGIN_LEFT + DAY_WIDTH * number, short_date(day), self._calendar.is_rest_day(day))
                for number, day in enumerate(self._days)
            ),
            rows=tuple(
                (self._height[site], _shortened(self._index.name(site)), self._index.name(site)) for site in self.sites
            ),
            lines=tuple(
                self._line(trip, place)
                for place, code in enumerate(crews)
                for trip in self._index.trips_of(code)
                if self._pieces[trip.code]
            ),
            marks=tuple(self._marks()),
        )

    def _x(self, moment: float) -> float:
        return round(MARGIN_LEFT + DAY_WIDTH * (moment - self._from) / DAY, 1)

    def _line(self, trip: Trip, place: int) -> Line:
        """Draw a trip: along a site while the crew is there, aslant while it drives."""
        shift = CREW_SHIFT * place
        points: list[tuple[float, float]] = []
        for a, b in self._pieces[trip.code]:
            for moment in (max(a[0], self._from), min(b[0], self._from + WEEK * DAY)):
                share = (moment - a[0]) / (b[0] - a[0]) if b[0] > a[0] else 1.0
                y = self._height[a[1]] + share * (self._height[b[1]] - self._height[a[1]]) + shift
                points.append((self._x(moment), round(y, 1)))
        last = trip.days[-1].date
        names = (self._index.name(self._index.sessions[c].venue) for d in trip.days for c in d.sessions)
        return Line(
            crew=trip.crew,
            points=" ".join(f"{x:g},{y:g}" for x, y in dict.fromkeys(points)),
            stroke=STROKES[place % len(STROKES)],
            label_x=points[0][0] + 3,
            label_y=points[0][1] - 5,
            title=say(
                "Crew {crew}, {dates}: {venues}",
                crew=trip.crew,
                dates=span_words(trip.days[0].date, last),
                venues=list_words(dict.fromkeys(names)) or say("no session"),
            ),
        )

    def _marks(self) -> Iterator[Mark]:
        """Yield a mark for each session and date; sessions of one venue and date share the room above the line."""
        met: dict[tuple[date, str], int] = defaultdict(int)
        for session in self._sessions:
            for day in session.days:
                if day.date not in self._days:
                    continue
                teams = self._index.teams_of_session(session.code, day.date)
                start = (day.date - self._first).days * DAY + self._from
                left, right = self._x(start + day.start), self._x(start + day.end)
                again = met[day.date, session.venue]
                met[day.date, session.venue] += 1
                yield Mark(
                    x=left,
                    y=self._height[session.venue] - 12 * again,
                    width=round(right - left, 1),
                    labels=_labels(teams),
                    title=say(
                        "{date}, {venue}: {teams}",
                        date=day_date(day.date),
                        venue=self._index.name(session.venue),
                        teams=list_words(team_words(self._index, team) for team in teams) or say("no team"),
                    ),
                )

    def _description(self, crews: Sequence[str]) -> str:
        parts = []
        for code in crews:
            stops = [
                say("{venue} on {date}", venue=self._index.name(self._index.sessions[session].venue),
                    date=short_date(day.date))
                for trip in self._index.trips_of(code)
                for day in trip.days
                if day.date in self._days
                for session in day.sessions
            ]  # fmt: skip
            parts.append(say("Crew {crew}: {stops}.", crew=code, stops=list_words(stops) or say("no session")))
        return " ".join(parts)


def _labels(teams: Sequence[Team]) -> tuple[str, ...]:
    """Return what stands above a session's stroke, line by line."""
    if len(teams) > CODES_NAMED or not teams:
        return (several("{number} team", "{number} teams", len(teams)),)
    codes = [team.code for team in teams]
    return tuple(" ".join(codes[n : n + CODES_A_LINE]) for n in range(0, len(codes), CODES_A_LINE))


def _shortened(name: str) -> str:
    return name if len(name) <= LABEL_LETTERS else name[: LABEL_LETTERS - 1].rstrip() + "…"


def team_words(index: PlanIndex, team: Team) -> str:
    """Name a team by its code, its facility and its number there."""
    return say("{team}: {facility}, team {number}", team=team.code, facility=index.name(team.facility),
               number=team.number)  # fmt: skip
