"""A plan opened beside its inputs: look-ups, names, and who is away when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from roundplan.audit.timing import ONE_DAY, ShiftKey, Stretch, moment
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.plan import Aboard, CrewDay, Outing, Plan, Seat, Session, SessionDay, Slot, SlotKind, Team, Trip
from roundplan.domain.presence import present
from roundplan.domain.role import OnSiteCover, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.daylight import Daylight
from roundplan.travel.distance import near
from roundplan.travel.network import RoadNetwork


@dataclass(frozen=True, slots=True)
class Attendee:
    """A seated person with all that the seat brings.

    Attributes
    ----------
    at_home : bool
        Whether the venue is the own facility or near it.
    counts : OnSiteCover
        How the person counts as cover at the own facility; ``no`` = as away.
    """

    person: Person
    seat: Seat
    team: Team
    session: Session
    outing: Outing | None
    at_home: bool
    counts: OnSiteCover


@dataclass(frozen=True, slots=True)
class TripDay:
    """One date of a crew."""

    trip: Trip
    day: CrewDay


class Book:
    """A plan that hangs together, with the facts that rules ask for.

    Parameters
    ----------
    plan : Plan
        What is left of the plan after :func:`roundplan.audit.structure.sound_part`.
    training_round : TrainingRound
        The inputs.
    """

    def __init__(self, plan: Plan, training_round: TrainingRound) -> None:
        self.plan = plan
        self.round = training_round
        self.settings = training_round.settings
        self.network = RoadNetwork(training_round)
        self.daylight = Daylight(training_round)
        self.calendar = WorkingCalendar(training_round)
        self.sessions = {session.code: session for session in plan.sessions}
        self.teams = {team.code: team for team in plan.teams}
        self._present: dict[tuple[str, ShiftKey], tuple[Person, ...]] = {}

    def who(self, code: str) -> str:
        """Return a name with its code."""
        name = self.round.name_of(code)
        return f"{name} ({code})" if name != code else code

    def names(self, codes: Iterable[str]) -> str:
        """Return names with codes as a list."""
        return ", ".join(self.who(code) for code in codes)

    def near(self, a: str, b: str) -> bool:
        """Whether two sites need no leg between them."""
        return near(self.round.site(a), self.round.site(b))

    def teams_at(self, session: Session, day: date | None = None) -> tuple[Team, ...]:
        """Return the teams of a session, or those that attend a date of it."""
        return tuple(t for t in self.plan.teams if t.session == session.code and (day is None or day in t.dates))

    def clock_of(self, session: Session, day: date) -> SessionDay:
        """Return the clock of one of a session's dates."""
        return next(found for found in session.days if found.date == day)

    def simulations(self, team: Team) -> tuple[Slot, ...]:
        """Return a team's simulations in the order of time."""
        slots = self.sessions[team.session].slots
        own = (s for s in slots if s.kind is SlotKind.SIMULATION and s.team == team.code)
        return tuple(sorted(own, key=lambda s: (s.date, s.start, s.station, s.number)))

    def counts_at(self, session: Session, facility: Facility) -> OnSiteCover:
        """Return how a facility's people in a session count as cover at home."""
        minutes = facility.minutes_to_theatre
        if session.venue != facility.code or minutes is None or minutes > self.settings.cover.theatre_minutes:
            return OnSiteCover.NO
        return facility.on_site_cover

    @cached_property
    def attendees(self) -> tuple[Attendee, ...]:
        """Everybody seated, once a seat."""
        found = []
        for team in self.plan.teams:
            session = self.sessions[team.session]
            for seat in team.seats:
                person = self.round.person(seat.person)
                found.append(
                    Attendee(
                        person=person,
                        seat=seat,
                        team=team,
                        session=session,
                        outing=next((o for o in team.outings if seat.person in o.people), None),
                        at_home=self.near(session.venue, person.facility),
                        counts=self.counts_at(session, self.round.facility(person.facility)),
                    )
                )
        return tuple(found)

    def days_of(self, session: Session, team: Team) -> tuple[SessionDay, ...]:
        """Return the clocks of the dates that a team attends."""
        return tuple(day for day in session.days if day.date in team.dates)

    def out_of_reach(self, attendee: Attendee) -> tuple[Stretch, ...]:
        """Return when the person is away from the own facility; none for those who train at or near it."""
        if attendee.at_home:
            return ()
        days = self.days_of(attendee.session, attendee.team)
        away = [Stretch(moment(day.date, day.start), moment(day.date, day.end)) for day in days]
        last = away[-1].end
        if attendee.outing is not None:
            drives = sorted(attendee.outing.drives, key=lambda d: (d.date, d.depart))
            for out, back in zip(drives[::2], [*drives[1::2], None], strict=False):
                end = last if back is None else moment(back.date, back.arrive)
                away.append(Stretch(moment(out.date, out.depart), end))
            for evening, _ in attendee.outing.nights:
                night_from, day_from = self.settings.cover.night_from, self.settings.cover.day_from
                away.append(Stretch(moment(evening, night_from), moment(evening + ONE_DAY, day_from)))
        return tuple(away)

    def as_away(self, attendee: Attendee) -> tuple[Stretch, ...]:
        """Return when the person cannot count as cover: out of reach, or in a session too far from theatre."""
        if attendee.at_home and attendee.counts is OnSiteCover.NO:
            days = self.days_of(attendee.session, attendee.team)
            return tuple(Stretch(moment(day.date, day.start), moment(day.date, day.end)) for day in days)
        return self.out_of_reach(attendee)

    def seated(self, team: Team) -> tuple[Stretch, ...]:
        """Return when a team simulates."""
        return tuple(Stretch(moment(s.date, s.start), moment(s.date, s.end)) for s in self.simulations(team))

    def touched_dates(self, attendee: Attendee) -> tuple[date, ...]:
        """Return the dates on which a seat takes the person away or seats them."""
        stretches = (*self.as_away(attendee), *self.seated(attendee.team))
        return tuple(sorted({*attendee.team.dates, *(day for stretch in stretches for day in stretch.dates())}))

    @cached_property
    def aboard(self) -> dict[str, tuple[tuple[TripDay, Aboard], ...]]:
        """By trainer, the dates aboard in order."""
        found: dict[str, list[tuple[TripDay, Aboard]]] = defaultdict(list)
        for trip in self.plan.trips:
            for day in trip.days:
                for entry in day.aboard:
                    found[entry.trainer].append((TripDay(trip, day), entry))
        return {code: tuple(sorted(rows, key=lambda row: row[0].day.date)) for code, rows in found.items()}

    def aboard_on(self, crew: str, day: date) -> tuple[str, ...]:
        """Return the trainers with a crew on a date."""
        days = (d for trip in self.plan.trips if trip.crew == crew for d in trip.days if d.date == day)
        return tuple(dict.fromkeys(entry.trainer for d in days for entry in d.aboard))

    @cached_property
    def away_shifts(self) -> dict[str, set[ShiftKey]]:
        """By person, the shifts in which they are away for any minute, trainers who are staff included."""
        found: dict[str, set[ShiftKey]] = defaultdict(set)
        for attendee in self.attendees:
            for stretch in self.as_away(attendee):
                found[attendee.person.code].update(stretch.shifts(self.settings.cover))
        for code, rows in self.aboard.items():
            person = self.round.trainer(code).person
            if person is not None:
                for row, _ in rows:
                    day = row.day.date
                    found[person] |= {(day, Shift.DAY), (day - ONE_DAY, Shift.NIGHT), (day, Shift.NIGHT)}
        return found

    @cached_property
    def touched(self) -> dict[str, dict[ShiftKey, set[str]]]:
        """By facility and shift, who is away or seated."""
        found: dict[str, dict[ShiftKey, set[str]]] = defaultdict(lambda: defaultdict(set))
        for code, shifts in self.away_shifts.items():
            for key in shifts:
                found[self.round.located_at(code, key[0])][key].add(code)
        for attendee in self.attendees:
            for stretch in self.seated(attendee.team):
                for key in stretch.shifts(self.settings.cover):
                    found[attendee.person.facility][key].add(attendee.person.code)
        return {facility: dict(sorted(found[facility].items())) for facility in sorted(found)}

    def at_hand(self, facility: str, key: ShiftKey) -> tuple[Person, ...]:
        """Return the people present in a shift and not away."""
        if (facility, key) not in self._present:
            self._present[facility, key] = present(self.round, facility, *key)
        return tuple(p for p in self._present[facility, key] if key not in self.away_shifts.get(p.code, ()))
