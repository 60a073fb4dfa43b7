"""What venues can take, and how full the plan makes them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.place import Site
from roundplan.domain.plan import Session
from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import dates_words, number


@dataclass(frozen=True, slots=True)
class Room:
    """A site that can host sessions.

    Attributes
    ----------
    stations, people : int
        What it takes at once.
    stations_used, people_most : int
        The most that a session of the plan has there on one date; 0 without one.
    """

    site: Site
    stations: int
    people: int
    stations_used: int
    people_most: int
    dates: tuple[date, ...]


def rooms(index: PlanIndex) -> Iterator[Room]:
    """Yield all sites that can host, those with a session first."""
    r = index.training_round
    found = [_room(index, site) for site in r.sites() if site.stations or _held(index, site.code)]
    yield from sorted(found, key=lambda room: not room.dates)


def _held(index: PlanIndex, code: str) -> list[Session]:
    return [session for session in index.sessions_in_order if session.venue == code]


def _room(index: PlanIndex, site: Site) -> Room:
    held = _held(index, site.code)
    used = max((len(session.stations) for session in held), default=0)
    limit = index.training_round.settings.session.room_limit
    people = site.room_limit if site.room_limit is not None else limit * site.stations
    most = max((bodies(index, session, day) for session in held for day in session.dates), default=0)
    return Room(site, site.stations, people, used, most, tuple(day for session in held for day in session.dates))


def bodies(index: PlanIndex, session: Session, day: date) -> int:
    """Return how many people are in the room on a date: usual seats of the teams, trainers aboard, volunteers."""
    r = index.training_round
    teams = index.teams_of_session(session.code, day)
    learners = sum(max(len(r.facility(team.facility).usual_team), len(team.seats)) for team in teams)
    trainers = {
        aboard.trainer
        for trip in index.plan.trips
        if trip.crew in session.crews
        for crew_day in trip.days
        if crew_day.date == day
        for aboard in crew_day.aboard
    }
    return learners + len(trainers) + r.settings.session.volunteers_per_station * len(session.stations)


def room_words(room: Room) -> str:
    """Say what a venue takes and how much of it the plan uses."""
    takes = several(
        "Takes {numeral} station and {people} people", "Takes {numeral} stations and {people} people", room.stations,
        people=number(room.people, 0),
    )  # fmt: skip
    if not room.dates:
        return say("{takes}; no session here", takes=takes)
    return several(
        "{takes}; at most {numeral} station and {people} people are here at once",
        "{takes}; at most {numeral} stations and {people} people are here at once",
        room.stations_used,
        takes=takes,
        people=number(room.people_most, 0),
    )


def room_table(index: PlanIndex) -> Table:
    """Return every possible venue with what it takes and what the plan brings there."""
    heads = (say("Venue"), say("Stations it takes"), say("Stations used"), say("People it takes"),
             say("Most people there"), say("Dates of sessions"))  # fmt: skip
    rows = [
        (
            room.site.name,
            str(room.stations),
            str(room.stations_used),
            number(room.people, 0),
            number(room.people_most, 0),
            dates_words(room.dates) if room.dates else say("none"),
        )
        for room in rooms(index)
    ]
    return Table(say("What each venue can take"), heads, rows, numbers=frozenset({1, 2, 3, 4}))
