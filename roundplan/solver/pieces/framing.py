"""From a skeleton to the frame in which the whole model finds people, clocks and trainers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from itertools import islice

from roundplan.solver.frame import Move
from roundplan.solver.parts import Visit
from roundplan.solver.skeleton.day_clock import NEVER
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.pricing import Stay, Trip
from roundplan.solver.skeleton.selection import Skeleton
from roundplan.solver.skeleton.terrain import Terrain
from roundplan.travel.distance import geodesic_km

Hold = tuple[str, str, date]
BEDS = 3
"""Sleeping places offered for the nights between two dates of a session, beside those before and after it."""


class Framing:
    """Turns trips into crews' moves and sessions, and visits into what people may do.

    Parameters
    ----------
    near : int
        Crews whose base is nearest to a trainer's home, with which the trainer may go.
    """

    def __init__(self, terrain: Terrain, demand: Demand, near: int = 4) -> None:
        self.terrain, self.demand, self.facts = terrain, demand, terrain.facts
        self.trainers = self._trainers(near)
        self._order: dict[str, tuple[str, ...]] = {}
        self._at: dict[tuple[str, date], list[int]] = defaultdict(list)
        for index, visit in enumerate(demand.visits):
            self._at[visit.venue, visit.first].append(index)

    def _trainers(self, near: int) -> dict[str, frozenset[str]] | None:
        round_ = self.facts.round
        if len(round_.crews) <= near:
            return None
        found = {}
        for trainer in round_.trainers:
            home = round_.site(trainer.lives_at)
            order = sorted(round_.crews, key=lambda c: (geodesic_km(home, round_.site(c.base)), c.code))
            found[trainer.code] = frozenset(c.code for c in order[:near])
        return found

    def crews(self, trips: Iterable[Trip]) -> list[tuple[str, Trip]]:
        """Give each trip to a crew of its kind that is free on its dates, first come first served."""
        free: dict[tuple[int, int], int] = {}
        given = []
        for trip in sorted(trips, key=lambda t: (t.first, t.last, t.kind, t.stays)):
            crews = self.terrain.kinds[trip.kind].crews
            number = next(n for n in range(len(crews)) if free.get((trip.kind, n), -1) < trip.first)
            free[trip.kind, number] = trip.last
            given.append((crews[number].code, trip))
        return given

    def moves(self, crew: str, trip: Trip) -> tuple[dict[tuple[str, date], set[Move]], set[Hold]]:
        """Return what a crew does on a trip: its moves by date, and the sessions it holds."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        holds: set[Hold] = set()
        for stay in trip.stays:
            self._stay(crew, stay, moves, holds)
        return moves, holds

    def _stay(self, crew: str, stay: Stay, moves: dict[tuple[str, date], set[Move]], holds: set[Hold]) -> None:
        terrain, dates = self.terrain, self.facts.dates
        before, after = terrain.sleeping[stay.start], terrain.sleeping[stay.end]
        if stay.venue < 0:
            moves[crew, dates[stay.date]].add((before, after))
            return
        venue = terrain.venues[stay.venue]
        holds.add((crew, venue, dates[stay.date]))
        between = {before, after, self.facts.round.crew(crew).base, *self._beds(stay)}
        for k in range(terrain.days):
            key = (crew, dates[stay.date + k])
            moves[key] |= {(start, venue) for start in ([before] if k == 0 else between)}
            moves[key] |= {(venue, end) for end in ([after] if k == terrain.days - 1 else between)}

    def _beds(self, stay: Stay) -> list[str]:
        """Return the sleeping places nearest to a session's venue by road, for the nights between its dates."""
        drives = self.terrain.drives(self.facts.dates[stay.date])
        hours = drives.out[:, stay.venue] + drives.back[stay.venue, :]
        order = sorted(range(len(hours)), key=lambda place: (int(hours[place]), self.terrain.sleeping[place]))
        return [self.terrain.sleeping[place] for place in order[:BEDS] if hours[place] < NEVER]

    def visits_of(self, skeleton: Skeleton) -> frozenset[Visit]:
        """Return the visits of a skeleton."""
        return frozenset(self.demand.key(index) for index, _ in skeleton.teams)

    def open_to(self, holds: Iterable[Hold]) -> frozenset[Visit]:
        """Return every visit that could be paid to the sessions, by any facility."""
        session = self.facts.settings.session
        step = self.facts.session_dates(self.facts.dates[0])
        slack = session.days - session.days_per_team
        found: set[Visit] = set()
        for _, venue, start in holds:
            for k in range(slack + 1):
                first = start + (step[k] - step[0])
                found |= {self.demand.key(index) for index in self._at[venue, first]}
        return frozenset(found)

    def lenders(self, visits: Iterable[Visit], most: int) -> frozenset[Visit]:
        """Return who may lend guests: those who come anyway, and the nearest facilities beside them."""
        found = set(visits)
        for venue, first in sorted({(v, x) for _, v, x in found}):
            others = [code for code in self._nearest(venue) if (code, venue, first) not in found]
            able = (code for code in others if self.facts.attendance_possible(code, venue, first))
            found |= {(code, venue, first) for code in islice(able, most)}
        return frozenset(found)

    def _nearest(self, venue: str) -> tuple[str, ...]:
        if venue not in self._order:
            site, facilities = self.facts.round.site(venue), self.facts.round.facilities
            order = sorted(facilities, key=lambda f: (geodesic_km(f, site), f.code))
            self._order[venue] = tuple(f.code for f in order)
        return self._order[venue]
