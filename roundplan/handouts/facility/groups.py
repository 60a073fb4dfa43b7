"""What a facility's documents say of those who go: one block a team, with its drives, nights and seats."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roundplan.domain.plan import Drive, Seat, SessionDay, Team
from roundplan.domain.role import Transport
from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import message, say, several
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import (
    arrival,
    capital,
    clock,
    dates_words,
    duration,
    kilometres,
    list_words,
    short_date,
)

TRANSPORT_WORDS = {
    Transport.OWN: message("Travel in the facility's own vehicle."),
    Transport.HIRED: message("Travel in a hired vehicle."),
    Transport.PUBLIC: message("Travel by public transport."),
}


@dataclass(frozen=True, slots=True)
class Group:
    """What the sheet says of one team: heading, sentences, table of its seats."""

    title: str
    sentences: tuple[str, ...]
    table: Table


def groups(index: PlanIndex, facility: str, *, once: bool = False) -> Iterator[Group]:
    """Yield one block a team: what it is, how its people travel, who sits in it.

    Parameters
    ----------
    once : bool
        ``marks_words`` stands with these teams alone: seats that are all provisional are not marked each.
    """
    marked = not (once and all(seat.provisional for _, seat in index.seats_at(facility)))
    teams: dict[str, list[Seat]] = {}
    for team, seat in index.seats_at(facility):
        teams.setdefault(team.code, []).append(seat)
    for code, seats in teams.items():
        team = index.teams[code]
        what = team_words(index, team, facility)
        rows = [_seat_row(index, team, seat, facility, marked) for seat in seats]
        yield Group(
            _title(index, team, facility, what),
            tuple(travel_words(index, team, facility)),
            Table(say("Seats: {team}", team=what), (say("Who"), say("Role"), say("Standby")), rows),
        )


def team_words(index: PlanIndex, team: Team, facility: str) -> str:
    """Say which team it is to a facility: its own by number, or one in which its people are guests."""
    if team.facility == facility:
        return say("Team {team}", team=team.number)
    return say("Guest in a team of {facility}", facility=index.name(team.facility))


def _title(index: PlanIndex, team: Team, facility: str, what: str) -> str:
    if index.sessions[team.session].venue == facility:
        return say("{team}: {dates}, here", team=what, dates=dates_words(team.dates))
    venue = index.venue_name(team)
    return say("{team}: {dates}, at {venue}", team=what, dates=dates_words(team.dates), venue=venue)


def _seat_row(
    index: PlanIndex, team: Team, seat: Seat, facility: str, marked: bool
) -> tuple[str | tuple[str, ...], ...]:
    role = role_word(seat.role)
    shown = say("{role}, provisional", role=role) if seat.provisional and marked else role
    return seat_name(index, seat, facility), shown, standby_words(index, seat, facility)


def seat_name(index: PlanIndex, seat: Seat, facility: str) -> str:
    """Name who sits in a seat; of a guest, where from."""
    name, home = index.name(seat.person), index.home(seat.person)
    if home == facility:
        return name
    return say("{name} (guest from {facility})", name=name, facility=index.name(home))


def standby_words(index: PlanIndex, seat: Seat, facility: str) -> str:
    """Name the standby of a seat; one from another facility is not named to this one."""
    if seat.standby is None:
        return say("none")
    home = index.home(seat.standby)
    return index.name(seat.standby) if home == facility else say("with {facility}", facility=index.name(home))


def travel_words(index: PlanIndex, team: Team, facility: str) -> Iterator[str]:
    """Yield lines: the session's hours, each drive of this facility's people, the nights, own simulations."""
    session = index.sessions[team.session]
    drives = any(outing.facility == facility and outing.drives for outing in team.outings)
    for day in session.days:
        if day.date in team.dates:
            line = _session_words(index, team, day)
            if drives:
                line += " " + say(TRANSPORT_WORDS[index.training_round.facility(facility).transport])
            yield line
    for outing in team.outings:
        if outing.facility == facility and outing.drives:
            yield from (_drive_words(index, drive, home=facility) for drive in outing.drives)
        if outing.facility == facility and outing.nights:
            sites = list_words(dict.fromkeys(index.name(site) for _, site in outing.nights))
            nights = len(outing.nights)
            yield capital(several("{numeral} night at {sites}.", "{numeral} nights at {sites}.", nights, sites=sites))


def _session_words(index: PlanIndex, team: Team, day: SessionDay) -> str:
    """Say a session's hours on a date, and when the team itself simulates."""
    starts = [clock(index.simulation_start(s)) for s in index.slots_of_team(team) if s.date == day.date]
    when = {"date": short_date(day.date), "start": clock(day.start), "end": clock(day.end)}
    if not starts:
        return say("Session {date}, {start} to {end}.", **when)
    return say("Session {date}, {start} to {end}; simulates at {times}.", times=list_words(starts), **when)


def _drive_words(index: PlanIndex, drive: Drive, *, home: str) -> str:
    facts = {
        "date": short_date(drive.date),
        "depart": clock(drive.depart),
        "arrive": arrival(drive.arrive),
        "km": kilometres(drive.km),
        "time": duration(drive.arrive - drive.depart),
    }
    if drive.end == home:
        return say("Back: leave {date}, {depart}, home {arrive} ({km}, {time}).", **facts)
    place = index.name(drive.end)
    return say("Out: leave {date}, {depart}, reach {place} {arrive} ({km}, {time}).", place=place, **facts)


def marks_words(seats: Sequence[tuple[Team, Seat]]) -> str:
    """Explain the words "guest" and "provisional" where the seats use them."""
    said = []
    if any(seat.guest for _, seat in seats):
        said.append(say("Guest: fills a role in another facility's team."))
    if seats and all(seat.provisional for _, seat in seats):
        said.append(say("All seats are provisional: they may change when the roster comes."))
    elif any(seat.provisional for _, seat in seats):
        said.append(say("Provisional: may change when the roster comes."))
    return " ".join(said)
