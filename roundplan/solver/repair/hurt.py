"""What of an announced plan no longer holds, looked at team by team and trip by trip, without a model."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.plan import Seat, Session, Team, Trip
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.naming import CoverNotNamed
from roundplan.solver.facts import Facts
from roundplan.solver.repair.hurt_limits import (
    below_the_floor,
    crowded_sessions,
    over_the_cap,
    overdone_trips,
    without_beds,
)
from roundplan.solver.repair.kept import matches
from roundplan.solver.repair.naming import named_as_before
from roundplan.solver.repair.pins import in_mode, same_way
from roundplan.solver.repair.stored import CrewStay, Part, Stored


@dataclass(slots=True)
class Hurt:
    """What no longer holds.

    Attributes
    ----------
    seats : set of (team, position of the seat)
        Holders who cannot sit there on those dates.
    teams : set of str
        Teams that cannot attend as announced.
    trainers : set of (session, trainer)
        Trainers who cannot be there.
    crews : set of (session, crew)
        Crews that cannot be there.
    trips : set of str
        Trips that cannot go as announced.
    cover : set of str
        Facilities where cover cannot be named.
    locks : set of int
        Positions of locks that are not kept.
    crowded : set of str
        Sessions that are too full, or whose trainers do not suffice.
    whole : set of str
        What concerns the whole plan: ``cap``, ``floor``.
    """

    seats: set[tuple[str, int]] = field(default_factory=set)
    teams: set[str] = field(default_factory=set)
    trainers: set[tuple[str, str]] = field(default_factory=set)
    crews: set[tuple[str, str]] = field(default_factory=set)
    trips: set[str] = field(default_factory=set)
    cover: set[str] = field(default_factory=set)
    locks: set[int] = field(default_factory=set)
    crowded: set[str] = field(default_factory=set)
    whole: set[str] = field(default_factory=set)

    @property
    def anything(self) -> bool:
        """Whether anything no longer holds."""
        people = (self.seats, self.teams, self.trainers, self.cover, self.locks)
        return any((*people, self.crews, self.trips, self.crowded, self.whole))

    @property
    def roads(self) -> bool:
        """Whether crews, trips or teams cannot go as they were to."""
        return bool(self.crews or self.trips or self.teams or self.crowded or self.whole)

    def facilities(self, stored: Stored) -> tuple[str, ...]:
        """Return the facilities with a hurt team, or where cover fails, by code."""
        teams = [stored.team[code] for code in {code for code, _ in self.seats} | self.teams]
        sending = {team.facility for team in stored.plan.teams}
        return tuple(sorted({team.facility for team in teams} | (self.cover & sending)))

    def in_part(self, part: Part, stored: Stored) -> bool:
        """Whether any of it is in a part."""
        teams, sessions = {t.code for t in part.teams}, {s.code for s in part.sessions}
        if any(code in teams for code, _ in self.seats) or self.teams & teams:
            return True
        if any(code in sessions for code, _ in self.trainers | self.crews) or self.crowded & sessions:
            return True
        if self.trips & {t.code for t in part.trips} or self.whole:
            return True
        return bool(self.cover & part.facilities) or any(self._locked(n, part, stored) for n in self.locks)

    @staticmethod
    def _locked(number: int, part: Part, stored: Stored) -> bool:
        """Whether a lock that is not kept speaks of people of a part, or of a crew or trainer near it."""
        lock, round_ = stored.facts.round.locks[number], stored.facts.round
        if lock.who is None:
            return any(lock.crew in (None, crew) for crew in part.crews)
        if round_.is_facility(lock.who):
            return lock.who in part.facilities
        if any(person.code == lock.who for person in round_.people):
            return round_.person(lock.who).facility in part.facilities
        return True


def what_is_hurt(stored: Stored) -> Hurt:
    """Look at all that the plan has announced."""
    hurt = Hurt()
    for team in stored.plan.teams:
        _team(stored, team, hurt)
    for session in stored.plan.sessions:
        _session(stored, session, hurt)
    for trip in stored.plan.trips:
        _trip(stored, trip, hurt)
    _locks(stored, hurt)
    _cover(stored, hurt)
    hurt.crowded |= set(crowded_sessions(stored))
    hurt.trips |= set(overdone_trips(stored))
    hurt.teams |= set(without_beds(stored))
    hurt.whole |= {"cap"} if over_the_cap(stored) else set()
    hurt.whole |= {"floor"} if below_the_floor(stored) else set()
    return hurt


# people -----------------------------------------------------------------------------------------------------------


def _team(stored: Stored, team: Team, hurt: Hurt) -> None:
    facts = stored.facts
    facility, venue, first = stored.visit(team)
    modes = facts.visiting.modes(facility, venue, first)
    own = next((o for o in team.outings if o.facility == facility), None)
    wanted = facts.round.facility(facility).teams_wanted
    if team.number > wanted or not any(in_mode(mode, own) for mode in modes) or modes[0].dates != team.dates:
        hurt.teams.add(team.code)
    usual = Counter(facts.round.facility(facility).usual_team)
    held = Counter(seat.role for seat in team.seats)
    if held - usual or sum((usual - held).values()) > facts.settings.teams.empty_seats:
        hurt.teams.add(team.code)
    for number, seat in enumerate(team.seats):
        if not _may_sit(facts, team, seat):
            hurt.seats.add((team.code, number))


def _may_sit(facts: Facts, team: Team, seat: Seat) -> bool:
    """Whether the holder of a seat can still sit there on these dates and travel as announced."""
    person = facts.round.person(seat.person)
    if seat.role not in facts.roles_of(person) or any(facts.obstacle(person, day) is not None for day in team.dates):
        return False
    outing = next((o for o in team.outings if person.code in o.people), None)
    travelling = {drive.date for drive in outing.drives} if outing is not None else set()
    return not any(facts.away_obstacle(person, day) for day in travelling - set(team.dates))


# sessions and trips -----------------------------------------------------------------------------------------------


def _session(stored: Stored, session: Session, hurt: Hurt) -> None:
    facts, start = stored.facts, session.dates[0]
    site = facts.round.site(session.venue)
    open_ = any(v.code == session.venue for v in facts.venues) and start in facts.session_starts.get(session.venue, ())
    laid = all(any((s, e) == (day.start, day.end) for (s, _), e in facts.day_table.items()) for day in session.days)
    if not open_ or not (laid or facts.shares_days) or len(session.stations) > site.stations:
        hurt.teams |= {team.code for team in stored.plan.teams if team.session == session.code}
    trainers = {t.code: t for t in facts.round.trainers}
    leads = [(held.trainer, held.lead) for held in session.leads]
    for code, lead in leads:
        if code not in trainers or lead not in trainers[code].leads:
            hurt.trainers.add((session.code, code))
    for station in session.stations:
        trainer = trainers.get(station.director)
        if trainer is None or "director" not in {lead.value for lead in trainer.leads}:
            hurt.trainers.add((session.code, station.director))


def _trip(stored: Stored, trip: Trip, hurt: Hurt) -> None:
    facts = stored.facts
    crew = facts.round.crew(trip.crew)
    trainers = {t.code: t for t in facts.round.trainers}
    for stay in stored.stays(trip):
        day = stay.day
        if not facts.crew_works(crew, day.date):
            hurt.trips.add(trip.code)
            hurt.crews |= {(code, trip.crew) for code in day.sessions}
        if not _drives_still(facts, stay) or (day.night is not None and not facts.round.site(day.night).has_lodging):
            hurt.trips.add(trip.code)
        for entry in day.aboard:
            trainer = trainers.get(entry.trainer)
            fits = trainer is not None and trainer.crew in (None, trip.crew) and facts.trainer_free(trainer, day.date)
            if not fits and day.sessions:
                hurt.trainers |= {(code, entry.trainer) for code in day.sessions}
            elif not fits:
                hurt.trips.add(trip.code)
    if len(crew_seats(trip)) and max(crew_seats(trip)) + crew.drivers > crew.seats:
        hurt.trips.add(trip.code)
    if trip.box_models > crew.box_models:
        hurt.trips.add(trip.code)


def crew_seats(trip: Trip) -> list[int]:
    """Return the trainers aboard by date."""
    return [len(day.aboard) for day in trip.days]


def _drives_still(facts: Facts, stay: CrewStay) -> bool:
    """Whether each leg of a date can still be driven as announced."""
    crew = facts.round.crew(stay.crew)
    for leg in stay.day.legs:
        drive = leg.drive
        arcs = facts.arcs(drive.start, drive.end, stay.day.date, crew)
        if not any(arc.passage is not None and same_way(arc.passage, drive) for arc in arcs):
            return False
    return True


# locks and cover --------------------------------------------------------------------------------------------------


def _locks(stored: Stored, hurt: Hurt) -> None:
    facts, plan = stored.facts, stored.plan
    if not facts.on(Rule.LOCKS):
        return
    teams, trips = {t.code for t in plan.teams}, {t.code for t in plan.trips}
    for number, lock in enumerate(facts.round.locks):
        found = list(matches(facts, plan, lock, teams, trips))
        if lock.do is Do.KEEP and not found:
            hurt.locks.add(number)
        elif lock.do is Do.FORBID:
            _forbidden(stored, lock, found, hurt)


def _forbidden(stored: Stored, lock: Lock, found: list[tuple[str, str]], hurt: Hurt) -> None:
    trainers = {trainer.code for trainer in stored.facts.round.trainers}
    for kind, code in found:
        if kind == "trip" and lock.who in trainers:
            trip = next(t for t in stored.plan.trips if t.code == code)
            for day in trip.days:
                if lock.date in (None, day.date):
                    hurt.trainers |= {(session, str(lock.who)) for session in day.sessions}
            hurt.trips.add(code)
        elif kind == "trip":
            hurt.trips.add(code)
            sessions = {c for t in stored.plan.trips if t.code == code for d in t.days for c in d.sessions}
            for session in (stored.session[c] for c in sessions):
                if lock.place in (None, session.venue) and (lock.date is None or lock.date in session.dates):
                    hurt.crews |= {(session.code, crew) for crew in session.crews if lock.crew in (None, crew)}
        elif lock.kind in (LockKind.VISIT, LockKind.FACILITY):
            hurt.teams.add(code)
        else:
            team = stored.team[code]
            for number, seat in enumerate(team.seats):
                if seat.person == lock.who and lock.role in (None, seat.role):
                    hurt.seats.add((code, number))


def _cover(stored: Stored, hurt: Hurt) -> None:
    """Look for facilities where cover fails with the teams as announced; those of hurt teams are looked at anyway."""
    for facility in _short(stored):
        hurt.cover.add(facility)


def _short(stored: Stored) -> Iterator[str]:
    absences = stored.absences
    if not stored.facts.on(Rule.COVER_KEPT):
        return
    touched = dict(absences.touched)
    try:
        for facility in touched:
            absences.touched = {facility: touched[facility]}
            try:
                named_as_before(absences, stored.plan.cover)
            except CoverNotNamed as failed:
                yield failed.facility
                yield facility
    finally:
        absences.touched = touched
