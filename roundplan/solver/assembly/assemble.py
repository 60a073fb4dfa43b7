"""Writes an outline out as a plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date

from roundplan.costs.pricing import price_plan
from roundplan.domain.plan import Plan, Search, Seat, Session, Team, Tier
from roundplan.domain.presence import has_roster
from roundplan.solver.assembly.away import Absences
from roundplan.solver.assembly.naming import name_cover
from roundplan.solver.assembly.outings import outings_of
from roundplan.solver.assembly.reasons import reasons
from roundplan.solver.assembly.sessions import write_session
from roundplan.solver.assembly.standby import with_standbys
from roundplan.solver.assembly.swaps import swaps_of
from roundplan.solver.assembly.teams import Draft, draft_teams
from roundplan.solver.assembly.trips import write_trips
from roundplan.solver.facts import Facts
from roundplan.solver.outline import Outline
from roundplan.supplies.loads import load_trips


def assemble(outline: Outline, facts: Facts, tiers: tuple[Tier, ...], search: Search) -> Plan:
    """Turn an outline into a full plan: teams, slots, cover, trips, loads, prices, reasons.

    Parameters
    ----------
    outline : Outline
        What the search decided.
    facts : Facts
        The round seen by the solver, with the rules that are switched off.
    tiers : tuple of Tier
        What each aim reached.
    search : Search
        How the plan was found.

    Raises
    ------
    SlotsNotLaid, CoverNotNamed
        If the outline breaks a rule that is in force.
    """
    drafts = draft_teams(outline)
    sessions: dict[tuple[str, date], Session] = {}
    stations: dict[str, int] = {}
    clock = 1 if facts.shares_days else 0
    ordered = sorted(outline.sessions, key=lambda s: (s.start, clock * s.clocks[s.start][0], s.venue))
    width = max(2, len(str(len(ordered))))
    for index, session in enumerate(ordered, start=1):
        here = [d for d in drafts if (d.venue, d.start) == (session.venue, session.start)]
        written, placed = write_session(f"S{index:0{width}d}", session, here, outline, facts)
        sessions[session.venue, session.start] = written
        stations |= placed
    plan = Plan(
        round_name=facts.settings.round.name,
        search=search,
        tiers=tiers,
        sessions=tuple(sessions.values()),
        teams=tuple(_team(d, sessions[d.venue, d.start], stations, facts) for d in drafts),
        trips=write_trips(outline, sessions, facts),
    )
    return _finished(plan, facts, tiers)


def _team(draft: Draft, session: Session, stations: Mapping[str, int], facts: Facts) -> Team:
    days = {day.date: day for day in session.days}
    return Team(
        code=draft.code,
        facility=draft.facility,
        number=draft.number,
        session=session.code,
        station=stations[draft.code],
        dates=draft.dates,
        seats=tuple(Seat(role=s.role, person=s.person, guest=s.guest_mode is not None) for s in draft.seats),
        outings=outings_of(draft, days, facts),
    )


def _finished(plan: Plan, facts: Facts, tiers: tuple[Tier, ...]) -> Plan:
    """Fill in all that follows from who is where: provisional seats, cover, standbys, swaps, loads, prices, reasons."""
    absences = Absences(plan, facts)
    plan = replace(plan, teams=tuple(with_provisional(absences)))
    absences = Absences(plan, facts)
    plan = replace(plan, teams=with_standbys(absences), cover=name_cover(absences), swaps=swaps_of(absences))
    plan = load_trips(plan, facts.round)
    plan = replace(plan, costs=price_plan(plan, facts.round))
    return replace(plan, reasons=reasons(plan, facts, tiers))


def with_provisional(absences: Absences) -> Iterator[Team]:
    """Yield the teams with seats marked that touch a shift of the person's facility without a roster."""
    training_round = absences.facts.round
    unsure = {
        (sitter.team.code, sitter.person.code)
        for sitter in absences.sitters
        if any(not has_roster(training_round, sitter.person.facility, *key) for key in sitter.shifts)
    }
    for team in absences.plan.teams:
        yield replace(team, seats=tuple(replace(s, provisional=(team.code, s.person) in unsure) for s in team.seats))
