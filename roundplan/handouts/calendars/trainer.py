"""A trainer's calendar: each date of a trip, its drives and its sessions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta

from roundplan.domain.plan import Aboard, CrewDay, Drive, Session, Trip
from roundplan.handouts.calendars.calendar import Issue, calendar_bytes
from roundplan.handouts.calendars.entry import Entry, begin, finish
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.travel_days import drive_line, shared_day, trainer_day
from roundplan.handouts.speech import say
from roundplan.handouts.words import clock, list_words


def render(index: PlanIndex, trainer: str, *, version: int | None = None, earlier: bytes | None = None) -> bytes:
    """Return a trainer's calendar as an .ics file.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    trainer : str
        Code of the trainer.
    version : int or None
        Version of this calendar's own last change; None = the plan's.
    earlier : bytes or None
        The calendar as it was last given out: entries that are as they were keep their sequence, those no longer
        planned are cancelled.
    """
    issue = Issue.of(index, trainer, index.name(trainer), version)
    return calendar_bytes(issue, list(entries(index, trainer)), earlier)


def entries(index: PlanIndex, trainer: str) -> Iterator[Entry]:
    """Yield a trainer's entries in the order of time."""
    for trip, day, aboard in index.days_aboard(trainer):
        lines = trainer_day(index, day, aboard).lines
        yield _whole_day(index, trip, day, aboard, lines)
        shared = shared_day(index, day, aboard)
        numbers: Counter[str] = Counter()
        timed: list[tuple[int, Entry]] = []
        for leg in shared.legs:
            numbers["drive"] += 1
            timed.append((leg.drive.depart, _drive(index, leg.drive, numbers["drive"])))
        for code in day.sessions:
            numbers["session"] += 1
            session = index.sessions[code]
            timed.append(
                (index.set_up_from(session, day.date), _session(index, session, day, trainer, numbers["session"]))
            )
        yield from (entry for _, entry in sorted(timed, key=lambda pair: pair[0]))


def _whole_day(index: PlanIndex, trip: Trip, day: CrewDay, aboard: Aboard, lines: tuple[str, ...]) -> Entry:
    """Return an entry for the whole date, which takes no time: what the date holds, read at a glance.

    The crew's night is said only to those who sleep there.
    """
    if len(trip.days) == 1:
        summary = say("Trip {trip} with crew {crew}", trip=trip.code, crew=trip.crew)
    elif day.night is not None and aboard.leaves_at is not None:
        site = index.name(aboard.leaves_at)
        summary = say("Trip {trip} with crew {crew}, you leave it at {site}", trip=trip.code, crew=trip.crew, site=site)
    elif day.night is not None:
        site = index.name(day.night)
        summary = say("Trip {trip} with crew {crew}, night at {site}", trip=trip.code, crew=trip.crew, site=site)
    else:
        summary = say("Trip {trip} with crew {crew}, last day", trip=trip.code, crew=trip.crew)
    key = ("day", day.date.isoformat())
    return Entry(key, day.date, day.date + timedelta(days=1), summary, lines, busy=False)


def _drive(index: PlanIndex, drive: Drive, number: int) -> Entry:
    return Entry(
        key=("drive", drive.date.isoformat(), str(number)),
        start=begin(drive.date, drive.depart),
        end=finish(drive.date, drive.arrive),
        summary=say("Drive from {start} to {end}", start=index.name(drive.start), end=index.name(drive.end)),
        lines=(drive_line(index, drive), say("Road times are estimates: check road, weather and security on the day.")),
        location=index.name(drive.start),
        place=place_of(index, drive.start),
    )


def _session(index: PlanIndex, session: Session, day: CrewDay, trainer: str, number: int) -> Entry:
    today = next(d for d in session.days if d.date == day.date)
    leads = list_words(index.leads_of(session, trainer))
    teams = list_words(
        say("{facility}, team {team}", facility=index.name(team.facility), team=team.number)
        for team in index.teams_of_session(session.code, day.date)
    )
    return Entry(
        key=("session", day.date.isoformat(), str(number)),
        start=begin(day.date, index.set_up_from(session, day.date)),
        end=finish(day.date, index.packed_up_by(session, day.date)),
        summary=say("Session at {venue}", venue=index.name(session.venue)),
        lines=(
            say(
                "Session from {start} to {end}; before and after it you set up and pack up.",
                start=clock(today.start),
                end=clock(today.end),
            ),
            say("You: {leads}.", leads=leads) if leads else say("You: trainer, no lead."),
            *([say("Teams: {teams}.", teams=teams)] if teams else []),
        ),
        location=index.name(session.venue),
        place=place_of(index, session.venue),
    )


def place_of(index: PlanIndex, site: str) -> tuple[float, float]:
    """Return where a site is: latitude and longitude in degrees."""
    found = index.training_round.site(site)
    return found.latitude, found.longitude
