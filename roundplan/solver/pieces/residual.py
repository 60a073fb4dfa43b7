"""What is still wanted beside a plan so far, and trips that would serve it."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

import numpy as np

from roundplan.solver.parts import Visit
from roundplan.solver.skeleton.pricing import Prices, Trip
from roundplan.solver.skeleton.shape import Shape

NEVER = 10**9
"""Price of what is not to be had."""
FIRST = 60
"""A facility's first team is worth so many times its weight here; a guide, never a measure."""
LENGTHS = (5, 7, 12)
"""Dates of a window in which trips are looked for."""
ROOM = 4
"""Teams that share a session: its room is priced at what so many of the best that could come are worth."""


class Residual:
    """Facilities that lack teams, and the venues and dates that are free.

    Parameters
    ----------
    sent : mapping of facility to int
        Teams sent by the rest of the plan.
    sessions : set of (venue, date)
        Venues in use.
    """

    def __init__(self, shape: Shape, sent: Mapping[str, int], sessions: Iterable[tuple[str, date]]) -> None:
        self.shape, self.facts = shape, shape.facts
        self.sent = dict(sent)
        self.sessions = frozenset(sessions)
        self._visits = _by_session(shape)

    def worth(self, code: str, sent: int) -> int:
        """Return what a facility's next team is worth."""
        if sent >= self.shape.demand.total.get(code, 0):
            return 0
        facility, round_ = self.facts.round.facility(code), self.facts.round
        return round_.team_points(facility, sent + 1) if sent else FIRST * round_.weight(facility)

    def trips(
        self, kind: int, busy: frozenset[int], about: tuple[int, ...], source: random.Random, most: int
    ) -> list[tuple[Trip, frozenset[Visit]]]:
        """Return short trips of a kind that keep off busy dates, the best first, with the visits that they would serve.

        Parameters
        ----------
        about : tuple of int
            Positions of dates near which the trips are to be; none = anywhere.
        """
        found: dict[Trip, tuple[int, frozenset[Visit]]] = {}
        days = range(len(self.facts.dates))
        for length in LENGTHS:
            first = source.choice(about or tuple(days)) - source.randrange(length)
            shut = busy | {day for day in days if not first <= day < first + length}
            prices = self._prices(shut, source.uniform(0.1, 0.5), source)
            for _, trip in self.shape.master.pricing.trips(kind, prices):
                worth, visits = self.fill(trip)
                if visits:
                    found[trip] = (worth, visits)
        order = sorted(found, key=lambda trip: (-found[trip][0], trip.first, trip.stays))
        return [(trip, found[trip][1]) for trip in order[:most]]

    def fill(self, trip: Trip) -> tuple[int, frozenset[Visit]]:
        """Return what the sessions of a trip would serve, each facility's teams once, and what that is worth."""
        sent, total, chosen = dict(self.sent), 0, set()
        for stay in trip.stays:
            if stay.venue < 0:
                continue
            key = (stay.venue, stay.date)
            coming = self._visits.get(key, ())
            offers = sorted(((self.worth(c, sent.get(c, 0)), c, v, most) for c, v, most in coming), reverse=True)
            room = stay.stations * min(stay.levels)
            for worth, code, visit, most in offers:
                if room <= 0 or worth <= 0:
                    break
                chosen.add(visit)
                for _ in range(min(room, most)):
                    total += self.worth(code, sent.get(code, 0))
                    sent[code] = sent.get(code, 0) + 1
                    room -= 1
        return total, frozenset(chosen)

    def _prices(self, busy: frozenset[int], eager: float, source: random.Random) -> Prices:
        """Price rooms at what those who could come are worth; ``eager`` is what a date costs against a usual room."""
        terrain, days = self.shape.terrain, len(self.facts.dates)
        venues = len(terrain.venues)
        worth = {code: self.worth(code, self.sent.get(code, 0)) for code in self.shape.demand.total}
        room, visit = np.zeros((venues, days), dtype=np.int64), np.zeros((venues, days), dtype=np.int64)
        for (venue, day), offers in self._visits.items():
            best = sorted((worth[code] for code, _, _ in offers), reverse=True)[:ROOM]
            room[venue, day] = int(100 * sum(best) / ROOM * source.uniform(0.7, 1.3))
            span = self.facts.session_dates(self.facts.dates[day])
            if any((terrain.venues[venue], x) in self.sessions for x in span):
                visit[venue, day] = -NEVER
        usual = int(np.percentile(room[room > 0], 75)) if (room > 0).any() else 0
        out = np.full((len(terrain.kinds), days), max(int(2 * eager * usual), 1), dtype=np.int64)
        out[:, sorted(busy)] = NEVER
        nothing = np.zeros((venues, days), dtype=np.int64)
        held = np.zeros((days, self.shape.master.most_stations + 1), dtype=np.int64)
        return Prices(room, nothing, nothing, visit, held, out)


def _by_session(shape: Shape) -> dict[tuple[int, int], list[tuple[str, Visit, int]]]:
    """Return by venue and start, as positions, who could come: facility, visit, most teams."""
    venues = {venue: index for index, venue in enumerate(shape.terrain.venues)}
    dates = {day: index for index, day in enumerate(shape.facts.dates)}
    found: dict[tuple[int, int], list[tuple[str, Visit, int]]] = defaultdict(list)
    for visit in shape.demand.visits:
        for start in visit.starts:
            key = (visit.facility, visit.venue, visit.first)
            found[venues[visit.venue], dates[start]].append((visit.facility, key, visit.most))
    return found
