"""A written plan in the words of the search: its parts, which can be planned anew one by one, and what each takes."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.costs.pricing import price_plan
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CrewDay, Plan, Session, SlotKind, Team, Trip
from roundplan.solver.assembly.away import Absences
from roundplan.solver.facts import ONE_DAY, Facts, ShiftKey
from roundplan.solver.frame import Move
from roundplan.solver.limits.away import shifts_of_trainer
from roundplan.solver.parts import Counts, Visit
from roundplan.solver.repair.kept import kept_locks
from roundplan.solver.taken import Taken

Cohort = tuple[str, date]
"""People of a facility who attend from a date."""
Hold = tuple[str, str, date]
"""Crew, venue and start of a session."""


@dataclass(frozen=True, slots=True)
class CrewStay:
    """One date of a crew: from where it sets out, where it teaches, where it sleeps."""

    crew: str
    day: CrewDay
    start: str
    venue: str | None
    night: str

    def moves(self) -> frozenset[Move]:
        """Return what it drives."""
        if self.venue is None:
            return frozenset({(self.start, self.night)})
        return frozenset({(self.start, self.venue), (self.venue, self.night)})


@dataclass(frozen=True, slots=True)
class Part:
    """Trips that share no session, and no facility's people of one date, with other trips.

    Attributes
    ----------
    guest_homes : frozenset of Visit
        Facilities of guests, with where they attend from when.
    """

    trips: tuple[Trip, ...]
    sessions: tuple[Session, ...]
    teams: tuple[Team, ...]
    visits: frozenset[Visit]
    guest_homes: frozenset[Visit]

    @property
    def cohorts(self) -> frozenset[Cohort]:
        """People who attend, by facility and first date."""
        return frozenset((code, first) for code, _, first in self.visits | self.guest_homes)

    @property
    def facilities(self) -> frozenset[str]:
        """Facilities with a team or a guest."""
        return frozenset(code for code, _ in self.cohorts)

    @property
    def crews(self) -> frozenset[str]:
        """Crews on the road."""
        return frozenset(trip.crew for trip in self.trips)

    @property
    def dates(self) -> tuple[date, ...]:
        """Dates on the road."""
        return tuple(sorted({day.date for trip in self.trips for day in trip.days}))

    @property
    def holds(self) -> frozenset[Hold]:
        """Crew, venue and start of its sessions."""
        return frozenset((crew, s.venue, s.dates[0]) for s in self.sessions for crew in s.crews)


class Stored:
    """A plan, taken apart.

    Parameters
    ----------
    facts : Facts
        The round as it is now.
    plan : Plan
        The plan as it was announced.
    """

    def __init__(self, facts: Facts, plan: Plan) -> None:
        self.facts, self.plan = facts, plan
        self.session = {session.code: session for session in plan.sessions}
        self.team = {team.code: team for team in plan.teams}
        self.absences = Absences(plan, facts)
        self.parts = tuple(self._parts())

    def visit(self, team: Team) -> Visit:
        """Return where a team attends from when."""
        return team.facility, self.session[team.session].venue, team.dates[0]

    def stays(self, trip: Trip) -> Iterator[CrewStay]:
        """Yield the dates of a trip."""
        base = self.facts.round.crew(trip.crew).base
        at = base
        for day in trip.days:
            venue = self.session[day.sessions[0]].venue if day.sessions else None
            night = day.night or base
            yield CrewStay(trip.crew, day, at, venue, night)
            at = night

    # parts --------------------------------------------------------------------------------------------------------

    def _parts(self) -> Iterator[Part]:
        root: dict[object, object] = {}

        def find(key: object) -> object:
            while root.setdefault(key, key) != key:
                key = root[key]
            return key

        for trip in self.plan.trips:
            find(("trip", trip.code))
            for code in (code for day in trip.days for code in day.sessions):
                root[find(("trip", trip.code))] = find(("session", code))
        for team in self.plan.teams:
            for code in {team.facility, *(self._home(seat.person) for seat in team.seats if seat.guest)}:
                root[find(("session", team.session))] = find(("cohort", code, team.dates[0]))
        keys = dict.fromkeys(
            [find(("trip", t.code)) for t in self.plan.trips] + [find(("session", s.code)) for s in self.plan.sessions]
        )
        for key in keys:
            sessions = tuple(s for s in self.plan.sessions if find(("session", s.code)) == key)
            teams = tuple(t for t in self.plan.teams if find(("session", t.session)) == key)
            yield Part(
                tuple(t for t in self.plan.trips if find(("trip", t.code)) == key),
                sessions,
                teams,
                frozenset(map(self.visit, teams)),
                frozenset((self._home(s.person), *self.visit(t)[1:]) for t in teams for s in t.seats if s.guest),
            )

    def _home(self, person: str) -> str:
        return self.facts.round.person(person).facility

    # what parts take ------------------------------------------------------------------------------------------------

    def taken(self, without: Collection[Part]) -> Taken:
        """Return what all parts but some take."""
        parts = [part for part in self.parts if part not in without]
        teams = {team.code for part in parts for team in part.teams}
        trips = [trip for part in parts for trip in part.trips]
        sitters = [s for s in self.absences.sitters if s.team.code in teams]
        away: set[tuple[str, ShiftKey]] = {(s.person.code, key) for s in sitters for key in s.away}
        touched: set[tuple[str, ShiftKey]] = {(s.person.facility, key) for s in sitters for key in s.shifts}
        aboard = {(entry.trainer, day.date) for trip in trips for day in trip.days for entry in day.aboard}
        for trainer, on in aboard:
            person = self.facts.round.trainer(trainer).person
            if person is not None:
                away |= {(person, key) for key in shifts_of_trainer(on)}
                touched |= {(self._home(person), key) for key in shifts_of_trainer(on)}
        kept = kept_locks(self.facts, self.plan, teams, {trip.code for trip in trips})
        return Taken(
            seated=frozenset(s.person.code for s in sitters),
            away=frozenset(away),
            touched=frozenset(touched),
            teams=dict(Counter(team.facility for part in parts for team in part.teams)),
            sessions=frozenset((s.venue, day) for part in parts for s in part.sessions for day in s.dates),
            aboard=frozenset(aboard),
            working=frozenset(
                (e.trainer, d.date) for trip in trips for d in trip.days if d.legs or d.sessions for e in d.aboard
            ),
            nights=frozenset(self.nights(trips)),
            beds=self.beds(parts),
            uses=tuple((s.dates[0], self._uses(s)) for part in parts for s in part.sessions),
            trips=len(trips),
            crews=frozenset(trip.crew for trip in trips),
            out=frozenset((trip.crew, day.date) for trip in trips for day in trip.days),
            locks=frozenset(kept),
            cost=self._cost(parts),
        )

    def nights(self, trips: Iterable[Trip]) -> Iterator[tuple[str, date]]:
        """Yield who spends which night away from home with a crew."""
        for trip in trips:
            base = self.facts.round.crew(trip.crew).base
            for day in trip.days:
                if day.night is None or day.night == base:
                    continue
                for entry in day.aboard:
                    home = self.facts.round.trainer(entry.trainer).lives_at
                    if entry.leaves_at is None and not self.facts.near_sites(day.night, home):
                        yield entry.trainer, day.date

    def beds(self, parts: Iterable[Part]) -> dict[tuple[str, date], int]:
        """Return how many people of some parts lodge where in which night."""
        beds: Counter[tuple[str, date]] = Counter()
        for part in parts:
            for outing in (outing for team in part.teams for outing in team.outings):
                for night, site in outing.nights:
                    beds[site, night] += len(outing.people)
            for trip in part.trips:
                crew = self.facts.round.crew(trip.crew)
                away: dict[date, int] = defaultdict(int)
                for _, night in self.nights([trip]):
                    away[night] += 1
                for day in trip.days:
                    if day.night is not None and day.night != crew.base:
                        beds[day.night, day.date] += crew.drivers + away[day.date]
        return dict(beds)

    def _uses(self, session: Session) -> Counts:
        shown = [s for s in session.slots if s.kind is not SlotKind.RESERVE]
        walls = len({(s.station, s.wall) for s in shown})
        people = sum(len(team.seats) for team in self.plan.teams if team.session == session.code)
        return Counts(len(session.stations), len(shown), walls, people, 1)

    def _cost(self, parts: Iterable[Part]) -> int:
        """Return the price of parts, without consumables, which the rest counts for all, and contingency."""
        if self.facts.settings.prices.cap is None:
            return 0
        found = list(parts)
        alone = Plan(
            round_name="",
            sessions=tuple(s for part in found for s in part.sessions),
            teams=tuple(t for part in found for t in part.teams),
            trips=tuple(t for part in found for t in part.trips),
        )
        apart = (CostLine.CONSUMABLES, CostLine.CONTINGENCY)
        return sum(entry.amount for entry in price_plan(alone, self.facts.round) if entry.line not in apart)


def days_of(part: Part) -> tuple[date, ...]:
    """Return every date near a part: on the road, or on which its people are on the way."""
    found = set(part.dates)
    for team in part.teams:
        found |= {team.dates[0] - ONE_DAY, *team.dates, team.dates[-1] + ONE_DAY}
    return tuple(sorted(found))
