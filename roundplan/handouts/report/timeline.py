"""The printed timeline: each crew a line through the venues, date by date, as in a railway's graphic timetable.

One drawing a week, as wide as a page: sites stand one below the other, dates run from left to right, and a crew's line
is drawn where the crew is. Lines differ by their strokes, and by name at their start, so that nothing hangs on colour.
The table beside it says the same in words.
"""

from __future__ import annotations

from datetime import date, timedelta

from markupsafe import Markup

from roundplan.domain.clock import DAY
from roundplan.domain.dates import Window
from roundplan.domain.plan import Trip
from roundplan.handouts.page import Cell, Table, environment
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.timeline_week import WEEK, Stop, Week, team_words
from roundplan.handouts.speech import say
from roundplan.handouts.words import clock_span, list_words, short_date
from roundplan.travel.calendar import WorkingCalendar


def timeline_weeks(index: PlanIndex) -> tuple[Markup, ...]:
    """Return the timeline, an inline SVG a week with title and description; none for a plan without trips."""
    days = _dates(index)
    if not days:
        return ()
    calendar = WorkingCalendar(index.training_round)
    stops = {trip.code: _stops(index, trip, days[0]) for trip in index.plan.trips}
    monday = days[0] - timedelta(days=days[0].weekday())
    template = environment().get_template("timeline.svg.j2")
    drawn: list[Markup] = []
    for first in (monday + timedelta(days=n) for n in range(0, (days[-1] - monday).days + 1, WEEK)):
        week = Week(index, first, days[0], stops, calendar)
        if week.sites:
            drawn.append(Markup(template.render(d=week.drawing(f"timeline-{len(drawn) + 1}"))))
    return tuple(drawn)


def timeline_table(index: PlanIndex) -> Table:
    """Return the same in words: date, venue, crews, teams."""
    rows: list[tuple[Cell, ...]] = []
    for day in _dates(index):
        for session in index.sessions_in_order:
            if day in session.dates:
                said = tuple(team_words(index, team) for team in index.teams_of_session(session.code, day))
                times = [clock_span(d.start, d.end) for d in session.days if d.date == day]
                when = (short_date(day), *times)
                rows.append((when, index.name(session.venue), list_words(session.crews), said))
    heads = (say("Date"), say("Venue"), say("Crew"), say("Teams"))
    return Table(say("Sessions by date"), heads, rows)


def _dates(index: PlanIndex) -> tuple[date, ...]:
    """Return all dates from the first trip or session to the last."""
    days = {day.date for trip in index.plan.trips for day in trip.days}
    days |= {day for session in index.plan.sessions for day in session.dates}
    return tuple(Window(min(days), max(days))) if days else ()


def _stops(index: PlanIndex, trip: Trip, first: date) -> tuple[Stop, ...]:
    """Return when a crew is where: both ends of each leg, the base before and after."""
    at = index.training_round.crew(trip.crew).base

    def moment(day: date, seconds: int) -> int:
        return (day - first).days * DAY + seconds

    start, last = trip.days[0], trip.days[-1]
    out = min(start.legs[0].drive.depart, DAY // 4) if start.legs else DAY // 4
    found: list[Stop] = [(moment(start.date, out), at)]
    for day in trip.days:
        for leg in day.legs:
            found.append((moment(day.date, leg.drive.depart), leg.drive.start))
            found.append((moment(day.date, leg.drive.arrive), leg.drive.end))
    found.append((max(found[-1][0], moment(last.date, 3 * DAY // 4)), found[-1][1]))
    return tuple(found)
