"""What a facility's documents say of those who go: one block a team, with its drives, nights and seats."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roundplan.domain.plan import Drive, Seat, Team
from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import (
    arrival,
    capital,
    clock,
    count,
    dates_words,
    duration,
    kilometres,
    list_words,
    short_date,
)

TRANSPORT_WORDS = {
    "own": "in the facility's own vehicle",
    "hired": "in a hired vehicle",
    "public": "by public transport",
}


@dataclass(frozen=True, slots=True)
class Group:
    """What the sheet says of one team: heading, sentences, table of its seats."""

    title: str
    sentences: tuple[str, ...]
    table: Table


def groups(index: PlanIndex, facility: str) -> Iterator[Group]:
    """Yield one block a team: what it is, how its people travel, who sits in it."""
    teams: dict[str, list[Seat]] = {}
    for team, seat in index.seats_at(facility):
        teams.setdefault(team.code, []).append(seat)
    for code, seats in teams.items():
        team = index.teams[code]
        own = team.facility == facility
        what = f"Team {team.number}" if own else f"Guest in a team of {index.name(team.facility)}"
        where = "here" if index.sessions[team.session].venue == facility else f"at {index.venue_name(team)}"
        rows = [_seat_row(index, team, seat, facility) for seat in seats]
        yield Group(
            f"{what}: {dates_words(team.dates)}, {where}",
            tuple(travel_words(index, team, facility)),
            Table(f"Seats: {what}", ("Who", "Role", "Standby"), rows),
        )


def _seat_row(index: PlanIndex, team: Team, seat: Seat, facility: str) -> tuple[str | tuple[str, ...], ...]:
    name = index.name(seat.person)
    if index.home(seat.person) != facility:
        name += f" (guest from {index.name(index.home(seat.person))})"
    role = f"{seat.role.value}, provisional" if seat.provisional else seat.role.value
    return name, role, standby_words(index, seat, facility)


def standby_words(index: PlanIndex, seat: Seat, facility: str) -> str:
    """Name the standby of a seat; one from another facility is not named to this one."""
    if seat.standby is None:
        return "none"
    home = index.home(seat.standby)
    return index.name(seat.standby) if home == facility else f"with {index.name(home)}"


def travel_words(index: PlanIndex, team: Team, facility: str) -> Iterator[str]:
    """Yield lines: the session's hours, each drive of this facility's people, the nights, own simulations."""
    session = index.sessions[team.session]
    drives = any(outing.facility == facility and outing.drives for outing in team.outings)
    travel = f" Travel {TRANSPORT_WORDS[index.training_round.facility(facility).transport.value]}." if drives else ""
    for day in session.days:
        if day.date in team.dates:
            starts = [clock(index.simulation_start(s)) for s in index.slots_of_team(team) if s.date == day.date]
            simulating = f"; simulates at {list_words(starts)}" if starts else ""
            yield f"Session {short_date(day.date)}, {clock(day.start)} to {clock(day.end)}{simulating}.{travel}"
    for outing in team.outings:
        if outing.facility == facility and outing.drives:
            yield from (_drive_words(index, drive, home=facility) for drive in outing.drives)
        if outing.facility == facility and outing.nights:
            sites = list_words(dict.fromkeys(index.name(site) for _, site in outing.nights))
            yield f"{capital(count(len(outing.nights), 'night'))} at {sites}."


def _drive_words(index: PlanIndex, drive: Drive, *, home: str) -> str:
    when = f"{short_date(drive.date)}, {clock(drive.depart)}"
    length = f"{kilometres(drive.km)}, {duration(drive.arrive - drive.depart)}"
    if drive.end == home:
        return f"Back: leave {when}, home {arrival(drive.arrive)} ({length})."
    return f"Out: leave {when}, reach {index.name(drive.end)} {arrival(drive.arrive)} ({length})."


def marks_words(seats: Sequence[tuple[Team, Seat]]) -> str:
    """Explain the words "guest" and "provisional" where the seats use them."""
    said = []
    if any(seat.guest for _, seat in seats):
        said.append("Guest: fills a role in another facility's team.")
    if any(seat.provisional for _, seat in seats):
        said.append("Provisional: may change when the roster comes.")
    return " ".join(said)
