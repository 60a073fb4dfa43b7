"""A trainer's page: itinerary, sessions with their run sheets, what is packed, safety."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan, Session, Team, Trip
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.page import Cell, Table, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.run_sheet import run_table, sharps_words, slot_words
from roundplan.handouts.road.travel_days import (
    TravelDay,
    exposure_lines,
    load_table,
    session_count,
    trainer_day,
    trip_title,
    unlisted_lines,
    venue_contacts,
)
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.words import count, dates_words, day_date, language, list_words


@dataclass(frozen=True, slots=True)
class SessionSheet:
    """One session on a trainer's page."""

    title: str
    leads: tuple[str, ...]
    teams: tuple[Table, ...]
    slots: str
    sharps: str
    runs: tuple[Table, ...]
    cases: Table


@dataclass(frozen=True, slots=True)
class TripSheet:
    """One trip on a trainer's page."""

    title: str
    days: tuple[TravelDay, ...]
    packing: Table


def render(
    plan: Plan,
    training_round: TrainingRound,
    trainer: str,
    *,
    contacts: Mapping[str, Contact] | None = None,
    version: int | None = None,
) -> str:
    """Return a trainer's page as HTML.

    Parameters
    ----------
    trainer : str
        Code of the trainer.
    contacts : mapping of str to Contact or None
        Contacts by code; the manager's and the venues' are printed.
    version : int or None
        Version of this page's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    days = tuple(index.days_aboard(trainer))
    codes = dict.fromkeys(code for _, day, _ in days for code in day.sessions)
    sessions = tuple(index.sessions[code] for code in codes)
    trips: dict[str, tuple[Trip, list[TravelDay]]] = {}
    for trip, day, aboard in days:
        trips.setdefault(trip.code, (trip, []))[1].append(trainer_day(index, day, aboard))
    venues = tuple(session.venue for session in sessions)
    said = f"{session_count(len(sessions))} on {count(len(trips), 'trip')}."
    return render_page(
        "trainer.html.j2",
        **frame(plan, index.name(trainer), version),
        lede=said if sessions else "No session in this round.",
        trips=[
            TripSheet(trip_title(index, trip), tuple(on), load_table(index, trip, f"Packed for trip {trip.code}"))
            for trip, on in trips.values()
        ],
        sessions=[_session_sheet(index, session, trainer) for session in sessions],
        contacts=venue_contacts(index, venues, contacts or {}),
        unlisted=unlisted_lines(index, venues, contacts or {}),
        exposure=exposure_lines(index, venues),
        safety=safety_lines(Reader.TRAINER),
    )


def _session_sheet(index: PlanIndex, session: Session, trainer: str) -> SessionSheet:
    leads = [f"You: {list_words(own)}." if (own := index.leads_of(session, trainer)) else "You: trainer, no lead."]
    for other in _trainers_of(index, session):
        if other != trainer:
            held = index.leads_of(session, other)
            leads.append(f"{index.name(other)}: {list_words(held) if held else 'trainer'}.")
    return SessionSheet(
        title=f"{index.name(session.venue)}, {dates_words(session.dates)}",
        leads=tuple(leads),
        teams=tuple(_team_table(index, team) for team in index.teams_of_session(session.code)),
        slots=slot_words(index),
        sharps=sharps_words(index, session),
        runs=tuple(
            run_table(index, session, day, station.number, trainer)
            for day in session.days
            for station in session.stations
        ),
        cases=_case_table(index, session),
    )


def _trainers_of(index: PlanIndex, session: Session) -> tuple[str, ...]:
    aboard = (
        one.trainer
        for trip in index.plan.trips
        for day in trip.days
        if session.code in day.sessions
        for one in day.aboard
    )
    return tuple(dict.fromkeys(aboard))


def _team_table(index: PlanIndex, team: Team) -> Table:
    """Return a team's people with role and languages; no contacts."""
    rows: list[tuple[Cell, ...]] = []
    for seat in team.seats:
        person = index.training_round.person(seat.person)
        name = person.name + (f" (guest from {index.name(person.facility)})" if seat.guest else "")
        rows.append((name, seat.role.value, list_words(map(language, person.languages)) or "not entered"))
    rows += [("empty", role.value, "") for role in index.empty_seats(team)]
    shared = (
        frozenset.intersection(*(frozenset(index.training_round.person(seat.person).languages) for seat in team.seats))
        if team.seats
        else frozenset()
    )
    common = f"all speak {list_words(sorted(map(language, shared)))}" if shared else "no language entered for all"
    working = index.training_round.working_language(index.training_round.facility(team.facility))
    caption = (
        f"{index.name(team.facility)}, team {team.number}, station {team.station}, {dates_words(team.dates)}; "
        f"working language {language(working)}, {common}"
    )
    return Table(caption, ("Who", "Role", "Languages"), rows)


def _case_table(index: PlanIndex, session: Session) -> Table:
    """Return the session's cases: when to stop, who approved, what else to bring."""
    rows: list[tuple[Cell, ...]] = []
    for code in dict.fromkeys(slot.case for slot in session.slots if slot.case):
        case = index.training_round.case(code)
        approved = (
            f"{case.approved_by}, {day_date(case.approved_on)} {case.approved_on.year}" if case.approved_on else ""
        )
        extra = list_words(index.name(item) for item in case.extra_items) or "nothing more"
        rows.append((case.name, case.stop_rule, approved or "approval still wanted", extra))
    return Table("Cases of this session", ("Case", "Stop rule", "Approved", "Bring"), rows)
