"""What the map shows at each site, in words and shapes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from roundplan.domain.place import Site
from roundplan.domain.plan import Drive, Team
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import arrival, clock, count, dates_words, day_date, kilometres, list_words

INK, PAPER, BLUE, RUST = "#1d2733", "#fffefb", "#1c3f6b", "#87301a"


class Mark(StrEnum):
    """Kinds of mark; each is a layer of its own and a shape of its own."""

    TRAINED = "Facilities with a team"
    UNTRAINED = "Facilities without a team"
    OTHER = "Other venues, bases, stores and lodgings"


_INNER = {
    Mark.TRAINED: f'<circle cx="15" cy="15" r="6" fill="{BLUE}" stroke="{PAPER}" stroke-width="1.5"/>',
    Mark.UNTRAINED: f'<path d="M15 7 L22.5 21 L7.5 21 Z" fill="{PAPER}" stroke="{RUST}" stroke-width="2.5"/>',
    Mark.OTHER: f'<path d="M15 9.5 L20.5 15 L15 20.5 L9.5 15 Z" fill="{INK}" stroke="{PAPER}" stroke-width="1.5"/>',
}
_VENUE = f'<rect x="2.5" y="2.5" width="25" height="25" fill="{PAPER}" stroke="{INK}" stroke-width="2.5"/>'


def shape(mark: Mark, *, venue: bool) -> str:
    """Return the drawing of a mark as inline SVG, 30 units square; venues stand in a square."""
    frame = _VENUE if venue else ""
    return f'<svg viewBox="0 0 30 30" width="30" height="30" aria-hidden="true">{frame}{_INNER[mark]}</svg>'


@dataclass(frozen=True, slots=True)
class SiteMark:
    """One mark.

    Attributes
    ----------
    lines : tuple of str
        What is said of the site; plain text.
    """

    site: Site
    mark: Mark
    venue: bool
    lines: tuple[str, ...]


def site_marks(index: PlanIndex) -> Iterator[SiteMark]:
    """Yield the marks: all facilities, and the places that the plan uses."""
    venues = {session.venue for session in index.plan.sessions}
    with_team = {team.facility for team in index.plan.teams}
    for facility in index.training_round.facilities:
        mark = Mark.TRAINED if facility.code in with_team else Mark.UNTRAINED
        lines = (*_team_lines(index, facility.code), *_reason_lines(index, facility.code, mark))
        yield SiteMark(facility, mark, facility.code in venues, (*lines, *_venue_lines(index, facility.code)))
    used = venues | set(_stops(index))
    for place in index.training_round.places:
        if place.code in used:
            kinds = list_words(sorted(kind.value for kind in place.kinds))
            lines = (kinds.capitalize(), *_venue_lines(index, place.code))
            yield SiteMark(place, Mark.OTHER, place.code in venues, lines)


def _stops(index: PlanIndex) -> Iterator[str]:
    for trip in index.plan.trips:
        yield index.training_round.crew(trip.crew).base
        yield from (load.place for load in trip.loads)
        for day in trip.days:
            if day.night is not None:
                yield day.night
            for leg in day.legs:
                yield from (leg.drive.start, leg.drive.end)


def _team_lines(index: PlanIndex, facility: str) -> Iterator[str]:
    for team in index.teams_in_order:
        if team.facility == facility:
            yield f"Team {team.code}, {count(len(team.seats), 'person')}: {_when_and_where(index, team)}"


def _when_and_where(index: PlanIndex, team: Team) -> str:
    session = index.sessions[team.session]
    start = next((day.start for day in session.days if day.date == team.dates[0]), None)
    at = "at home" if session.venue == team.facility else f"at {index.name(session.venue)}"
    return f"{dates_words(team.dates)}, {at}" + (f", from {clock(start)}" if start is not None else "")


def _reason_lines(index: PlanIndex, facility: str, mark: Mark) -> Iterator[str]:
    reasons = [reason for reason in index.plan.reasons if reason.who == facility]
    if mark is Mark.UNTRAINED:
        first = [reason.words for reason in reasons if reason.team_number in (None, 1)]
        yield "No team in this plan" + (f": {'; '.join(first)}" if first else "")
    else:
        for reason in reasons:
            yield f"No further team: {reason.words}"


def _venue_lines(index: PlanIndex, site: str) -> Iterator[str]:
    for session in index.sessions_in_order:
        if session.venue == site:
            teams = list_words(index.name(team.facility) for team in index.teams_of_session(session.code))
            stations = count(len(session.stations), "station")
            yield f"Session {session.code} on {dates_words(session.dates)}, {stations}; teams of {teams or 'nobody'}"


def drive_lines(index: PlanIndex, drive: Drive) -> tuple[str, ...]:
    """Return what is said of a drive."""
    return (
        f"{day_date(drive.date)}: {index.name(drive.start)} to {index.name(drive.end)}",
        f"leaves {clock(drive.depart)}, arrives {arrival(drive.arrive)}, {kilometres(drive.km)}",
    )
