"""A facility's calendar: who trains when and where, their journeys, who stays, and what is held here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from roundplan.domain.plan import Drive, Seat, Session, Team
from roundplan.domain.role import Shift
from roundplan.handouts.calendars.calendar import Issue, calendar_bytes
from roundplan.handouts.calendars.entry import Entry, begin, finish
from roundplan.handouts.calendars.trainer import place_of
from roundplan.handouts.facility.cover import named_words, why_words
from roundplan.handouts.facility.groups import seat_name
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import clock, list_words


def wanted(index: PlanIndex, facility: str) -> bool:
    """Whether a facility's calendar has any entry; the file format wants one at least."""
    return next(entries(index, facility), None) is not None


def render(index: PlanIndex, facility: str, *, version: int | None = None, earlier: bytes | None = None) -> bytes:
    """Return a facility's calendar as an .ics file.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    facility : str
        Code of the facility. Of other facilities' people only guests in its own teams appear.
    version : int or None
        Version of this calendar's own last change; None = the plan's.
    earlier : bytes or None
        The calendar as it was last given out: entries that are as they were keep their sequence, those no longer
        planned are cancelled.
    """
    issue = Issue.of(index, facility, index.name(facility), version)
    return calendar_bytes(issue, list(entries(index, facility)), earlier)


def entries(index: PlanIndex, facility: str) -> Iterator[Entry]:
    """Yield a facility's entries: teams with their journeys, then shifts with those who stay, then sessions held."""
    teams: dict[str, list[Seat]] = {}
    for team, seat in index.seats_at(facility):
        teams.setdefault(team.code, []).append(seat)
    guests: Counter[date] = Counter()
    for code, seats in teams.items():
        team = index.teams[code]
        if team.facility == facility:
            about: tuple[str, ...] = ("team", str(team.number))
        else:
            guests[team.dates[0]] += 1
            about = ("guest", team.dates[0].isoformat(), str(guests[team.dates[0]]))
        yield from _trainings(index, facility, team, seats, about)
        yield from _journeys(index, facility, team, about)
    yield from _shifts(index, facility)
    yield from _held_here(index, facility)


def _trainings(
    index: PlanIndex, facility: str, team: Team, seats: list[Seat], about: tuple[str, ...]
) -> Iterator[Entry]:
    """Yield a team's dates at its session; a guest's as such."""
    session = index.sessions[team.session]
    venue = index.name(session.venue)
    if team.facility == facility:
        summary = say("Team {number} trains at {venue}", number=team.number, venue=venue)
    else:
        summary = say("Guest in a team of {facility}, at {venue}", facility=index.name(team.facility), venue=venue)
    people = [_seat_words(index, seat, facility) for seat in seats]
    for day in session.days:
        if day.date not in team.dates:
            continue
        starts = [clock(index.simulation_start(s)) for s in index.slots_of_team(team) if s.date == day.date]
        yield Entry(
            key=("training", *about, str(team.dates.index(day.date) + 1)),
            start=begin(day.date, day.start),
            end=finish(day.date, day.end),
            summary=summary,
            lines=(
                *people,
                *([say("Simulates at {times}.", times=list_words(starts))] if starts else []),
            ),
            location=venue,
            place=place_of(index, session.venue),
        )


def _seat_words(index: PlanIndex, seat: Seat, facility: str) -> str:
    return say("{name}, {role}", name=seat_name(index, seat, facility), role=role_word(seat.role))


def _journeys(index: PlanIndex, facility: str, team: Team, about: tuple[str, ...]) -> Iterator[Entry]:
    for outing in team.outings:
        if outing.facility == facility:
            names = list_words(index.name(person) for person in outing.people)
            for number, drive in enumerate(outing.drives, start=1):
                yield _journey(index, drive, names, ("journey", *about, str(number)))


def _journey(index: PlanIndex, drive: Drive, names: str, key: tuple[str, ...]) -> Entry:
    return Entry(
        key=key,
        start=begin(drive.date, drive.depart),
        end=finish(drive.date, drive.arrive),
        summary=say("Journey from {start} to {end}", start=index.name(drive.start), end=index.name(drive.end)),
        lines=(
            say("Who: {people}.", people=names),
            say("Road times are estimates: check road, weather and security on the day."),
        ),
        location=index.name(drive.start),
        place=place_of(index, drive.start),
    )


def _shifts(index: PlanIndex, facility: str) -> Iterator[Entry]:
    """Yield the shifts in which somebody is named to stay; they take no time of the calendar's owner."""
    hours = index.training_round.settings.cover
    by_shift: dict[tuple[date, Shift], dict[str, list[str]]] = {}
    for cover in index.cover_at(facility):
        whys = by_shift.setdefault((cover.date, cover.shift), {}).setdefault(named_words(index, cover), [])
        whys += [why] if (why := why_words(index, cover)) else []
    for (day, shift), said in by_shift.items():
        by_day = shift is Shift.DAY
        yield Entry(
            key=("cover", day.isoformat(), shift.value),
            start=begin(day, hours.day_from if by_day else hours.night_from),
            end=finish(day, hours.night_from) if by_day else finish(day + timedelta(days=1), hours.day_from),
            summary=say("Who stays by day") if by_day else say("Who stays by night"),
            lines=(
                *(f"{names}; {'; '.join(whys)}" if whys else names for names, whys in said.items()),
                say("The person in charge confirms this the day before."),
            ),
            busy=False,
        )


def _held_here(index: PlanIndex, facility: str) -> Iterator[Entry]:
    """Yield the sessions held in the facility, without a word on who comes."""
    numbers: Counter[date] = Counter()
    for session in index.sessions_in_order:
        if session.venue == facility:
            for day in session.days:
                numbers[day.date] += 1
                yield _room(index, session, day.date, numbers[day.date])


def _room(index: PlanIndex, session: Session, day: date, number: int) -> Entry:
    today = next(d for d in session.days if d.date == day)
    stations = several("one station", "{number} stations", len(session.stations))
    return Entry(
        key=("held", day.isoformat(), str(number)),
        start=begin(day, max(index.set_up_from(session, day), 0)),
        end=finish(day, index.packed_up_by(session, day)),
        summary=say("Room needed: a session is held here"),
        lines=(
            say(
                "Session from {start} to {end}, with {stations}.",
                start=clock(today.start),
                end=clock(today.end),
                stations=stations,
            ),
        ),
        location=index.name(session.venue),
        place=place_of(index, session.venue),
    )
