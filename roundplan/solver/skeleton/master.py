"""The skeleton as a linear programme over trips and visits, with a bound that holds at every moment.

Columns: visits (teams sent; whether anybody goes), teams by number, and trips. Rows: room, places and chairs by venue
and date, sessions behind visits, what facilities can release, crews and trainers by date. Those of venues and dates are
laid down as trips come to them (:class:`Openings`).
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
from roundplan.solver.skeleton.exact_columns import UNIT, ExactColumns
from roundplan.solver.skeleton.openings import FacilityRows, Openings
from roundplan.solver.skeleton.pricing import Prices, Pricing, Trip
from roundplan.solver.skeleton.programme import Programme, Solved
from roundplan.solver.skeleton.terrain import Terrain


class Master:
    """The programme of one round.

    Parameters
    ----------
    shared : bool
        Whether crews may share a session; no bound without that.

    Attributes
    ----------
    columns : ExactColumns
        The columns that are no trips.
    openings : Openings
        Rows and columns of the venues and dates of the trips.
    trips : list of Trip
        The trips so far.
    """

    def __init__(self, terrain: Terrain, demand: Demand, *, shared: bool = True) -> None:
        self.shared = shared
        self.terrain, self.demand, self.facts = terrain, demand, terrain.facts
        self.dates = {day: index for index, day in enumerate(self.facts.dates)}
        self.venue_of = {venue: index for index, venue in enumerate(terrain.venues)}
        self.chairs = {index: self._chairs(venue) for venue, index in self.venue_of.items()}
        self.most_stations = max((len(c) for c in self.chairs.values()), default=1) - 1
        self.pricing = Pricing(terrain, self.chairs, terrain.nights)
        self.trips: list[Trip] = []
        self._known: set[Trip] = set()
        self._places: list[int] = []
        self.programme = Programme()
        self.columns = ExactColumns(self.programme)
        self._rows()
        self._team_columns()
        self._short_columns()
        rows = FacilityRows(self.sent, self.alone, self.goes, self.release, self.kept)
        self.openings = Openings(terrain, demand, self.chairs, self.columns, rows)

    # rows -------------------------------------------------------------------------------------------------------

    def _row(self, right: int) -> int:
        return self.programme.add_rows([right])[0]

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
        demand = self.demand
        self.release: list[tuple[int, list[int]]] = []
        for together, most in demand.away_together():
            if len(together) > 1 or demand.visits[together[0]].most > most:
                self.release.append((self._row(most), together))
        self.sent = {f.code: self._row(0) for f in demand.facilities}
        self.alone = {code: self._row(own) for code, own in demand.own.items() if own < demand.total[code]}
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

    def _team_columns(self) -> None:
        """Add the columns of teams by number: each needs a team sent and the team before it."""
        columns: list[tuple[int, int, dict[int, int]]] = []
        keys: list[tuple[str, int]] = []
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
                keys.append((facility.code, k))
                columns.append((0, 1, entries))
        self.team_column = dict(zip(keys, self.columns.add(columns), strict=True))

    def _short_columns(self) -> None:
        """Add the columns of what is short of floors, locks and tiers held, so that the trips so far always fit.

        They cost more than any plan is worth; a bound that allows them is true all the same.
        """
        rows = [*self.floor.values(), *(row for row, _ in (*self.kept, *self.sessions))]
        self.short = self.columns.add([(0, -self.programme.rows[row], {row: -1}) for row in rows])
        (self.held_short,) = self.columns.add([(0, 10**6, {})])

    # trips ------------------------------------------------------------------------------------------------------

    def add_trips(self, trips: Iterable[Trip]) -> int:
        """Add trips that are not there yet; returns how many."""
        fresh = [trip for trip in dict.fromkeys(trips) if trip not in self._known]
        self._known.update(fresh)
        self.trips += fresh
        self.openings.open([(s.venue, s.date) for trip in fresh for s in trip.stays if s.venue >= 0])
        columns = [(0, len(self.terrain.kinds[t.kind].crews), self.entries(t)) for t in fresh]
        place = self.programme.add_columns(columns)
        self._places += range(place, place + len(fresh))
        return len(fresh)

    def made(self, solved: Solved) -> np.ndarray:
        """Return what each trip comes to."""
        return solved.columns[self._places]

    def allow(self, number: int, most: int | None = None, least: int = 0) -> None:
        """Say how often a trip may be made, and must; None = as often as there are crews."""
        crews = len(self.terrain.kinds[self.trips[number].kind].crews)
        self.programme.set_limit(self._places[number], crews if most is None else most, least)

    def entries(self, trip: Trip) -> dict[int, int]:
        """Return what a trip uses and offers, by row."""
        entries: Counter[int] = Counter()
        here = self.openings
        for day in range(trip.first, trip.last + 1):
            entries[self.out[trip.kind, day]] += 1
        for stay in trip.stays:
            if stay.venue < 0:
                continue
            for k, level in enumerate(stay.levels):
                key = (stay.venue, stay.date + k)
                if key in here.room:
                    entries[here.room[key]] -= stay.stations * level
                    entries[here.chair[key]] -= self.chairs[stay.venue][stay.stations]
                    entries[here.place[key]] += stay.stations if self.shared else self.programme.rows[here.place[key]]
                for leads, row in self._staff_on.get(stay.date + k, ()):
                    entries[row] += self._asks(leads, stay.stations)
            for visit in here.visits_of.get((stay.venue, stay.date), ()):
                entries[here.link[visit]] -= 1
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

    # solving ----------------------------------------------------------------------------------------------------

    def aim(self, weights: dict[tuple[str, int], int], lent: dict[str, int] | None = None) -> None:
        """Set what a team of each number counts for, and how much less by facility if it needs guests."""
        values = {column: weights.get(key, 0) for key, column in self.team_column.items()}
        values |= dict.fromkeys((*self.short, self.held_short), -2 * sum(weights.values()) - 1)
        values |= self.openings.lend(lent or {})
        self.columns.weigh(values)

    def hold(self, name: str, weights: dict[tuple[str, int], int], least: int) -> None:
        """Keep a weighted sum of teams at least so high."""
        if name in self.held:
            self.programme.set_right(self.held[name], -least)
            return
        entries = {self.team_column[key]: -value for key, value in weights.items() if key in self.team_column and value}
        entries[self.held_short] = -1
        self.held[name] = self.columns.add_row(-least, entries)

    def let_go(self, name: str) -> int:
        """Hold a tier no longer; returns what it was held at."""
        least = -self.programme.rows[self.held[name]]
        self.programme.set_right(self.held[name], 0)
        return least

    def limit(self, code: str, most: int) -> None:
        """Let a facility send no more teams."""
        for (facility, number), column in self.team_column.items():
            if facility == code and number > most:
                self.columns.limit(column, 0)

    def prices(self, solved: Solved) -> tuple[np.ndarray, Prices]:
        """Return the duals in whole units, and what they mean for trips."""
        duals = np.rint(solved.duals * UNIT).astype(np.int64)
        days = len(self.dates)
        room, place, chair, visit = self.openings.prices(duals)
        if not self.shared:
            visit, place = visit - self._whole(duals), np.zeros_like(place)
        for row, sessions in self.sessions:
            for venue, start in sessions:
                visit[venue, start] += duals[row]
        held = np.zeros((days, self.most_stations + 1), dtype=np.int64)
        for leads, day, row in self.staff:
            for n in range(1, self.most_stations + 1):
                held[day, n] += duals[row] * self._asks(leads, n)
        out = np.zeros((len(self.terrain.kinds), days), dtype=np.int64)
        for (kind, day), row in self.out.items():
            out[kind, day] = duals[row]
        return duals, Prices(room, place, chair, visit, held, out)

    def _whole(self, duals: np.ndarray) -> np.ndarray:
        """Return what sessions that start on a date are asked for all of the venue; shape (V, D)."""
        asked = np.zeros((len(self.terrain.venues), len(self.dates)), dtype=np.int64)
        for (venue, day), row in self.openings.place.items():
            asked[venue, max(day - self.terrain.days + 1, 0) : day + 1] += duals[row] * self.programme.rows[row]
        return asked

    def bound(self, duals: np.ndarray, prices: Prices) -> int:
        """Return what no plan can beat: the Lagrangian bound of the prices, in whole numbers.

        Visits and teams take what their limits and the prices allow, each crew the best calendar of all; crews' dates
        cost nothing, since a calendar keeps them by itself.
        """
        duals = duals.copy()
        duals[list(self.out.values())] = 0
        right = np.array(self.programme.rows, dtype=np.int64)
        total = int((right * duals).sum()) + self.columns.best(duals)
        for kind, crews in enumerate(self.terrain.kinds):
            total += len(crews.crews) * self.pricing.calendar(kind, prices)
        return total // UNIT
