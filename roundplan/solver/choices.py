"""The decisions of a plan as variables of one constraint model."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from ortools.sat.python import cp_model

from roundplan.domain.clock import DAY
from roundplan.domain.crew import Crew
from roundplan.domain.person import Person
from roundplan.domain.role import Lead, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.solver import day_route, lending, moves, seating
from roundplan.solver.facts import ONE_DAY, Facts, ShiftKey
from roundplan.solver.frame import Frame
from roundplan.solver.parts import (
    ArcChoice,
    Counts,
    Guesting,
    Linear,
    Onward,
    Scope,
    Sending,
    SessionClock,
    StationDay,
    Var,
    Visit,
)
from roundplan.solver.taken import NOTHING, Taken


class Choices:
    """All variables, made once; limits and aims are added by other modules.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    scope : Scope
        The whole model, or a relaxation of it.
    only : frozenset of (str, str, date), optional
        Facility, venue and first date of the visits to consider; fewer visits leave fewer plans, never false ones.
    frame : Frame, optional
        What else is left to decide; the visits of a frame stand for ``only``.
    taken : Taken
        What the rest of the plan takes, outside this model.
    """

    def __init__(
        self,
        facts: Facts,
        scope: Scope = Scope.WHOLE,
        only: frozenset[Visit] | None = None,
        frame: Frame | None = None,
        taken: Taken = NOTHING,
    ) -> None:
        self.facts = facts
        self.scope = scope
        self.only = only if frame is None else frame.visits
        self.frame = frame
        self.taken = taken
        self.model = cp_model.CpModel()
        self.crews = () if scope is Scope.STAFF else facts.round.crews
        if frame is not None:
            self.crews = tuple(c for c in self.crews if any(code == c.code for code, _ in frame.moves))
        self._declare()
        self._sessions()
        moves.make_moves(self)
        self._clocks()
        self._trainers()
        seating.make_sendings(self)
        seating.make_seats(self)
        lending.make_guests(self)

    def _declare(self) -> None:
        """Name the tables that other modules fill in."""
        self.night: dict[tuple[str, date, str], Var] = {}
        self.mornings: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        self.evenings: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        self.transits: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        self.sendings: list[Sending] = []
        self.cohorts: dict[tuple[str, date], list[Sending]] = defaultdict(list)
        self.visitors: dict[tuple[str, date], list[Sending]] = defaultdict(list)
        self.seat: dict[tuple[str, date, Role], Var] = {}
        self.site_team: dict[tuple[str, date], list[Var]] = {}
        self.site_seat: dict[tuple[str, date, Role, int], Var] = {}
        self.guest: dict[tuple[str, date, Role], Var] = {}
        self.home_guest: dict[tuple[str, date, Role], Var] = {}
        self.guestings: list[Guesting] = []
        self.lent: dict[tuple[str, str, date, Role], Var] = {}
        self.guest_seats: dict[tuple[str, str, date, Role], list[Var]] = {}
        self.guests_from: dict[tuple[str, str, date, Role], dict[str, list[Var]]] = {}
        self._declare_limits()

    def _declare_limits(self) -> None:
        """Name the tables that the limits fill in."""
        self.flags: dict[tuple[str, date], dict[str, Var]] = defaultdict(dict)
        self.goes: dict[tuple[str, date], Var] = {}
        self.away: dict[tuple[str, ShiftKey], Var] = {}
        self.touched: dict[tuple[str, ShiftKey], Var] = {}
        self.thin: dict[tuple[str, ShiftKey], Var] = {}
        self.total: dict[str, Var] = {}
        self.first_team: dict[str, Var] = {}
        self.later_teams: dict[str, list[Var]] = {}
        self.nights_away: dict[tuple[str, str, date, str], Var] = {}
        self.goes_home: dict[tuple[str, str, date], Var] = {}
        self.station_days: dict[tuple[str, date, int, date], StationDay] = {}
        self.counts: dict[tuple[str, date], Counts] = {}
        self.crew_out: dict[str, Var] = {}
        self.kept: dict[int, Linear] = {}
        self.shortfalls: list[Var] = []
        self.touched_outside: dict[tuple[str, ShiftKey], Var] = {}
        self.betweens: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        self.onward: dict[tuple[str, date], list[Onward]] = defaultdict(list)
        self.clocks: dict[tuple[str, date], SessionClock] = {}
        self.piece_flags: list[Var] = []
        self.rests: dict[tuple[str, date], Var] = {}
        self.session_leads: dict[tuple[str, str, date], list[tuple[str, Lead, Var]]] = {}

    def flag(self, name: str) -> Var:
        """Return a new yes/no variable."""
        return self.model.new_bool_var(name)

    def count(self, most: int, name: str) -> Var:
        """Return a new whole-number variable from 0."""
        return self.model.new_int_var(0, max(most, 0), name)

    # sessions ---------------------------------------------------------------------------------------------------

    def _sessions(self) -> None:
        facts = self.facts
        self.hold: dict[tuple[str, str, date], Var] = {}
        self.stations: dict[tuple[str, str, date], Var] = {}
        self.session: dict[tuple[str, date], Var] = {}
        wanted = {(venue, first) for _, venue, first in self.visits()}
        for venue in facts.venues:
            for start in facts.session_starts[venue.code]:
                if not any((venue.code, x) in wanted for x in facts.session_dates(start)):
                    continue
                crews = [c for c in self.crews if self._may_hold(c, venue.code, start)]
                if not crews and self.scope is not Scope.STAFF:
                    continue
                self.session[venue.code, start] = self.flag(f"session[{venue.code},{start}]")
                for crew in crews:
                    key = (crew.code, venue.code, start)
                    self.hold[key] = self.flag(f"hold[{crew.code},{venue.code},{start}]")
                    most = venue.stations if facts.on(Rule.VENUE_CAPACITY) else venue.stations + 1
                    models = crew.box_models if facts.on(Rule.KIT_ENOUGH) else most
                    self.stations[key] = self.count(min(most, models), f"stations[{crew.code},{venue.code},{start}]")
        self.teaching: dict[tuple[str, date], list[tuple[str, date, Var]]] = defaultdict(list)
        for (crew_code, venue_code, start), var in self.hold.items():
            for day in facts.session_dates(start):
                self.teaching[crew_code, day].append((venue_code, start, var))

    def _may_hold(self, crew: Crew, venue: str, start: date) -> bool:
        if self.frame is not None and (crew.code, venue, start) not in self.frame.holds:
            return False
        if any((venue, day) in self.taken.sessions for day in self.facts.session_dates(start)):
            return False
        return all(self.facts.crew_works(crew, x) for x in self.facts.session_dates(start))

    def visits(self) -> list[Visit]:
        """Return facility, venue and first date of the visits that are considered."""
        return list(self.facts.modes) if self.only is None else self.facts.visiting.in_order(self.only)

    def teach(self, crew: str, venue: str, day: date) -> list[Var]:
        """Return the holds under which the crew teaches at the venue on the date (at most one is true)."""
        return [var for code, _, var in self.teaching[crew, day] if code == venue]

    def station_count(self, crew: str, day: date) -> Linear:
        """Return the stations that the crew runs on the date."""
        return sum(self.stations[crew, venue, start] for venue, start, _ in self.teaching[crew, day])

    # roads ------------------------------------------------------------------------------------------------------

    def arcs_on(self, crew: str, day: date) -> list[ArcChoice]:
        """Return every arc of a crew on a date."""
        key = (crew, day)
        return [*self.mornings[key], *self.evenings[key], *self.transits[key], *self.betweens[key]]

    def arcs_to(self, crew: str, day: date, venue: str) -> list[ArcChoice]:
        """Return the arcs by which a crew comes to a venue on a date."""
        key = (crew, day)
        return [c for c in (*self.mornings[key], *self.betweens[key]) if c.arc.end == venue]

    def arcs_from(self, crew: str, day: date, venue: str) -> list[ArcChoice]:
        """Return the arcs by which a crew leaves a venue on a date."""
        key = (crew, day)
        return [c for c in (*self.evenings[key], *self.betweens[key]) if c.arc.start == venue]

    def at_base(self, crew: Crew, day: date) -> Var:
        """Return whether the crew sleeps at its base in the night that starts on the date."""
        return self.night[crew.code, day, crew.base]

    def out(self, crew: Crew, day: date) -> Linear:
        """Return whether the crew is on a trip on the date."""
        stays = [c.used for c in self.transits[crew.code, day] if c.arc.start == c.arc.end == crew.base]
        return 1 - sum(stays)

    def works(self, crew: str, day: date) -> Linear:
        """Return whether the crew teaches or drives on the date."""
        if self.facts.shares_days:
            return 1 - sum(c.used for c in self.transits[crew, day] if not c.arc.is_leg)
        taught = sum(var for _, _, var in self.teaching[crew, day])
        return taught + sum(c.used for c in self.transits[crew, day] if c.arc.is_leg)

    def trips(self, crew: Crew) -> Linear:
        """Return the number of trips the crew makes."""
        leaves = []
        for day in self.facts.dates:
            leaves += [c.used for c in self.mornings[crew.code, day] if c.arc.start == crew.base]
            leaves += [
                c.used for c in self.transits[crew.code, day] if c.arc.start == crew.base and c.arc.end != crew.base
            ]
        return sum(leaves)

    # clocks -----------------------------------------------------------------------------------------------------

    def _clocks(self) -> None:
        facts = self.facts
        first, last = (facts.starts[0], facts.starts[-1]) if facts.starts else (0, 0)
        latest = max(facts.day_table.values(), default=DAY)
        least = min((count for _, count in facts.day_table), default=1)
        self.start: dict[tuple[str, date], Var] = {}
        self.slots: dict[tuple[str, date], Var] = {}
        self.end: dict[tuple[str, date], Var] = {}
        self.depart: dict[tuple[str, date], Var] = {}
        self.finish: dict[tuple[str, date], Var] = {}
        for (crew, day), held in self.teaching.items():
            if not held:
                continue
            name = f"[{crew},{day}]"
            if facts.shares_days:
                day_route.session_clocks(self, [venue for venue, _, _ in held], day)
            else:
                self.start[crew, day] = self.model.new_int_var(first, last, f"start{name}")
                self.slots[crew, day] = self.model.new_int_var(least, max(facts.most_slots, 1), f"slots{name}")
                self.end[crew, day] = self.model.new_int_var(first, latest, f"end{name}")
            self.depart[crew, day] = self.model.new_int_var(0, DAY, f"depart{name}")
            self.finish[crew, day] = self.model.new_int_var(0, 2 * DAY, f"finish{name}")

    def clock(self, crew: str, venue: str, day: date) -> SessionClock:
        """Return the clock of a crew's session at a venue on a date."""
        if self.facts.shares_days:
            return self.clocks[venue, day]
        key = (crew, day)
        return SessionClock(self.start[key], self.slots[key], self.end[key])

    # trainers ---------------------------------------------------------------------------------------------------

    def _trainers(self) -> None:
        facts = self.facts
        self.aboard: dict[tuple[str, str, date], Var] = {}
        self.leads: dict[tuple[str, str, date, Lead], Var] = {}
        for trainer in facts.round.trainers:
            for crew in self.crews:
                if facts.on(Rule.TRAINER_LIMITS) and trainer.crew not in (None, crew.code):
                    continue
                for day in facts.dates:
                    if not self._may_join(trainer.code, crew.code, day):
                        continue
                    if facts.trainer_free(trainer, day) and facts.crew_works(crew, day):
                        self.aboard[trainer.code, crew.code, day] = self.flag(
                            f"aboard[{trainer.code},{crew.code},{day}]"
                        )
        if facts.shares_days:
            day_route.session_leads(self)
            return
        starts = {(crew, start) for crew, _, start in self.hold}
        for crew_code, start in sorted(starts):
            for trainer in facts.round.trainers:
                if all((trainer.code, crew_code, x) in self.aboard for x in facts.session_dates(start)):
                    for lead in sorted(trainer.leads):
                        key = (trainer.code, crew_code, start, lead)
                        self.leads[key] = self.flag(f"lead[{trainer.code},{crew_code},{start},{lead}]")

    def _may_join(self, trainer: str, crew: str, day: date) -> bool:
        frame, taken = self.frame, self.taken
        if (trainer, day) in taken.aboard or self._seated_about(trainer, day):
            return False
        if frame is None:
            return True
        return (crew, day) in frame.moves and (frame.trainers is None or crew in frame.trainers.get(trainer, ()))

    def _seated_about(self, trainer: str, day: date) -> bool:
        """Whether a trainer who is staff has a seat outside this model on the date, or is on the way to or from it."""
        person = self.facts.round.trainer(trainer).person
        if person is None or person not in self.taken.seated:
            return False
        return any((person, (day + k * ONE_DAY, shift)) in self.taken.away for k in (-1, 0, 1) for shift in Shift)

    def free(self, person: Person, first: date) -> bool:
        """Whether a person can be seated from a date and is not taken outside this model."""
        taken, facts = self.taken, self.facts
        if person.code in taken.seated or not facts.can_sit(person, first):
            return False
        days = range(-1, facts.settings.session.days_per_team + 1)
        mine = (t for t in facts.round.trainers if t.person == person.code) if taken.aboard else ()
        return not any((trainer.code, first + k * ONE_DAY) in taken.aboard for trainer in mine for k in days)

    def leads_at(self, crew: str, venue: str, start: date) -> list[tuple[str, Lead, Var]]:
        """Return trainer, lead and variable for the leads of a crew's part of a session."""
        if self.facts.shares_days:
            return self.session_leads[crew, venue, start]
        return [(t, lead, var) for (t, c, s, lead), var in self.leads.items() if (c, s) == (crew, start)]

    def aboard_count(self, crew: str, day: date) -> Linear:
        """Return the trainers with a crew on a date."""
        return sum(var for (_, code, x), var in self._aboard_of(crew, day))

    def _aboard_of(self, crew: str, day: date) -> list[tuple[tuple[str, str, date], Var]]:
        keys = ((t.code, crew, day) for t in self.facts.round.trainers)
        return [(key, self.aboard[key]) for key in keys if key in self.aboard]

    # guests -----------------------------------------------------------------------------------------------------

    def guest_limit(self) -> int:
        """Return the most guests a team may have."""
        teams = self.facts.settings.teams
        if not self.facts.on(Rule.GUEST_LIMIT):
            return 6
        return 6 if teams.guests_pooled else teams.guests

    def hint(self, named: dict[str, int]) -> list[int]:
        """Return a value for every variable from a solution of a relative model, by name; the rest as if unused."""
        values = [named.get(v.name, max(v.domain[0], 0)) for v in self.model.proto.variables]
        rows = [(start, slots, end) for (start, slots), end in sorted(self.facts.day_table.items())]
        if self.facts.shares_days:
            day_route.hint_clocks(self, named, values)
        for key, start in self.start.items():
            if start.name not in named:
                values[start.index], values[self.slots[key].index], values[self.end[key].index] = rows[0]
        return values

    def names(self, values: list[int]) -> dict[str, int]:
        """Return a solution's values by variable name."""
        return {variable.name: value for variable, value in zip(self.model.proto.variables, values, strict=True)}
