"""A trainer's page: itinerary, sessions with their run sheets, what is packed, safety."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan, Session, Team, Trip
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.facility.groups import seat_name
from roundplan.handouts.page import Cell, Table, draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.run_sheet import run_table, sharps_words, slot_words
from roundplan.handouts.road.travel_days import (
    TravelDay,
    exposure_lines,
    load_table,
    trainer_day,
    trip_title,
    unlisted_lines,
    venue_contacts,
)
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import role_word, shipped
from roundplan.handouts.words import capital, dates_words, language, list_words, long_date


@dataclass(frozen=True, slots=True)
class SessionSheet:
    """One session on a trainer's page; ``anchor`` is where it stands there."""

    anchor: str
    dates: tuple[date, ...]
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
    said = say(
        "{sessions} on {trips}.",
        sessions=capital(several("{numeral} session", "{numeral} sessions", len(sessions))),
        trips=several("{numeral} trip", "{numeral} trips", len(trips)),
    )
    return render_page(
        "trainer.html.j2",
        **frame(plan, index.name(trainer), version),
        lede=said if sessions else say("No session in this round."),
        trips=[
            TripSheet(
                trip_title(index, trip),
                tuple(on),
                load_table(index, trip, say("Packed for trip {trip}", trip=trip.code)),
            )
            for trip, on in trips.values()
        ],
        sessions=[_session_sheet(index, session, trainer, number) for number, session in enumerate(sessions, start=1)],
        draft=draft_reasons(index, codes.keys()),
        contacts=venue_contacts(index, venues, contacts or {}),
        unlisted=unlisted_lines(index, venues, contacts or {}),
        exposure=exposure_lines(index, venues),
        safety=safety_lines(Reader.TRAINER),
    )


def _session_sheet(index: PlanIndex, session: Session, trainer: str, number: int) -> SessionSheet:
    return SessionSheet(
        anchor=f"session-{number}",
        dates=session.dates,
        title=say("{place}, {dates}", place=index.name(session.venue), dates=dates_words(session.dates)),
        leads=tuple(_lead_lines(index, session, trainer)),
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


def _lead_lines(index: PlanIndex, session: Session, trainer: str) -> Iterator[str]:
    """Yield who leads what: first the reader, then the others."""
    own = index.leads_of(session, trainer)
    yield say("You: {leads}.", leads=list_words(own)) if own else say("You: trainer, no lead.")
    for other in _trainers_of(index, session):
        if other != trainer:
            held = list_words(index.leads_of(session, other)) or say("trainer")
            yield say("{name}: {leads}.", name=index.name(other), leads=held)


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
        languages = list_words(map(language, person.languages)) or say("not entered")
        rows.append((seat_name(index, seat, team.facility), role_word(seat.role), languages))
    rows += [(say("empty"), role_word(role), "") for role in index.empty_seats(team)]
    shared = (
        frozenset.intersection(*(frozenset(index.training_round.person(seat.person).languages) for seat in team.seats))
        if team.seats
        else frozenset()
    )
    facts = {
        "facility": index.name(team.facility),
        "team": team.number,
        "station": team.station,
        "dates": dates_words(team.dates),
        "language": language(index.training_round.working_language(index.training_round.facility(team.facility))),
    }
    if shared:
        caption = say(
            "{facility}, team {team}, station {station}, {dates}; working language {language}, all speak {shared}",
            shared=list_words(sorted(map(language, shared))),
            **facts,
        )
    else:
        caption = say(
            "{facility}, team {team}, station {station}, {dates}; working language {language}, no language entered "
            "for all",
            **facts,
        )
    return Table(caption, (say("Who"), say("Role"), say("Languages")), rows)


def _case_table(index: PlanIndex, session: Session) -> Table:
    """Return the session's cases: when to stop, who approved, what else to bring."""
    rows: list[tuple[Cell, ...]] = []
    for code in dict.fromkeys(slot.case for slot in session.slots if slot.case):
        case = index.training_round.case(code)
        if case.approved_on:
            approved = say("{name}, {date}", name=case.approved_by, date=long_date(case.approved_on))
        else:
            approved = say("approval still wanted")
        extra = list_words(index.name(item) for item in case.extra_items) or say("nothing more")
        rows.append((shipped(case.name), shipped(case.stop_rule), approved, extra))
    heads = (say("Case"), say("Stop rule"), say("Approved"), say("Bring"))
    return Table(say("Cases of this session"), heads, rows)
