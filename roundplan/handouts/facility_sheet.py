"""One sheet of A4 for the facility in charge: who goes when, who stays by day and night, lines to sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Drive, Plan, Seat, Session, Team
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility_cover import (
    confirmation_rows,
    cover_rows,
    leave_first,
    referral_words,
    rosters_wanted,
    run_words,
    teaching_words,
)
from roundplan.handouts.facility_fit import type_size
from roundplan.handouts.page import Table, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.words import (
    arrival,
    capital,
    clock,
    count,
    dates_words,
    day_date,
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


def render(
    plan: Plan,
    training_round: TrainingRound,
    facility: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
) -> str:
    """Return a facility's sheet as HTML.

    Parameters
    ----------
    facility : str
        Code of the facility. Of other facilities' people only guests in its own teams appear.
    contacts : mapping of str to Contact or None
        Contacts by code; only the manager's is printed.
    version : int or None
        Version of this sheet's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    home = training_round.facility(facility)
    hosted = [_hosting_words(index, s) for s in index.sessions_in_order if s.venue == facility]
    main_text = {
        "teaching": teaching_words(index, facility),
        "absent_reason": _absent_reason(index, facility),
        "first_to_leave": leave_first(index, facility),
        "referral": referral_words(index, facility),
    }
    aside_text = {
        "hosted": hosted,
        "swaps": _swaps(index, facility),
        "rosters": rosters_wanted(index, facility),
        "run": run_words(index, facility),
        "exposure": _exposure(index, facility),
        "safety": safety_lines(Reader.FACILITY, hosts=bool(hosted)),
    }
    groups = tuple(_groups(index, facility))
    stays = Table("Who stays", ("Shift", "These stay"), cover_rows(index, facility))
    confirmations = confirmation_rows(index, facility)
    size = type_size(
        blocks=[(group.sentences, group.table.rows) for group in groups],
        stays=stays.rows,
        main_text=_texts(main_text),
        aside_text=_texts(aside_text),
        confirmations=len(confirmations),
    )
    return render_page(
        "facility.html.j2",
        **frame(plan, home.name, version),
        **main_text,
        **aside_text,
        groups=groups,
        stays=stays,
        confirmations=confirmations,
        manager=(contacts or {}).get("manager"),
        size=size,
    )


def _texts(parts: Mapping[str, str | Sequence[str]]) -> list[str]:
    """Return all paragraphs of a column; each part with a heading of its own counts two lines more."""
    said: list[str] = []
    for part in parts.values():
        lines = [part] if isinstance(part, str) else list(part)
        said += [line for line in lines if line]
        said += [" ", " "] if said and lines and lines[0] else []
    return said


@dataclass(frozen=True, slots=True)
class _Group:
    """What the sheet says of one team: heading, sentences, table of its seats."""

    title: str
    sentences: tuple[str, ...]
    table: Table


def _groups(index: PlanIndex, facility: str) -> Iterator[_Group]:
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
        yield _Group(
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
    for day in session.days:
        if day.date in team.dates:
            starts = [clock(index.simulation_start(s)) for s in index.slots_of_team(team) if s.date == day.date]
            simulating = f"; simulates at {list_words(starts)}" if starts else ""
            yield f"Session {short_date(day.date)}, {clock(day.start)} to {clock(day.end)}{simulating}."
    for outing in team.outings:
        if outing.facility == facility and outing.drives:
            yield from (_drive_words(index, drive, home=facility) for drive in outing.drives)
            yield f"They travel {TRANSPORT_WORDS[index.training_round.facility(facility).transport.value]}."
        if outing.facility == facility and outing.nights:
            sites = list_words(dict.fromkeys(index.name(site) for _, site in outing.nights))
            yield f"{capital(count(len(outing.nights), 'night'))} at {sites}."


def _drive_words(index: PlanIndex, drive: Drive, *, home: str) -> str:
    when = f"{short_date(drive.date)}, {clock(drive.depart)}"
    length = f"{kilometres(drive.km)}, {duration(drive.arrive - drive.depart)}"
    if drive.end == home:
        return f"Back: leave {when}, home {arrival(drive.arrive)} ({length})."
    return f"Out: leave {when}, reach {index.name(drive.end)} {arrival(drive.arrive)} ({length})."


def _absent_reason(index: PlanIndex, facility: str) -> str:
    """Return why the facility sends no team, or nothing if it does."""
    if any(team.facility == facility for team in index.plan.teams):
        return ""
    found = next((r.words for r in index.plan.reasons if r.who == facility), "")
    return f"No team from here in this round: {found}" if found else "No team from here in this round."


def _hosting_words(index: PlanIndex, session: Session) -> str:
    """Say that a session is held here, without a word on who comes."""
    first = session.days[0]
    set_up = first.start - index.training_round.settings.travel.set_up * 60
    hours = f"{clock(first.start)} to {clock(first.end)}"
    stations = count(len(session.stations), "station")
    return (
        f"A session is held here on {dates_words(session.dates)}, {hours}, with {stations}. "
        f"The room is needed from {clock(max(set_up, 0))}."
    )


def _swaps(index: PlanIndex, facility: str) -> tuple[str, ...]:
    return tuple(
        f"{index.name(swap.person)}, {swap.shift.value} duty of {day_date(swap.date)}"
        for swap in index.plan.swaps
        if index.home(swap.person) == facility
    )


def _exposure(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Return the contact for needle-sticks at each venue that the facility's people use."""
    venues = dict.fromkeys(index.sessions[team.session].venue for team, _ in index.seats_at(facility))
    venues.update({s.venue: None for s in index.plan.sessions if s.venue == facility})
    sites = (index.training_round.site(code) for code in venues)
    return tuple(f"{site.name}: {site.exposure_contact or 'to be named before the session'}" for site in sites)
