"""The skeleton as a linear programme over trips and visits, with a bound that holds at every moment.

Columns: visits (teams sent; whether anybody goes), teams by number, and trips. Rows: room, places and chairs by venue
and date, sessions behind visits, what facilities can release, crews and trainers by date.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date
from functools import cached_property

import numpy as np

from roundplan.domain.role import Lead
from roundplan.domain.rules import Rule
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.pricing import Prices, Pricing, Trip
from roundplan.solver.skeleton.programme import Programme, Solved
from roundplan.solver.skeleton.terrain import Terrain

UNIT = 10**6
"""Prices are rounded to whole units of one millionth before they are used in a bound."""


class Master:
    """The programme of one round.

    Attributes
    ----------
    columns : list of (int, dict)
        Limit and entries by row of the columns that are no trips.
    trips : list of Trip
        The trips so far.
    """

    def __init__(self, terrain: Terrain, demand: Demand) -> None:
        self.terrain, self.demand, self.facts = terrain, demand, terrain.facts
        self.dates = {day: index for index, day in enumerate(self.facts.dates)}
        self.venue_of = {venue: index for index, venue in enumerate(terrain.venues)}
        self.chairs = {index: self._chairs(venue) for venue, index in self.venue_of.items()}
        self.most_stations = max((len(c) for c in self.chairs.values()), default=1) - 1
        self.pricing = Pricing(terrain, self.chairs, terrain.nights)
        self.trips: list[Trip] = []
        self._known: set[Trip] = set()
        self._right: list[int] = []
        self._rows()
        self.columns = self._visit_columns() + self._team_columns()
        self.columns += self._short_columns(len(self.columns))
        self.fixed = len(self.columns)
        self.programme = Programme(self._right)
        self.programme.add_columns([(0, limit, entries) for limit, entries in self.columns])
        self._matrix()

    # rows -------------------------------------------------------------------------------------------------------

    def _row(self, right: int) -> int:
        self._right.append(right)
        return len(self._right) - 1

    def _chairs(self, venue: str) -> list[int]:
        """Return chairs by number of stations; −1 where trainers alone fill the room."""
        facts = self.facts
        site, session = facts.round.site(venue), facts.settings.session
        most = max((kind.stations[venue] for kind in self.terrain.kinds), default=0)
        found = []
        for n in range(most + 1):
            room = site.room_limit if site.room_limit is not None else session.room_limit * n
            crowd = (facts.settings.trainers.per_station if facts.on(Rule.CREW_STAFFED) else 0) * n
            free = room - crowd - session.volunteers_per_station * n
            limit = min(session.learners_per_station * n, free)
            found.append(limit if limit >= 0 or not n else -1)
        return [c if facts.on(Rule.VENUE_CAPACITY) else 10**4 for c in found]

    def _rows(self) -> None:
        facts, demand = self.facts, self.demand
        taught = {(v.venue, day) for v in demand.visits for day in v.days}
        slots = sorted((self.venue_of[v], self.dates[d]) for v, d in taught if v in self.venue_of)
        self.room = {key: self._row(0) for key in slots}
        self.chair = {key: self._row(0) for key in slots}
        stations = {i: facts.round.site(v).stations for v, i in self.venue_of.items()}
        free = not facts.on(Rule.VENUE_CAPACITY)
        self.place = {key: self._row(stations[key[0]] + free) for key in slots}
        self.link = [self._row(0) for _ in demand.visits]
        self.size = [self._row(0) if visit.most > 1 else -1 for visit in demand.visits]
        self.release: list[tuple[int, list[int]]] = []
        for together, most in demand.away_together():
            if len(together) > 1 or demand.visits[together[0]].most > most:
                self.release.append((self._row(most), together))
        self.sent = {f.code: self._row(0) for f in demand.facilities}
        self.goes = {f.code: self._row(0) for f in demand.facilities}
        self.order = {(f.code, k): self._row(0) for f in demand.facilities for k in range(2, demand.total[f.code] + 1)}
        self.people = [(size, self._row(right)) for size, right in demand.people_in_all()]
        self.out = {
            (k, d): self._row(len(kind.crews)) for k, kind in enumerate(self.terrain.kinds) for d in self.dates.values()
        }
        self.staff = self._trainer_rows()
        self.floor = self._floors()
        self.kept = [(self._row(-1), visits) for visits in demand.visits_kept()]
        self.sessions = [(self._row(-1), self._positions(held)) for held in demand.sessions_kept()]
        self.held: dict[str, int] = {}

    def _floors(self) -> dict[str, int]:
        least = self.facts.settings.aims.floor_per_district
        return {d: self._row(-least) for d in sorted({f.district for f in self.demand.facilities})} if least > 0 else {}

    def _positions(self, held: list[tuple[str, date]]) -> frozenset[tuple[int, int]]:
        """Return venues and starts as positions."""
        return frozenset((self.venue_of[venue], self.dates[start]) for venue, start in held if venue in self.venue_of)

    def _trainer_rows(self) -> list[tuple[frozenset[Lead] | None, int, int]]:
        """Return for each set of leads and date the row that counts the trainers who hold one."""
        facts = self.facts
        rows: list[tuple[frozenset[Lead] | None, int, int]] = []
        if not facts.on(Rule.CREW_STAFFED):
            return []
        sets = [frozenset({Lead.DIRECTOR}), frozenset({Lead.ANAESTHESIA}), frozenset({Lead.DIRECTOR, Lead.ANAESTHESIA})]
        for day, index in self.dates.items():
            free = [t for t in facts.round.trainers if facts.trainer_free(t, day)]
            rows.append((None, index, self._row(len(free))))
            for leads in sets:
                rows.append((leads, index, self._row(sum(bool(leads & t.leads) for t in free))))
        return rows

    def _asks(self, leads: frozenset[Lead] | None, stations: int) -> int:
        """Return how many trainers of a set a session with so many stations needs."""
        if leads is None:
            return max(self.facts.settings.trainers.per_station * stations, stations + 1)
        return stations * (Lead.DIRECTOR in leads) + (Lead.ANAESTHESIA in leads)

    # columns ----------------------------------------------------------------------------------------------------

    def _visit_columns(self) -> list[tuple[int, dict[int, int]]]:
        """Return the columns of visits: teams, then whether anybody goes where that is another question."""
        members: dict[int, list[int]] = defaultdict(list)
        for row, together in self.release:
            for index in together:
                members[index].append(row)
        self.teams_column: list[int] = []
        self.used_column: list[int] = []
        columns: list[tuple[int, dict[int, int]]] = []
        for index, visit in enumerate(self.demand.visits):
            chairs = len(self.facts.round.facility(visit.facility).usual_team)
            venue = self.venue_of[visit.venue]
            entries: Counter[int] = Counter()
            for day in visit.days:
                entries[self.room[venue, self.dates[day]]] += 1
                entries[self.chair[venue, self.dates[day]]] += chairs
            for row in members[index]:
                entries[row] += 1
            entries[self.sent[visit.facility]] -= 1
            use = {self.link[index]: 1, self.goes[visit.facility]: -1}
            use |= {row: -1 for row, visits in self.kept if index in visits}
            self.teams_column.append(len(columns))
            if visit.most == 1:
                self.used_column.append(len(columns))
                columns.append((1, dict(entries) | use))
            else:
                columns.append((visit.most, dict(entries) | {self.size[index]: 1}))
                self.used_column.append(len(columns))
                columns.append((1, use | {self.size[index]: -visit.most}))
        return columns

    def _team_columns(self) -> list[tuple[int, dict[int, int]]]:
        """Return the columns of teams by number: each needs a team sent and the team before it."""
        offset = len(self.teams_column) + sum(visit.most > 1 for visit in self.demand.visits)
        columns: list[tuple[int, dict[int, int]]] = []
        self.team_column: dict[tuple[str, int], int] = {}
        for facility in self.demand.facilities:
            most = self.demand.total[facility.code]
            for k in range(1, most + 1):
                entries = {self.sent[facility.code]: 1}
                if k == 1:
                    entries[self.goes[facility.code]] = 1
                else:
                    entries[self.order[facility.code, k]] = 1
                if k < most:
                    entries[self.order[facility.code, k + 1]] = -1
                for size, row in self.people:
                    entries[row] = size
                if facility.district in self.floor:
                    entries[self.floor[facility.district]] = -1
                self.team_column[facility.code, k] = offset + len(columns)
                columns.append((1, entries))
        return columns

    def _short_columns(self, offset: int) -> list[tuple[int, dict[int, int]]]:
        """Return the columns of what is short of floors, locks and tiers held, so that the trips so far always fit.

        They cost more than any plan is worth; a bound that allows them is true all the same.
        """
        rows = [*self.floor.values(), *(row for row, _ in (*self.kept, *self.sessions))]
        columns = [(-self._right[row], {row: -1}) for row in rows]
        self.short = [offset + k for k in range(len(columns))]
        self.held_short = offset + len(columns)
        return [*columns, (10**6, {})]

    def _matrix(self) -> None:
        """Keep the columns that are no trips as arrays for exact sums."""
        self._column = np.array([c for c, (_, e) in enumerate(self.columns) for _ in e], dtype=np.int64)
        self._row_of = np.array([r for _, e in self.columns for r in e], dtype=np.int64)
        self._value = np.array([v for _, e in self.columns for v in e.values()], dtype=np.int64)
        self._limit = np.array([limit for limit, _ in self.columns], dtype=np.int64)

    # trips ------------------------------------------------------------------------------------------------------

    def add_trips(self, trips: Iterable[Trip]) -> int:
        """Add trips that are not there yet; returns how many."""
        fresh = [trip for trip in dict.fromkeys(trips) if trip not in self._known]
        self._known.update(fresh)
        self.trips += fresh
        self.programme.add_columns([(0, len(self.terrain.kinds[t.kind].crews), self.entries(t)) for t in fresh])
        return len(fresh)

    def entries(self, trip: Trip) -> dict[int, int]:
        """Return what a trip uses and offers, by row."""
        entries: Counter[int] = Counter()
        for day in range(trip.first, trip.last + 1):
            entries[self.out[trip.kind, day]] += 1
        for stay in trip.stays:
            if stay.venue < 0:
                continue
            for k, level in enumerate(stay.levels):
                key = (stay.venue, stay.date + k)
                if key in self.room:
                    entries[self.room[key]] -= stay.stations * level
                    entries[self.chair[key]] -= self.chairs[stay.venue][stay.stations]
                    entries[self.place[key]] += stay.stations
                for leads, row in self._staff_on.get(stay.date + k, ()):
                    entries[row] += self._asks(leads, stay.stations)
            for row in self._links_of.get((stay.venue, stay.date), ()):
                entries[row] -= 1
            for row, held in self.sessions:
                entries[row] -= (stay.venue, stay.date) in held
        return {row: value for row, value in entries.items() if value}

    @cached_property
    def _staff_on(self) -> dict[int, list[tuple[frozenset[Lead] | None, int]]]:
        """By date, the rows that count trainers, each with its set of leads."""
        found: dict[int, list[tuple[frozenset[Lead] | None, int]]] = defaultdict(list)
        for leads, day, row in self.staff:
            found[day].append((leads, row))
        return found

    @cached_property
    def _links_of(self) -> dict[tuple[int, int], list[int]]:
        """By venue and start, the rows of the visits that such a session allows."""
        found: dict[tuple[int, int], list[int]] = defaultdict(list)
        for row, visit in zip(self.link, self.demand.visits, strict=True):
            for begin in visit.starts:
                found[self.venue_of[visit.venue], self.dates[begin]].append(row)
        return found

    # solving ----------------------------------------------------------------------------------------------------

    def aim(self, weights: dict[tuple[str, int], int]) -> None:
        """Set what a team of each number counts for."""
        values = [0] * self.fixed
        for key, column in self.team_column.items():
            values[column] = weights.get(key, 0)
        for column in (*self.short, self.held_short):
            values[column] = -2 * sum(weights.values()) - 1
        self.programme.set_weights(values)

    def hold(self, name: str, weights: dict[tuple[str, int], int], least: int) -> None:
        """Keep a weighted sum of teams at least so high."""
        if name in self.held:
            self.programme.set_right(self.held[name], -least)
            return
        entries = {self.team_column[key]: -value for key, value in weights.items() if key in self.team_column and value}
        entries[self.held_short] = -1
        row = self.held[name] = self.programme.add_row(-least, entries)
        self._column = np.concatenate([self._column, np.array(list(entries), dtype=np.int64)])
        self._row_of = np.concatenate([self._row_of, np.full(len(entries), row, dtype=np.int64)])
        self._value = np.concatenate([self._value, np.array(list(entries.values()), dtype=np.int64)])

    def limit(self, code: str, most: int) -> None:
        """Let a facility send no more teams."""
        for (facility, number), column in self.team_column.items():
            if facility == code and number > most:
                self.columns[column] = (0, self.columns[column][1])
                self._limit[column] = 0
                self.programme.set_limit(column, 0)

    def prices(self, solved: Solved) -> tuple[np.ndarray, Prices]:
        """Return the duals in whole units, and what they mean for trips."""
        duals = np.rint(solved.duals * UNIT).astype(np.int64)
        venues, days = len(self.terrain.venues), len(self.dates)
        tables = [np.zeros((venues, days), dtype=np.int64) for _ in range(4)]
        for table, rows in zip(tables, (self.room, self.place, self.chair), strict=False):
            for (venue, day), row in rows.items():
                table[venue, day] = duals[row]
        for row, visit in zip(self.link, self.demand.visits, strict=True):
            if duals[row]:
                for begin in visit.starts:
                    tables[3][self.venue_of[visit.venue], self.dates[begin]] += duals[row]
        for row, sessions in self.sessions:
            for venue, start in sessions:
                tables[3][venue, start] += duals[row]
        held = np.zeros((days, self.most_stations + 1), dtype=np.int64)
        for leads, day, row in self.staff:
            for n in range(1, self.most_stations + 1):
                held[day, n] += duals[row] * self._asks(leads, n)
        out = np.zeros((len(self.terrain.kinds), days), dtype=np.int64)
        for (kind, day), row in self.out.items():
            out[kind, day] = duals[row]
        return duals, Prices(tables[0], tables[1], tables[2], tables[3], held, out)

    def bound(self, duals: np.ndarray, prices: Prices) -> int:
        """Return what no plan can beat: the Lagrangian bound of the prices, in whole numbers.

        Visits and teams take what their limits and the prices allow, each crew the best calendar of all; crews' dates
        cost nothing, since a calendar keeps them by itself.
        """
        duals = duals.copy()
        duals[list(self.out.values())] = 0
        right = np.array(self.programme.rows, dtype=np.int64)
        reduced = np.array(self.programme.weights[: self.fixed], dtype=np.int64) * UNIT
        np.subtract.at(reduced, self._column, self._value * duals[self._row_of])
        total = int((right * duals).sum()) + int((np.maximum(reduced, 0) * self._limit).sum())
        for kind, crews in enumerate(self.terrain.kinds):
            total += len(crews.crews) * self.pricing.calendar(kind, prices)
        return total // UNIT
