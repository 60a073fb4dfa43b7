"""The decisions of a plan as variables of one constraint model."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from itertools import pairwise

from ortools.sat.python import cp_model

from roundplan.domain.clock import DAY
from roundplan.domain.crew import Crew
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, Lead, OnSiteCover, Role
from roundplan.domain.rules import Rule
from roundplan.solver.facts import ONE_DAY, Arc, Facts, ShiftKey
from roundplan.solver.parts import ArcChoice, Counts, Guesting, Linear, Scope, Sending, StationDay, Var, Visit


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
    """

    def __init__(self, facts: Facts, scope: Scope = Scope.WHOLE, only: frozenset[Visit] | None = None) -> None:
        self.facts = facts
        self.scope = scope
        self.only = only
        self.model = cp_model.CpModel()
        self.crews = facts.round.crews
        self._declare()
        self._sessions()
        self._roads()
        self._clocks()
        self._trainers()
        self._sendings()
        self._seats()
        self._guests()

    def _declare(self) -> None:
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
        self.station_days: dict[tuple[str, date, int, date], StationDay] = {}
        self.counts: dict[tuple[str, date], Counts] = {}
        self.crew_out: dict[str, Var] = {}

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
        wanted = {(venue, first) for _, venue, first in self._visits()}
        for venue in facts.venues:
            for start in facts.session_starts[venue.code]:
                if not any((venue.code, x) in wanted for x in facts.session_dates(start)):
                    continue
                crews = [c for c in self.crews if all(facts.crew_works(c, x) for x in facts.session_dates(start))]
                if not crews:
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

    def _visits(self) -> list[Visit]:
        return [key for key in self.facts.modes if self.only is None or key in self.only]

    def teach(self, crew: str, venue: str, day: date) -> list[Var]:
        """Return the holds under which the crew teaches at the venue on the date (at most one is true)."""
        return [var for code, _, var in self.teaching[crew, day] if code == venue]

    def station_count(self, crew: str, day: date) -> Linear:
        """Return the stations that the crew runs on the date."""
        return sum(self.stations[crew, venue, start] for venue, start, _ in self.teaching[crew, day])

    # roads ------------------------------------------------------------------------------------------------------

    def _roads(self) -> None:
        self.night: dict[tuple[str, date, str], Var] = {}
        self.mornings: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        self.evenings: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        self.transits: dict[tuple[str, date], list[ArcChoice]] = defaultdict(list)
        for crew in self.crews:
            sleeping = tuple(dict.fromkeys((crew.base, *self.facts.sleeping)))
            for day in (self.facts.dates[0] - ONE_DAY, *self.facts.dates):
                for site in sleeping:
                    self.night[crew.code, day, site] = self.flag(f"night[{crew.code},{day},{site}]")
            for day in self.facts.dates:
                self._roads_of(crew, day, sleeping)

    def _roads_of(self, crew: Crew, day: date, sleeping: tuple[str, ...]) -> None:
        key, facts = (crew.code, day), self.facts
        venues = dict.fromkeys(venue for venue, _, _ in self.teaching[key])
        works = facts.crew_works(crew, day)
        for start in sleeping:
            for end in sleeping:
                if not works and not start == end == crew.base:
                    continue
                for arc in facts.arcs(start, end, day, crew):
                    self._arc(self.transits, key, arc, "transit")
            for venue in venues:
                for arc in facts.arcs(start, venue, day, crew):
                    self._arc(self.mornings, key, arc, "morning")
                for arc in facts.arcs(venue, start, day, crew):
                    self._arc(self.evenings, key, arc, "evening")

    def _arc(self, table: dict[tuple[str, date], list[ArcChoice]], key: tuple[str, date], arc: Arc, name: str) -> None:
        number = len(table[key])
        used = self.flag(f"{name}[{key[0]},{key[1]},{arc.start},{arc.end},{number}]")
        table[key].append(ArcChoice(arc, used))

    def arcs_on(self, crew: str, day: date) -> list[ArcChoice]:
        """Return every arc of a crew on a date."""
        return [*self.mornings[crew, day], *self.evenings[crew, day], *self.transits[crew, day]]

    def at_base(self, crew: Crew, day: date) -> Var:
        """Return whether the crew sleeps at its base in the night that starts on the date."""
        return self.night[crew.code, day, crew.base]

    def out(self, crew: Crew, day: date) -> Linear:
        """Return whether the crew is on a trip on the date."""
        stays = [c.used for c in self.transits[crew.code, day] if c.arc.start == c.arc.end == crew.base]
        return 1 - sum(stays)

    def works(self, crew: str, day: date) -> Linear:
        """Return whether the crew teaches or drives on the date."""
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
        self.start: dict[tuple[str, date], Var] = {}
        self.slots: dict[tuple[str, date], Var] = {}
        self.end: dict[tuple[str, date], Var] = {}
        self.depart: dict[tuple[str, date], Var] = {}
        self.finish: dict[tuple[str, date], Var] = {}
        for (crew, day), held in self.teaching.items():
            if not held:
                continue
            name = f"[{crew},{day}]"
            self.start[crew, day] = self.model.new_int_var(first, last, f"start{name}")
            self.slots[crew, day] = self.model.new_int_var(1, max(facts.most_slots, 1), f"slots{name}")
            self.end[crew, day] = self.model.new_int_var(first, latest, f"end{name}")
            self.depart[crew, day] = self.model.new_int_var(0, DAY, f"depart{name}")
            self.finish[crew, day] = self.model.new_int_var(0, 2 * DAY, f"finish{name}")

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
                    if facts.trainer_free(trainer, day) and facts.crew_works(crew, day):
                        self.aboard[trainer.code, crew.code, day] = self.flag(
                            f"aboard[{trainer.code},{crew.code},{day}]"
                        )
        starts = {(crew, start) for crew, _, start in self.hold}
        for crew_code, start in sorted(starts):
            for trainer in facts.round.trainers:
                if all((trainer.code, crew_code, x) in self.aboard for x in facts.session_dates(start)):
                    for lead in sorted(trainer.leads):
                        key = (trainer.code, crew_code, start, lead)
                        self.leads[key] = self.flag(f"lead[{trainer.code},{crew_code},{start},{lead}]")

    def aboard_count(self, crew: str, day: date) -> Linear:
        """Return the trainers with a crew on a date."""
        return sum(var for (_, code, x), var in self._aboard_of(crew, day))

    def _aboard_of(self, crew: str, day: date) -> list[tuple[tuple[str, str, date], Var]]:
        keys = ((t.code, crew, day) for t in self.facts.round.trainers)
        return [(key, self.aboard[key]) for key in keys if key in self.aboard]

    # teams ------------------------------------------------------------------------------------------------------

    def _sendings(self) -> None:
        facts = self.facts
        self.sendings: list[Sending] = []
        for facility_code, venue, first in self._visits():
            modes = facts.modes[facility_code, venue, first]
            if not any((venue, s) in self.session for s in facts.starts_of(venue, first)):
                continue
            facility = facts.round.facility(facility_code)
            for number, mode in enumerate(modes):
                name = f"[{facility_code},{venue},{first},{number}]"
                most = facility.teams_wanted
                if most == 0:
                    continue
                teams = self.count(most, f"teams{name}") if most > 1 else self.flag(f"teams{name}")
                used = self.flag(f"sends{name}") if most > 1 else teams
                if most > 1:
                    self.model.add(teams >= used)
                    self.model.add(teams <= most * used)
                people = self.count(most * len(facility.usual_team), f"people{name}")
                on_site = mode.own_site and facts.on_site_cover(facility) is not OnSiteCover.NO
                self.sendings.append(Sending(facility_code, venue, first, mode, teams, used, people, on_site))
        self.cohorts: dict[tuple[str, date], list[Sending]] = defaultdict(list)
        self.visitors: dict[tuple[str, date], list[Sending]] = defaultdict(list)
        for sending in self.sendings:
            if not sending.on_site:
                self.cohorts[sending.facility, sending.first].append(sending)
            self.visitors[sending.venue, sending.first].append(sending)

    def _seats(self) -> None:
        facts = self.facts
        self.seat: dict[tuple[str, date, Role], Var] = {}
        self.site_team: dict[tuple[str, date], list[Var]] = {}
        self.site_seat: dict[tuple[str, date, Role, int], Var] = {}
        for facility_code, first in self.cohorts:
            for person, role in self._able(facts.round.facility(facility_code), first):
                self.seat[person.code, first, role] = self.flag(f"seat[{person.code},{first},{role}]")
        for sending in self.sendings:
            if sending.on_site:
                self._site_seats(sending)

    def _site_seats(self, sending: Sending) -> None:
        """Make seats team by team for a session at home, where who sits in which team decides the cover."""
        facility = self.facts.round.facility(sending.facility)
        key = (sending.facility, sending.first)
        teams = [self.flag(f"home_team[{key[0]},{key[1]},{i}]") for i in range(facility.teams_wanted)]
        self.site_team[key] = teams
        self.model.add(sum(teams) == sending.teams)
        for earlier, later in pairwise(teams):
            self.model.add(earlier >= later)
        for person, role in self._able(facility, sending.first):
            for i in range(len(teams)):
                name = f"home_seat[{person.code},{sending.first},{role},{i}]"
                self.site_seat[person.code, sending.first, role, i] = self.flag(name)

    def _able(self, facility: Facility, first: date) -> list[tuple[Person, Role]]:
        facts = self.facts
        usual = facts.usual_seats(facility)
        return [
            (person, role)
            for person in facts.round.staff_of(facility.code)
            if facts.can_sit(person, first)
            for role in facts.roles_of(person)
            if role in usual
        ]

    # guests -----------------------------------------------------------------------------------------------------

    def _guests(self) -> None:
        self.guest: dict[tuple[str, date, Role], Var] = {}
        self.home_guest: dict[tuple[str, date, Role], Var] = {}
        self.guestings: list[Guesting] = []
        self.lent: dict[tuple[str, str, date, Role], Var] = {}
        self.guest_seats: dict[tuple[str, str, date, Role], list[Var]] = {}
        facts = self.facts
        if self.guest_limit() == 0:
            return
        if self.scope is Scope.OUTER:
            self._outer_guests()
            self._host_seats()
            return
        for (venue, first), sendings in self.visitors.items():
            hosts = {s.facility for s in sendings}
            roles = {role for code in hosts for role in facts.round.facility(code).usual_team}
            for facility in facts.round.facilities:
                if hosts - {facility.code}:
                    self._lend(facility, venue, first, roles)
        self._host_seats()

    def guest_limit(self) -> int:
        """Return the most guests a team may have."""
        teams = self.facts.settings.teams
        if not self.facts.on(Rule.GUEST_LIMIT):
            return 6
        return 6 if teams.guests_pooled else teams.guests

    def _lend(self, facility: Facility, venue: str, first: date, roles: Iterable[Role]) -> None:
        facts = self.facts
        modes = facts.attendance.modes(facility, facts.round.site(venue), first)
        if not modes:
            return
        at_home = modes[0].own_site and facts.on_site_cover(facility) is not OnSiteCover.NO
        table, name = (self.home_guest, "home_guest") if at_home else (self.guest, "guest")
        able = [p for p in facts.round.staff_of(facility.code) if facts.can_sit(p, first)]
        most = self._most_guests(venue)
        lent = []
        for role in sorted(roles):
            people = [p for p in able if role in facts.roles_of(p)]
            if not people:
                continue
            for person in people:
                key = (person.code, first, role)
                if key not in table:
                    table[key] = self.flag(f"{name}[{person.code},{first},{role}]")
            var = self.count(min(len(people), most), f"lent[{facility.code},{venue},{first},{role}]")
            self.lent[facility.code, venue, first, role] = var
            lent.append(var)
        if not lent:
            return
        guestings = []
        for number, mode in enumerate(modes):
            name = f"[{facility.code},{venue},{first},{number}]"
            count = self.count(min(len(able), most), f"guests{name}")
            used = self.flag(f"lends{name}")
            self.model.add(count >= used)
            self.model.add(count <= most * used)
            guestings.append(Guesting(facility.code, venue, first, mode, count, used))
        self.model.add(sum(g.count for g in guestings) == sum(lent))
        self.guestings += guestings

    def _outer_guests(self) -> None:
        """Make guests of the minimum roles by date alone; which venue they go to is left open in the relaxation."""
        facts = self.facts
        for first in sorted({first for _, first in self.visitors}):
            for person in facts.round.people:
                for role in MINIMUM_ROLES:
                    if role in facts.roles_of(person) and facts.can_sit(person, first):
                        name = f"guest[{person.code},{first},{role}]"
                        table = self.home_guest if self._may_be_at_home(person, first) else self.guest
                        table[person.code, first, role] = self.flag(name)

    def _may_be_at_home(self, person: Person, first: date) -> bool:
        facility = self.facts.round.facility(person.facility)
        hosts = (facility.code, first) in self.visitors
        return hosts and self.facts.on_site_cover(facility) is not OnSiteCover.NO

    def _most_guests(self, venue: str) -> int:
        """Return the most guests that the teams of one date at a venue could hold."""
        facts = self.facts
        stations = sum(min(c.box_models, facts.round.site(venue).stations) for c in self.crews) + len(self.crews)
        return stations * max(facts.most_slots, 4) * self.guest_limit()

    def _host_seats(self) -> None:
        offered = {key[1:] for key in self.lent}
        for sending in self.sendings:
            facility = self.facts.round.facility(sending.facility)
            for role, seats in self.facts.usual_seats(facility).items():
                key = (sending.facility, sending.venue, sending.first, role)
                if key in self.guest_seats:
                    continue
                if self.scope is Scope.WHOLE and (sending.venue, sending.first, role) not in offered:
                    continue
                teams = facility.teams_wanted if sending.on_site else 1
                most = seats if sending.on_site else seats * facility.teams_wanted
                name = f"guest_seats[{','.join(str(part) for part in key)}"
                self.guest_seats[key] = [self.count(most, f"{name},{i}]") for i in range(teams)]

    def hint(self, named: dict[str, int]) -> list[int]:
        """Return a value for every variable from a solution of a relative model, by name; the rest as if unused."""
        values = [named.get(v.name, min(max(v.domain[0], 0), v.domain[-1])) for v in self.model.proto.variables]
        rows = [(start, slots, end) for (start, slots), end in sorted(self.facts.day_table.items())]
        for key, start in self.start.items():
            if start.name not in named:
                values[start.index], values[self.slots[key].index], values[self.end[key].index] = rows[0]
        return values

    def names(self, values: list[int]) -> dict[str, int]:
        """Return a solution's values by variable name."""
        return {variable.name: value for variable, value in zip(self.model.proto.variables, values, strict=True)}
