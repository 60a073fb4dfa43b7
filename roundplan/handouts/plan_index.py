"""One plan and its round, looked up the ways that documents ask: by facility, by trainer, by crew, by date."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from roundplan.audit.book import Book
from roundplan.domain.clock import MINUTE
from roundplan.domain.place import Road
from roundplan.domain.plan import Aboard, Cover, CrewDay, Outing, Plan, Seat, Session, Slot, Team, Trip
from roundplan.domain.role import Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.speech import say
from roundplan.handouts.terms import lead_word
from roundplan.slips.numbering import TOLD_CHECK, Numbers, numbers_for
from roundplan.travel.daylight import Daylight
from roundplan.travel.network import RoadNetwork

SHIFT_ORDER = {Shift.DAY: 0, Shift.NIGHT: 1}


@dataclass(frozen=True)
class PlanIndex:
    """A plan with its round, and the ways into both."""

    plan: Plan
    training_round: TrainingRound

    @cached_property
    def sessions(self) -> dict[str, Session]:
        """Sessions by code."""
        return {session.code: session for session in self.plan.sessions}

    @cached_property
    def teams(self) -> dict[str, Team]:
        """Teams by code."""
        return {team.code: team for team in self.plan.teams}

    @cached_property
    def roads(self) -> RoadNetwork:
        """The roads between the round's sites."""
        return RoadNetwork(self.training_round)

    @cached_property
    def road_rows(self) -> dict[tuple[str, str], list[Road]]:
        """Rows of the roads table by the two ends in the direction driven; a row for both ways stands twice."""
        found: dict[tuple[str, str], list[Road]] = {}
        for road in self.training_round.roads:
            found.setdefault((road.start, road.end), []).append(road)
            if not road.oneway:
                found.setdefault((road.end, road.start), []).append(road)
        return found

    @cached_property
    def daylight(self) -> Daylight:
        """Sunrise and sunset at the round's sites."""
        return Daylight(self.training_round)

    @cached_property
    def book(self) -> Book:
        """The plan beside its inputs as the audit opens it: who is away when, who is at hand."""
        return Book(self.plan, self.training_round)

    @cached_property
    def numbers(self) -> Numbers:
        """Letters and numbers of reply codes, as if no slip had gone out before."""
        return numbers_for(self.plan, self.training_round, check=TOLD_CHECK)

    @cached_property
    def seated_on(self) -> dict[str, frozenset[date]]:
        """By person with a seat, the dates of the session."""
        found: dict[str, set[date]] = {}
        for team in self.plan.teams:
            for seat in team.seats:
                found.setdefault(seat.person, set()).update(team.dates)
        return {person: frozenset(days) for person, days in found.items()}

    @cached_property
    def teaching_on(self) -> dict[str, frozenset[date]]:
        """By person who is also a trainer, the dates with a crew."""
        people = {t.code: t.person for t in self.training_round.trainers if t.person is not None}
        found: dict[str, set[date]] = {}
        for trip in self.plan.trips:
            for day in trip.days:
                for aboard in day.aboard:
                    if aboard.trainer in people:
                        found.setdefault(people[aboard.trainer], set()).add(day.date)
        return {person: frozenset(days) for person, days in found.items()}

    @cached_property
    def staying_on(self) -> dict[str, frozenset[date]]:
        """By person named as cover, the dates of the shifts, a night by its evening."""
        found: dict[str, set[date]] = {}
        for cover in self.plan.cover:
            for _, person in cover.named:
                found.setdefault(person, set()).add(cover.date)
        return {person: frozenset(days) for person, days in found.items()}

    @property
    def sessions_in_order(self) -> tuple[Session, ...]:
        """Sessions by first date, then by the clock where crews share dates between sessions, then venue."""
        clock = 1 if self.training_round.settings.session.shares_days else 0
        return tuple(sorted(self.plan.sessions, key=lambda s: (s.dates, clock * s.days[0].start, s.venue, s.code)))

    @property
    def teams_in_order(self) -> tuple[Team, ...]:
        """Teams by first date, then code."""
        return tuple(sorted(self.plan.teams, key=lambda t: (t.dates, t.code)))

    def name(self, code: str) -> str:
        """Return the name behind a code."""
        return self.training_round.name_of(code)

    def venue_name(self, team: Team) -> str:
        """Return the name of the venue at which a team trains."""
        return self.name(self.sessions[team.session].venue)

    def teams_of_session(self, session: str, day: date | None = None) -> tuple[Team, ...]:
        """Return the teams of a session, those of one date if given, by station."""
        found = (t for t in self.plan.teams if t.session == session and (day is None or day in t.dates))
        return tuple(sorted(found, key=lambda t: (t.station, t.code)))

    def seats_at(self, facility: str) -> Iterator[tuple[Team, Seat]]:
        """Yield the seats that a facility's sheet shows: its teams' seats and its own people's seats as guests."""
        for team in self.teams_in_order:
            for seat in team.seats:
                if team.facility == facility or self.home(seat.person) == facility:
                    yield team, seat

    def home(self, person: str) -> str:
        """Return the facility that a person belongs to."""
        return self.training_round.person(person).facility

    def outing(self, team: Team, person: str) -> Outing | None:
        """Return how a person gets to the session; None where the plan lists none."""
        return next((outing for outing in team.outings if person in outing.people), None)

    def on_site(self, team: Team, person: str) -> bool:
        """Whether the person is trained without a drive: the venue is the own facility or near it."""
        outing = self.outing(team, person)
        return outing is None or not outing.drives

    def cover_at(self, facility: str) -> tuple[Cover, ...]:
        """Return the cover that a facility's people give, by date and shift."""
        found = (cover for cover in self.plan.cover if cover.facility == facility)
        return tuple(sorted(found, key=lambda c: (c.date, SHIFT_ORDER[c.shift], c.kind.value, c.team or "")))

    def slots_of_team(self, team: Team) -> tuple[Slot, ...]:
        """Return a team's slots in order."""
        found = (slot for slot in self.sessions[team.session].slots if slot.team == team.code)
        return tuple(sorted(found, key=lambda slot: (slot.date, slot.start)))

    def slots_on(self, session: Session, day: date, station: int) -> tuple[Slot, ...]:
        """Return a station's slots of one date in order."""
        found = (slot for slot in session.slots if slot.date == day and slot.station == station)
        return tuple(sorted(found, key=lambda slot: slot.start))

    def simulation_start(self, slot: Slot) -> int:
        """Return when the simulation itself starts, after the brief (seconds after midnight)."""
        return slot.start + self.training_round.settings.session.brief * MINUTE

    def set_up_from(self, session: Session, day: date) -> int:
        """Return when a crew is needed at the venue, on a session's first date to set up (seconds after midnight)."""
        start = next(d.start for d in session.days if d.date == day)
        return start - (self.training_round.settings.travel.set_up * MINUTE if day == session.dates[0] else 0)

    def packed_up_by(self, session: Session, day: date) -> int:
        """Return when a crew is done at the venue, on a session's last date packed up (seconds after midnight)."""
        end = next(d.end for d in session.days if d.date == day)
        return end + (self.training_round.settings.travel.pack_up * MINUTE if day == session.dates[-1] else 0)

    def trips_of(self, crew: str) -> tuple[Trip, ...]:
        """Return a crew's trips in order."""
        return tuple(sorted((t for t in self.plan.trips if t.crew == crew), key=lambda t: t.days[0].date))

    def days_aboard(self, trainer: str) -> Iterator[tuple[Trip, CrewDay, Aboard]]:
        """Yield each date that a trainer spends with a crew, in order."""
        rows = (
            (trip, day, aboard)
            for trip in self.plan.trips
            for day in trip.days
            for aboard in day.aboard
            if aboard.trainer == trainer
        )
        yield from sorted(rows, key=lambda row: row[1].date)

    def crews_used(self) -> tuple[str, ...]:
        """Return the crews that have a trip, in the order of their table."""
        used = {trip.crew for trip in self.plan.trips}
        return tuple(crew.code for crew in self.training_round.crews if crew.code in used)

    def trainers_used(self) -> tuple[str, ...]:
        """Return the trainers who travel, in the order of their table."""
        used = {a.trainer for trip in self.plan.trips for day in trip.days for a in day.aboard}
        return tuple(trainer.code for trainer in self.training_round.trainers if trainer.code in used)

    def leads_of(self, session: Session, trainer: str) -> tuple[str, ...]:
        """Return in words what a trainer leads in a session."""
        directs = [s.number for s in session.stations if s.director == trainer]
        held = [lead_word(lead.lead) for lead in session.leads if lead.trainer == trainer]
        return (*(say("director of station {station}", station=number) for number in directs), *held)

    def empty_seats(self, team: Team) -> tuple[Role, ...]:
        """Return the seats of the facility's usual team that nobody fills."""
        left = list(self.training_round.facility(team.facility).usual_team)
        for seat in team.seats:
            if seat.role in left:
                left.remove(seat.role)
        return tuple(left)

    def provisional_seats(self, sessions: Collection[str] | None = None) -> int:
        """Return how many seats rest on a roster not yet seen, of some sessions or of all."""
        teams = (team for team in self.plan.teams if sessions is None or team.session in sessions)
        return sum(seat.provisional for team in teams for seat in team.seats)

    @property
    def placeholders(self) -> int:
        """People of the round who are counted but not yet named."""
        return sum(person.placeholder for person in self.training_round.people)
