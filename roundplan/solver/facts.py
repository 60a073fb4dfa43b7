"""All that the model needs to know beforehand: dates, venues, arcs, modes, who can sit where and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from roundplan.domain.clock import DAY, HOUR, MINUTE
from roundplan.domain.crew import Crew
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.place import Site
from roundplan.domain.presence import has_roster, present, seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, DutyKind, Include, OnSiteCover, Role, SessionRoom, Shift
from roundplan.domain.rules import Rule
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.attendance import Attendance, Mode
from roundplan.solver.roadtime import Passage, RoadClock
from roundplan.solver.timetable import MOST_SLOTS, Piece, day_pieces, day_table
from roundplan.solver.visiting import Visit, Visiting
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.distance import near

ONE_DAY = timedelta(days=1)
ShiftKey = tuple[date, Shift]


@dataclass(frozen=True, slots=True)
class Arc:
    """One move of a crew on a date: to a venue in the morning, from it in the evening, or in transit."""

    start: str
    end: str
    passage: Passage | None

    @property
    def wheel(self) -> int:
        """Seconds at the wheel."""
        return self.passage.way.seconds if self.passage else 0

    @property
    def km(self) -> float:
        """Kilometres driven."""
        return self.passage.way.km if self.passage else 0.0

    @property
    def is_leg(self) -> bool:
        """Whether the crew drives."""
        return self.passage is not None and self.passage.is_leg


class Facts:
    """A round seen by the solver.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    off : frozenset of Rule
        Hard rules that are left out.
    """

    def __init__(self, training_round: TrainingRound, off: frozenset[Rule] = frozenset()) -> None:
        self.round = training_round
        self.settings = training_round.settings
        self.off = off
        self.calendar = WorkingCalendar(training_round)
        self.roads = RoadClock(training_round, off)
        self.attendance = Attendance(training_round, self.roads, self.calendar, off)
        self.dates = tuple(self.settings.round.window)
        latest = DAY if Rule.DAY_FITS in off else None
        self.pieces = self._day_pieces(latest)
        self.day_table = self._ends(self.pieces) if self.shares_days else day_table(self.settings.session, latest)
        self.starts = sorted({start for start, _ in self.day_table})
        self.most_slots = max((count for _, count in self.day_table), default=0)
        self.joins: dict[tuple[str, str, date], tuple[Arc, ...]] = {}
        self._nearest: dict[tuple[object, str], tuple[int, int] | None] = {}
        self._slots_between: dict[tuple[int, int], int] = {}
        self._present: dict[tuple[str, ShiftKey], tuple[Person, ...]] = {}
        self._obstacles: dict[tuple[str, date], str | None] = {}
        self.visiting = Visiting(self)

    @property
    def shares_days(self) -> bool:
        """Whether a crew may hold several sessions on one date."""
        return self.settings.session.shares_days

    def _day_pieces(self, until: int | None) -> tuple[Piece, ...]:
        """Return, where crews share dates between sessions, the pieces of the day with no more slots than can help."""
        session = self.settings.session
        if not self.shares_days:
            return ()
        teams = sum(facility.teams_wanted for facility in self.round.facilities)
        most = session.simulations_per_team * max(teams, 2) + session.demonstrations + session.reserve_slots
        return day_pieces(session, min(most, MOST_SLOTS), until)

    @staticmethod
    def _ends(pieces: tuple[Piece, ...]) -> dict[tuple[int, int], int]:
        """Return the day table at both ends of each piece."""
        return {(start, p.slots): p.ends(start) for p in pieces for start in (p.first, p.last)}

    def on(self, rule: Rule) -> bool:
        """Whether the rule is enforced."""
        return rule not in self.off

    @cached_property
    def venues(self) -> tuple[Site, ...]:
        """Sites that can host."""
        return tuple(site for site in self.round.sites() if site.stations > 0 and self._room_free(site))

    def _room_free(self, site: Site) -> bool:
        if not isinstance(site, Facility) or not self.on(Rule.THEATRE_FREE):
            return True
        return site.session_room is not SessionRoom.ONLY_THEATRE

    def session_dates(self, start: date) -> tuple[date, ...]:
        """Return the dates of a session that starts on a date."""
        return tuple(start + k * ONE_DAY for k in range(self.settings.session.days))

    @cached_property
    def session_starts(self) -> dict[str, tuple[date, ...]]:
        """By venue, the dates on which a session can start."""
        return {
            venue.code: tuple(
                d for d in self.dates if self.starts and all(self._open(venue, x) for x in self.session_dates(d))
            )
            for venue in self.venues
        }

    def _open(self, venue: Site, day: date) -> bool:
        if day not in self.settings.round.window:
            return False
        return not self.on(Rule.VENUE_OPEN) or self.calendar.venue_open(venue.code, day)

    def starts_of(self, venue: str, attend: date) -> tuple[date, ...]:
        """Return session starts under which a team can attend from a date."""
        slack = self.settings.session.days - self.settings.session.days_per_team
        return tuple(
            attend - k * ONE_DAY for k in range(slack + 1) if attend - k * ONE_DAY in self.session_starts[venue]
        )

    def sims_on(self, attend: date, day: date) -> int:
        """Return how many simulations a team that attends from a date runs on another."""
        session = self.settings.session
        index = (day - attend).days
        if not 0 <= index < session.days_per_team:
            return 0
        base, more = divmod(session.simulations_per_team, session.days_per_team)
        return base + (index < more)

    def teams_fit(self, slots: int) -> int:
        """Return how many teams a station takes in so many slots, demonstrations and reserve counted."""
        session = self.settings.session
        least = max(session.simulations_per_team // session.days_per_team, 1)
        alone = (slots - session.demonstrations) // least
        together = (slots - session.demonstrations - session.reserve_slots) // least
        return max(min(alone, 1), together, 0)

    def notice_clear(self, facility: str, venue: str, start: date) -> bool:
        """Whether the session leaves the facility enough notice."""
        teams = self.settings.teams
        days = teams.notice_on_site if self.near_sites(facility, venue) else teams.notice_off_site
        return not self.on(Rule.NOTICE) or (start - self.round.announce_date()).days >= days

    @cached_property
    def modes(self) -> dict[Visit, tuple[Mode, ...]]:
        """By facility, venue and first date attended: the ways to attend."""
        return self.visiting.everywhere()

    def attendance_possible(self, facility: str, venue: str, first: date) -> bool:
        """Whether people of a facility could attend at a venue from a date, as guests too."""
        return bool(self.attendance.modes(self.round.facility(facility), self.round.site(venue), first))

    def obstacle(self, person: Person, day: date) -> str | None:
        """Return why a person cannot be seated on a date, under the rules in force."""
        key = (person.code, day)
        if key not in self._obstacles:
            self._obstacles[key] = self._obstacle(person, day)
        return self._obstacles[key]

    def _obstacle(self, person: Person, day: date) -> str | None:
        words = seat_obstacle(self.round, person, day)
        if words is None:
            return None
        if person.include is Include.NO:
            return words if self.on(Rule.INCLUDE) else None
        if words == "trained too recently":
            return words if self.on(Rule.ONCE_ONLY) else None
        return words if self.on(Rule.STAFF_AVAILABLE) else None

    def away_obstacle(self, person: Person, day: date) -> bool:
        """Whether leave, night duty or relief keeps a person from travelling on a date."""
        words = seat_obstacle(self.round, person, day)
        ignored = {None, "does not work on that weekday", "trained too recently", "marked 'no'"}
        return self.on(Rule.STAFF_AVAILABLE) and words not in ignored

    def can_sit(self, person: Person, first: date) -> bool:
        """Whether a person can be seated on all dates from the first one attended."""
        days = self.settings.session.days_per_team
        return all(self.obstacle(person, first + k * ONE_DAY) is None for k in range(days))

    def roles_of(self, person: Person) -> tuple[Role, ...]:
        """Return the roles a person may be seated in."""
        return person.roles if self.on(Rule.SEAT_AUTHORISED) else tuple(Role)

    def present(self, facility: str, shift: ShiftKey) -> tuple[Person, ...]:
        """Return who is present in a shift if nobody trains."""
        key = (facility, shift)
        if key not in self._present:
            self._present[key] = present(self.round, facility, *shift)
        return self._present[key]

    def keep_team(self, facility: str, shift: ShiftKey) -> tuple[Role, ...]:
        """Return the keep-team of a shift, with the spare asked for where there is no roster."""
        team = self.round.keep_team(self.round.facility(facility), shift[1])
        spare = self.settings.cover.spare_without_roster if self.on(Rule.ROSTER_KNOWN) else 0
        if spare and not has_roster(self.round, facility, *shift):
            team = team + MINIMUM_ROLES * spare
        return team

    def on_site_cover(self, facility: Facility) -> OnSiteCover:
        """Return how staff in a session at home count as cover, the walk to theatre considered."""
        minutes = facility.minutes_to_theatre
        if minutes is None or minutes > self.settings.cover.theatre_minutes:
            return OnSiteCover.NO
        return facility.on_site_cover

    @cached_property
    def gaps_may_meet(self) -> bool:
        """Whether a team may lack several usual roles, so that cases are counted team by team."""
        several = self.settings.teams.empty_seats > 1 or not self.on(Rule.TEAM_MIRRORS_HOME)
        return several and bool(self.round.cases) and self.on(Rule.SIMULATIONS_PER_TEAM)

    @cached_property
    def teams_differ(self) -> bool:
        """Whether one of a facility's teams may be lawful only as its like is not, so that seats are told by team."""
        teams = self.settings.teams
        return self.gaps_may_meet or (self.on(Rule.GUEST_LIMIT) and (teams.guests_pooled or teams.guests > 1))

    def pools(self, role: Role) -> bool:
        """Whether it matters which facility lends a guest for a role: it decides whose team a pooled one is."""
        return self.settings.teams.guests_pooled and self.on(Rule.GUEST_LIMIT) and role in MINIMUM_ROLES

    def usual_seats(self, facility: Facility) -> dict[Role, int]:
        """Return how many seats of each role the usual team has."""
        return {role: facility.usual_team.count(role) for role in dict.fromkeys(facility.usual_team)}

    @cached_property
    def sleeping(self) -> tuple[str, ...]:
        """Sites where crews can sleep."""
        return tuple(site.code for site in self.round.sites() if site.has_lodging)

    def crew_works(self, crew: Crew, day: date) -> bool:
        """Whether crew and vehicle are to be had on a date."""
        if crew.available_from is not None and day < crew.available_from:
            return False
        if crew.available_to is not None and day > crew.available_to:
            return False
        return not self.round.on_leave(crew.code, day)

    def arcs(self, start: str, end: str, day: date, crew: Crew) -> tuple[Arc, ...]:
        """Return the drives between two sites that one of the crew's drivers can make on a date."""
        if start == end or near(self.round.site(start), self.round.site(end)):
            return (Arc(start, end, None),)
        travel = self.settings.travel
        wheel, duty = (travel.wheel_hours * HOUR, travel.duty_day * HOUR) if self.on(Rule.LEG_FEASIBLE) else (DAY, DAY)
        return tuple(
            Arc(start, end, p)
            for p in self.roads.passages(start, end, day, travel.crew_margin)
            if p.way.seconds <= wheel and p.seconds <= duty
        )

    def nearest_venue(self, venue: str, day: date) -> tuple[int, int] | None:
        """Return the time at the wheel, and with breaks, of the shortest way to a venue from another; None = no way."""
        key = (self.roads.state(day), venue)
        if key not in self._nearest:
            ways = (self.roads.least(other.code, venue, day) for other in self.venues if other.code != venue)
            self._nearest[key] = min((way for way in ways if way is not None), default=None)
        return self._nearest[key]

    @property
    def set_up(self) -> int:
        """Seconds from arrival to the session's start on its first date."""
        return self.settings.travel.set_up * MINUTE if self.on(Rule.LEG_FEASIBLE) else 0

    @property
    def pack_up(self) -> int:
        """Seconds from the session's end on its last date to departure."""
        return self.settings.travel.pack_up * MINUTE if self.on(Rule.LEG_FEASIBLE) else 0

    def near_sites(self, a: str, b: str) -> bool:
        """Whether two sites need no leg between them."""
        return near(self.round.site(a), self.round.site(b))

    def slots_between(self, ready: int, until: int) -> int:
        """Return the most slots of a day that starts when all are ready and ends in time; 0 if there is no such day."""
        key = (ready, until)
        if key not in self._slots_between:
            if self.shares_days:
                fitting = [p.slots for p in self.pieces if ready <= p.last and p.ends(max(p.first, ready)) <= until]
            else:
                fitting = [k for (start, k), end in self.day_table.items() if start >= ready and end <= until]
            self._slots_between[key] = max(fitting, default=0)
        return self._slots_between[key]

    def trainer_free(self, trainer: Trainer, day: date) -> bool:
        """Whether a trainer can be with a crew on a date."""
        if not self.on(Rule.TRAINER_LIMITS):
            return True
        if trainer.available_from is not None and day < trainer.available_from:
            return False
        if trainer.available_to is not None and day > trainer.available_to:
            return False
        return not self.round.on_leave(trainer.code, day) and not self._serves(trainer, day)

    def _serves(self, trainer: Trainer, day: date) -> bool:
        """Whether a trainer who is staff is on leave from their facility on a date, or on night duty then or before."""
        if trainer.person is None:
            return False
        duties = [d for on in (day - ONE_DAY, day) for d in self.round.duties_on(trainer.person, on)]
        return self.round.on_leave(trainer.person, day) or any(d.kind is DutyKind.NIGHT for d in duties)
