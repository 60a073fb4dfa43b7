"""What the map shows at each site, in words and shapes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from roundplan.domain.facility import Facility
from roundplan.domain.place import Site
from roundplan.domain.plan import Team
from roundplan.domain.role import PlaceKind
from roundplan.handouts.maps.rooms import Room, room_words, rooms
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.speech import message, say, several
from roundplan.handouts.words import capital, clock, dates_words, list_words

INK, PAPER, BLUE, RUST = "#1d2733", "#fffefb", "#1c3f6b", "#87301a"


class Mark(Enum):
    """Kinds of mark; each is a layer of its own and a shape of its own."""

    TRAINED = "trained"
    PARTLY = "partly"
    UNTRAINED = "untrained"
    NOT_ASKED = "not asked"
    OTHER = "other"


LAYERS = {
    Mark.TRAINED: message("Facilities with all teams wanted"),
    Mark.PARTLY: message("Facilities with fewer teams than wanted"),
    Mark.UNTRAINED: message("Facilities without a team"),
    Mark.NOT_ASKED: message("Facilities that ask for no team"),
    Mark.OTHER: message("Other venues, bases, stores and lodgings"),
}

STATES = {
    Mark.TRAINED: message("all teams wanted"),
    Mark.PARTLY: message("fewer teams than wanted"),
    Mark.UNTRAINED: message("no team"),
    Mark.NOT_ASKED: message("asks for no team"),
    Mark.OTHER: message("place"),
}

SHAPES = {
    Mark.TRAINED: message("Filled circle: a facility that sends all the teams it wants"),
    Mark.PARTLY: message("Half-filled circle: a facility that sends fewer teams than it wants; its label says why"),
    Mark.UNTRAINED: message("Open triangle: a facility without a team; its label says why"),
    Mark.NOT_ASKED: message("Small ring: a facility that asks for no team"),
    Mark.OTHER: message("Diamond: a base, store, lodging or other place"),
}

KINDS = {
    PlaceKind.BASE: message("base"),
    PlaceKind.VENUE: message("venue"),
    PlaceKind.LODGING: message("lodging"),
    PlaceKind.STORE: message("store"),
    PlaceKind.JUNCTION: message("junction"),
}

_CIRCLE = '<circle cx="15" cy="15" r="6.5" fill="{fill}" stroke="{edge}" stroke-width="{width}"/>'
_INNER = {
    Mark.TRAINED: _CIRCLE.format(fill=BLUE, edge=PAPER, width=1.5),
    Mark.PARTLY: _CIRCLE.format(fill=PAPER, edge=BLUE, width=2.2)
    + f'<path d="M15 8.5 A6.5 6.5 0 0 0 15 21.5 Z" fill="{BLUE}"/>',
    Mark.UNTRAINED: f'<path d="M15 7 L22.5 21 L7.5 21 Z" fill="{PAPER}" stroke="{RUST}" stroke-width="2.5"/>',
    Mark.NOT_ASKED: f'<circle cx="15" cy="15" r="3.8" fill="{PAPER}" stroke="{INK}" stroke-width="2"/>',
    Mark.OTHER: f'<path d="M15 9.5 L20.5 15 L15 20.5 L9.5 15 Z" fill="{INK}" stroke="{PAPER}" stroke-width="1.5"/>',
}
_VENUE = f'<rect x="2.5" y="2.5" width="25" height="25" fill="{PAPER}" stroke="{INK}" stroke-width="2.5"/>'


def shape(mark: Mark, *, stations: int | None) -> str:
    """Return the drawing of a mark as inline SVG, 38 × 30 units.

    Parameters
    ----------
    stations : int or None
        For a venue of the plan: stations that it takes, written beside the square round the mark.
    """
    frame = ""
    if stations is not None:
        frame = (
            f'{_VENUE}<rect x="22.5" y="0" width="15" height="13" fill="{INK}"/>'
            f'<text x="30" y="10.5" text-anchor="middle" font-size="11" font-weight="700" fill="{PAPER}">'
            f"{stations}</text>"
        )
    return f'<svg viewBox="0 0 38 30" width="38" height="30" aria-hidden="true">{frame}{_INNER[mark]}</svg>'


@dataclass(frozen=True, slots=True)
class SiteMark:
    """One mark.

    Attributes
    ----------
    room : Room or None
        What it can take as a venue; None where it cannot host.
    lines : tuple of str
        What is said of the site; plain text.
    """

    site: Site
    mark: Mark
    room: Room | None
    lines: tuple[str, ...]

    @property
    def venue(self) -> bool:
        """Whether a session of the plan is held there."""
        return self.room is not None and bool(self.room.dates)

    @property
    def drawing(self) -> str:
        """The mark as inline SVG."""
        return shape(self.mark, stations=self.room.stations if self.room is not None and self.venue else None)


def site_marks(index: PlanIndex) -> Iterator[SiteMark]:
    """Yield the marks: all facilities, and the places that the plan uses or that could host a session."""
    held = {room.site.code: room for room in rooms(index)}
    teams = Counter(team.facility for team in index.plan.teams)
    for facility in index.training_round.facilities:
        mark = _state(facility, teams[facility.code])
        lines = (*_team_lines(index, facility.code), *_reason_lines(index, facility.code, mark))
        room = held.get(facility.code)
        yield SiteMark(facility, mark, room, (*lines, *_venue_lines(index, facility.code, room)))
    used = set(held) | set(_stops(index))
    for place in index.training_round.places:
        if place.code in used:
            kinds = capital(list_words(sorted(say(KINDS[kind]) for kind in place.kinds)))
            room = held.get(place.code)
            yield SiteMark(place, Mark.OTHER, room, (kinds, *_venue_lines(index, place.code, room)))


def _state(facility: Facility, teams: int) -> Mark:
    if teams:
        return Mark.TRAINED if teams >= facility.teams_wanted else Mark.PARTLY
    return Mark.UNTRAINED if facility.teams_wanted else Mark.NOT_ASKED


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
            yield several(
                "Team {team}, {numeral} person: {when}", "Team {team}, {numeral} people: {when}", len(team.seats),
                team=team.code, when=_when_and_where(index, team),
            )  # fmt: skip


def _when_and_where(index: PlanIndex, team: Team) -> str:
    session = index.sessions[team.session]
    start = next((day.start for day in session.days if day.date == team.dates[0]), session.days[0].start)
    dates, time = dates_words(team.dates), clock(start)
    if session.venue == team.facility:
        return say("{dates}, at home, from {time}", dates=dates, time=time)
    return say("{dates}, at {venue}, from {time}", dates=dates, venue=index.name(session.venue), time=time)


def _reason_lines(index: PlanIndex, facility: str, mark: Mark) -> Iterator[str]:
    reasons = [reason for reason in index.plan.reasons if reason.who == facility]
    if mark is Mark.UNTRAINED:
        first = [reason_words(reason) for reason in reasons if reason.team_number in (None, 1)]
        yield say("No team in this plan: {reasons}", reasons="; ".join(first)) if first else say("No team in this plan")
    else:
        for reason in reasons:
            yield say("No further team: {reason}", reason=reason_words(reason))


def _venue_lines(index: PlanIndex, site: str, room: Room | None) -> Iterator[str]:
    if room is not None:
        yield room_words(room)
    for session in index.sessions_in_order:
        if session.venue == site:
            teams = list_words(index.name(team.facility) for team in index.teams_of_session(session.code))
            yield several(
                "Session {session} on {dates}, {numeral} station; teams of {teams}",
                "Session {session} on {dates}, {numeral} stations; teams of {teams}",
                len(session.stations),
                session=session.code,
                dates=dates_words(session.dates),
                teams=teams or say("nobody"),
            )
