"""Whether sessions, teams and covers hang together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from roundplan.audit.suspicion import Suspicion
from roundplan.domain.plan import Cover, CoverKind, Outing, Plan, Seat, Session, SessionDay, Slot, SlotKind, Team
from roundplan.domain.rules import Rule


def sound_sessions(plan: Plan, suspicion: Suspicion) -> tuple[Session, ...]:
    """Return the sessions without what does not hang together."""
    kept = []
    teams = {team.code for team in plan.teams}
    for session in suspicion.once(plan.sessions, lambda s: s.code, Rule.VENUE_CAPACITY, "the plan, sessions,"):
        if suspicion.known(session.venue, suspicion.sites, Rule.VENUE_OPEN, "the venue", session.code):
            days = _days(session, suspicion)
            if days:
                kept.append(_with_parts(session, days, teams, suspicion))
            else:
                suspicion.say(Rule.DAY_FITS, f"{session.code} has no date", session.venue)
    return tuple(kept)


def _days(session: Session, suspicion: Suspicion) -> tuple[SessionDay, ...]:
    where = session.code
    days = [day for day in session.days if suspicion.possible_date(day.date, Rule.VENUE_OPEN, where)]
    once = suspicion.once(days, lambda d: d.date, Rule.DAY_FITS, where)
    ordered = suspicion.in_order(once, lambda d: d.date, Rule.DAY_FITS, where)
    kept = []
    for day in ordered:
        words = f"{where} on {day.date.isoformat()}"
        start = suspicion.clock(day.start, Rule.DAY_FITS, words)
        end = suspicion.clock(day.end, Rule.DAY_FITS, words)
        if end < start:
            suspicion.say(Rule.DAY_FITS, f"{words} ends before it starts", session.venue, day.date)
            end = start
        kept.append(replace(day, start=start, end=end))
    return tuple(kept)


def _with_parts(session: Session, days: tuple[SessionDay, ...], teams: set[str], suspicion: Suspicion) -> Session:
    where = session.code
    crews = tuple(
        code
        for code in suspicion.once(session.crews, lambda c: c, Rule.CREW_STAFFED, where)
        if suspicion.known(code, suspicion.crews, Rule.CREW_STAFFED, "the crew", where)
    )
    stations = suspicion.once(session.stations, lambda s: s.number, Rule.SLOT_ORDER, f"{where}, stations,")
    leads = tuple(
        held
        for held in session.leads
        if suspicion.known(held.trainer, suspicion.trainers, Rule.CREW_STAFFED, "the trainer", where)
    )
    for station in stations:
        suspicion.known(station.director, suspicion.trainers, Rule.CREW_STAFFED, "the director", where)
        suspicion.known(station.crew, crews, Rule.CREW_STAFFED, "as crew of a station", where)
    numbers = {station.number for station in stations}
    slots = tuple(_slots(replace(session, days=days), numbers, teams, suspicion))
    return replace(session, days=days, crews=crews, stations=stations, leads=leads, slots=slots)


def _slots(session: Session, numbers: set[int], teams: set[str], suspicion: Suspicion) -> Iterator[Slot]:
    for slot in session.slots:
        where = f"{session.code}, slot {slot.number} of station {slot.station} on {slot.date.isoformat()},"
        if slot.date not in session.dates or slot.station not in numbers:
            suspicion.say(Rule.SLOT_ORDER, f"{where} is on no date or station of its session", session.venue)
            continue
        if slot.kind is SlotKind.SIMULATION and not suspicion.known(
            slot.team, teams, Rule.SIMULATIONS_PER_TEAM, "the team", where
        ):
            continue
        case = slot.case
        if case is not None and not suspicion.known(
            case, suspicion.cases, Rule.SIMULATIONS_PER_TEAM, "the case", where
        ):
            case = None
        watchers = suspicion.people | suspicion.trainers
        yield replace(
            slot,
            start=suspicion.clock(slot.start, Rule.DAY_FITS, where),
            end=suspicion.clock(slot.end, Rule.DAY_FITS, where),
            case=case,
            observers=tuple(
                code
                for code in slot.observers
                if suspicion.known(code, watchers, Rule.SLOT_ORDER, "the observer", where)
            ),
        )


def sound_teams(plan: Plan, sessions: tuple[Session, ...], suspicion: Suspicion) -> tuple[Team, ...]:
    """Return the teams without what does not hang together."""
    by_code = {session.code: session for session in sessions}
    kept = []
    for team in suspicion.once(plan.teams, lambda t: t.code, Rule.SLOT_ORDER, "the plan, teams,"):
        if not suspicion.known(team.facility, suspicion.facilities, Rule.TEAM_MIRRORS_HOME, "the facility", team.code):
            continue
        session = by_code.get(team.session)
        if session is None:
            suspicion.say(Rule.SIMULATIONS_PER_TEAM, f"{team.code} attends {team.session}, which is no sound session")
            continue
        dates = tuple(sorted({day for day in team.dates if day in session.dates}))
        if dates != team.dates:
            words = f"the dates of {team.code} are not each a date of {session.code}, once and in order"
            suspicion.say(Rule.SIMULATIONS_PER_TEAM, words, session.venue)
        if not dates:
            continue
        if all(station.number != team.station for station in session.stations):
            words = f"{team.code} is at station {team.station}, which {session.code} does not have"
            suspicion.say(Rule.SLOT_ORDER, words, session.venue)
        seats = tuple(_seats(team, suspicion))
        kept.append(replace(team, dates=dates, seats=seats, outings=tuple(_outings(team, suspicion))))
    return tuple(kept)


def _seats(team: Team, suspicion: Suspicion) -> Iterator[Seat]:
    for seat in team.seats:
        where = f"{team.code}, {seat.role.value},"
        if suspicion.known(seat.person, suspicion.people, Rule.SEAT_AUTHORISED, "the person", where):
            standby = seat.standby
            if standby is not None and not suspicion.known(
                standby, suspicion.people, Rule.STAFF_AVAILABLE, "the standby", where
            ):
                standby = None
            yield replace(seat, standby=standby)


def _outings(team: Team, suspicion: Suspicion) -> Iterator[Outing]:
    rule = Rule.PARTICIPANT_TRAVEL
    for outing in team.outings:
        where = f"{team.code}, outing from {outing.facility},"
        if suspicion.known(outing.facility, suspicion.facilities, rule, "the facility", where):
            drives = (suspicion.drive(drive, rule, where) for drive in outing.drives)
            yield replace(
                outing,
                people=tuple(
                    p for p in outing.people if suspicion.known(p, suspicion.people, rule, "the person", where)
                ),
                drives=tuple(drive for drive in drives if drive is not None),
                nights=tuple(
                    (day, site)
                    for day, site in outing.nights
                    if suspicion.possible_date(day, rule, where)
                    and suspicion.known(site, suspicion.sites, rule, "the lodging", where)
                ),
            )


def sound_cover(plan: Plan, teams: tuple[Team, ...], suspicion: Suspicion) -> tuple[Cover, ...]:
    """Return the covers whose codes and dates make sense."""
    rules = {
        CoverKind.OWN: Rule.COVER_KEPT,
        CoverKind.REFERRAL: Rule.COVER_REFERRAL,
        CoverKind.SLOT: Rule.COVER_ON_SITE,
    }
    team_codes = {team.code for team in teams}
    kept = []
    for cover in plan.cover:
        rule = rules[cover.kind]
        where = f"the cover of {cover.facility} on {cover.date.isoformat()}"
        if suspicion.known(cover.facility, suspicion.facilities, rule, "the facility", where) and (
            suspicion.possible_date(cover.date, rule, where)
        ):
            named = tuple(
                (role, code)
                for role, code in cover.named
                if suspicion.known(code, suspicion.people, rule, "the person", where)
            )
            if cover.for_facility is not None:
                suspicion.known(cover.for_facility, suspicion.facilities, rule, "the facility", where)
            if cover.team is not None:
                suspicion.known(cover.team, team_codes, rule, "the team", where)
            kept.append(replace(cover, named=named))
    return tuple(kept)
