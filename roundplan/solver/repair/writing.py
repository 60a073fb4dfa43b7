"""Writes a repaired plan: what was planned anew takes the place of what it was, all else stays letter by letter."""

from __future__ import annotations

import dataclasses
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator
from datetime import date

from roundplan.costs.pricing import price_plan
from roundplan.domain.changes import lost_people, lost_teams
from roundplan.domain.plan import Plan, Reason, Seat, Session, Team, Trip
from roundplan.domain.role import Role
from roundplan.solver.assembly.assemble import with_provisional
from roundplan.solver.assembly.away import Absences
from roundplan.solver.assembly.outings import outings_of
from roundplan.solver.assembly.reasons import reasons
from roundplan.solver.assembly.sessions import write_session
from roundplan.solver.assembly.standby import with_standbys
from roundplan.solver.assembly.swaps import swaps_of
from roundplan.solver.assembly.teams import Draft
from roundplan.solver.assembly.trips import write_trips
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.outline import Outline, OutlineSeat
from roundplan.solver.parts import Var
from roundplan.solver.reached import with_tiers
from roundplan.solver.read_off import read_off_roads
from roundplan.solver.repair.identity import Identity, Place
from roundplan.solver.repair.naming import named_as_before
from roundplan.solver.repair.stored import Part, Stored
from roundplan.supplies.loads import load_trips

Value = Callable[[Var], int]
Meeting = tuple[str, date]
"""Venue and start of a session."""
ROLES = {role: number for number, role in enumerate(Role)}


class Written:
    """What a solution makes of the parts that it plans anew.

    Parameters
    ----------
    parts : collection of Part
        Those parts.
    value : callable
        Value of a variable in the solution.
    """

    def __init__(self, stored: Stored, parts: Collection[Part], choices: Choices, identity: Identity, value: Value):
        self.stored, self.parts, self.facts = stored, tuple(parts), choices.facts
        self.choices, self.identity, self.value = choices, identity, value
        self.outline: Outline = read_off_roads(choices, value)
        self.drafts = sorted(self._drafts(), key=lambda d: d.code)

    # teams ----------------------------------------------------------------------------------------------------------

    def _drafts(self) -> Iterator[Draft]:
        modes = self._guest_modes()
        numbers = {team.code: team.number for team in self.stored.plan.teams}
        for team in self.identity.announced:
            for place, at in self.identity.positions(team):
                if self.value(at):
                    seats = tuple(self._seats(team.code, place, modes))
                    sending = place.sending
                    yield Draft(
                        team.facility, sending.venue, self._start(sending.venue, sending.first), sending.mode,
                        sending.on_site, seats, team.code, numbers[team.code],
                    )  # fmt: skip

    def _start(self, venue: str, first: date) -> date:
        held = {(s.venue, s.start) for s in self.outline.sessions}
        return next(start for start in self.facts.starts_of(venue, first) if (venue, start) in held)

    def _seats(self, code: str, place: Place, modes: dict[tuple[str, str, date], list[Mode]]) -> list[OutlineSeat]:
        own = [
            OutlineSeat(person, role)
            for (team, person, _, role), var in self.identity.own.items()
            if team == code and self.value(var)
        ]
        home = self.facts.round.person
        lent = [
            OutlineSeat(person, role, modes[home(person).facility, venue, first].pop(0))
            for (team, person, role, venue, first), var in self.identity.guests.items()
            if team == code and self.value(var) and (venue, first) == place.at
        ]
        return sorted((*own, *lent), key=lambda s: (ROLES[s.role], s.guest_mode is not None, s.person))

    def _guest_modes(self) -> dict[tuple[str, str, date], list[Mode]]:
        modes: dict[tuple[str, str, date], list[Mode]] = defaultdict(list)
        for guesting in self.choices.guestings:
            modes[guesting.facility, guesting.venue, guesting.first] += [guesting.mode] * self.value(guesting.count)
        return modes

    # the plan -------------------------------------------------------------------------------------------------------

    def plan(self) -> Plan:
        """Return the whole plan."""
        plan, gone = self.stored.plan, self.parts
        teams = {team.code for part in gone for team in part.teams}
        codes = {session.code for part in gone for session in part.sessions}
        trips = {trip.code for part in gone for trip in part.trips}
        sessions, placed = self._sessions()
        fresh = [self._team(draft, sessions[draft.venue, draft.start], placed) for draft in self.drafts]
        kept_sessions = [s for s in plan.sessions if s.code not in codes]
        whole = dataclasses.replace(
            plan,
            sessions=tuple(self._sessions_in_order([*kept_sessions, *sessions.values()])),
            trips=self._trips_in_order([*(t for t in plan.trips if t.code not in trips), *self._trips(sessions)]),
        )
        whole = dataclasses.replace(
            whole, teams=_teams_in_order([*(t for t in plan.teams if t.code not in teams), *fresh], whole.sessions)
        )
        return finished(whole, plan, self.facts)

    def _sessions(self) -> tuple[dict[Meeting, Session], dict[str, int]]:
        known = {(s.venue, s.dates[0]): s.code for part in self.parts for s in part.sessions}
        spare = _fresh("S", {s.code for s in self.stored.plan.sessions})
        found: dict[Meeting, Session] = {}
        placed: dict[str, int] = {}
        for session in sorted(self.outline.sessions, key=lambda s: (s.start, s.venue)):
            key = (session.venue, session.start)
            here = [d for d in self.drafts if (d.venue, d.start) == key]
            code = known[key] if key in known else next(spare)
            found[key], stations = write_session(code, session, here, self.outline, self.facts)
            placed |= stations
        return found, placed

    def _team(self, draft: Draft, session: Session, stations: dict[str, int]) -> Team:
        days = {day.date: day for day in session.days}
        return Team(
            code=draft.code,
            facility=draft.facility,
            number=draft.number,
            session=session.code,
            station=stations[draft.code],
            dates=draft.dates,
            seats=tuple(Seat(role=s.role, person=s.person, guest=s.guest_mode is not None) for s in draft.seats),
            outings=outings_of(draft, days, self.facts),
        )

    def _trips(self, sessions: dict[Meeting, Session]) -> Iterator[Trip]:
        """Yield the trips; one that shares most dates with an announced trip of its crew keeps its code."""
        announced = {trip.code: trip for part in self.parts for trip in part.trips}
        spare = _fresh("K", {trip.code for trip in self.stored.plan.trips})
        for trip in write_trips(self.outline, sessions, self.facts):
            days = {day.date for day in trip.days}
            shared = {
                code: len(days & {d.date for d in old.days}) for code, old in announced.items() if old.crew == trip.crew
            }
            code = max(shared, key=lambda code: (shared[code], code), default="")
            if code and shared[code]:
                del announced[code]
            else:
                code = next(spare)
            yield dataclasses.replace(trip, code=code)

    def _sessions_in_order(self, sessions: Iterable[Session]) -> list[Session]:
        clock = 1 if self.facts.shares_days else 0
        return sorted(sessions, key=lambda s: (s.dates[0], clock * s.days[0].start, s.venue))

    @staticmethod
    def _trips_in_order(trips: Iterable[Trip]) -> tuple[Trip, ...]:
        return tuple(sorted(trips, key=lambda t: (t.days[0].date, t.crew)))


def _teams_in_order(teams: Iterable[Team], sessions: Iterable[Session]) -> tuple[Team, ...]:
    """Return teams by date, session, facility and code, those of a facility numbered from one."""
    held = {s.code: s for s in sessions}
    numbers: Counter[str] = Counter()
    numbered = []
    for team in sorted(teams, key=lambda t: (t.facility, t.number, t.code)):
        numbers[team.facility] += 1
        numbered.append(dataclasses.replace(team, number=numbers[team.facility]))
    return tuple(
        sorted(
            numbered, key=lambda t: (t.dates[0], held[t.session].dates[0], held[t.session].venue, t.facility, t.code)
        )
    )


def _fresh(letter: str, used: set[str]) -> Iterator[str]:
    """Yield codes that were never given."""
    numbers = [int(code[1:]) for code in used if code[1:].isdigit()]
    width = max([2, *(len(code) - 1 for code in used)])
    number = max(numbers, default=0)
    while True:
        number += 1
        yield f"{letter}{number:0{width}d}"


def finished(plan: Plan, announced: Plan, facts: Facts) -> Plan:
    """Fill in what follows from who is where; cover and standbys stay as announced where they still can."""
    plan = dataclasses.replace(plan, teams=tuple(with_provisional(Absences(plan, facts))))
    absences = Absences(plan, facts)
    plan = dataclasses.replace(plan, teams=with_standbys(absences, announced.teams), swaps=swaps_of(absences))
    plan = dataclasses.replace(plan, cover=named_as_before(absences, announced.cover))
    plan = load_trips(plan, facts.round)
    plan = with_tiers(dataclasses.replace(plan, costs=price_plan(plan, facts.round)), facts, {})
    return _as_announced(dataclasses.replace(plan, reasons=_reasons(plan, announced, facts)), announced)


def _reasons(plan: Plan, announced: Plan, facts: Facts) -> tuple[Reason, ...]:
    """Return why facilities and people are left out; as announced for those for whom nothing has changed."""
    lost = {team.facility for team in lost_teams(announced, plan, facts.round)}
    lost |= set(lost_people(announced, plan, facts.round))
    seated = {seat.person for team in plan.teams for seat in team.seats}
    kept = tuple(r for r in announced.reasons if r.who not in lost and r.who not in seated)
    return kept if not lost else (*kept, *reasons(plan, facts, plan.tiers, lost))


def _as_announced(plan: Plan, announced: Plan) -> Plan:
    """Return the announced plan itself where nothing but what was proven of it is different."""
    listed = {tier.aim: tier.value for tier in announced.tiers}
    same = all(listed.get(tier.aim) == tier.value for tier in plan.tiers)
    return announced if same and dataclasses.replace(plan, tiers=announced.tiers) == announced else plan
