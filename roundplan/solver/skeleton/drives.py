"""The drives of one date between sleeping places and venues, as tables."""

from __future__ import annotations

from datetime import date

import numpy as np

from roundplan.domain.clock import DAY, HOUR
from roundplan.domain.rules import Rule
from roundplan.solver.facts import Facts
from roundplan.solver.skeleton.day_clock import NEVER


class Drives:
    """The drives of one date between sleeping places and venues.

    ``ready`` is the earliest arrival, ``until`` the latest departure, in seconds after midnight; ``out`` and ``back``
    are durations with breaks, ``…_wheel`` without, ``…_km`` kilometres. Where there are two ways, each figure is the
    better one.
    """

    def __init__(self, facts: Facts, places: tuple[str, ...], venues: tuple[str, ...], day: date) -> None:
        most = facts.settings.travel.wheel_hours * HOUR if facts.on(Rule.LEG_FEASIBLE) else DAY
        margin = facts.settings.travel.crew_margin
        shape, turned = (len(places), len(venues)), (len(venues), len(places))
        self.ready, self.out, self.out_wheel = (np.full(shape, NEVER) for _ in range(3))
        self.back, self.back_wheel = (np.full(turned, NEVER) for _ in range(2))
        self.until = np.full(turned, -NEVER)
        self.out_km, self.back_km = np.zeros(shape), np.zeros(turned)
        self.between = np.full((len(places), len(places)), NEVER)
        self.between_km = np.zeros((len(places), len(places)))

        def passages(start: str, end: str) -> list[tuple[int, int, int, int, float]]:
            found = [p for p in facts.roads.passages(start, end, day, margin) if p.way.seconds <= most]
            return [(p.earliest, p.latest, p.seconds, p.way.seconds, p.way.km) for p in found]

        for a, place in enumerate(places):
            for v, venue in enumerate(venues):
                if place == venue or facts.near_sites(place, venue):
                    self.ready[a, v] = self.out[a, v] = self.out_wheel[a, v] = 0
                    self.back[v, a] = self.back_wheel[v, a] = 0
                    self.until[v, a] = DAY
                    continue
                if drives := passages(place, venue):
                    self.ready[a, v] = min(d[0] + d[2] for d in drives)
                    self.out[a, v], self.out_wheel[a, v], self.out_km[a, v] = (
                        min(d[k] for d in drives) for k in (2, 3, 4)
                    )
                if drives := passages(venue, place):
                    self.until[v, a] = max(d[1] for d in drives)
                    self.back[v, a], self.back_wheel[v, a], self.back_km[v, a] = (
                        min(d[k] for d in drives) for k in (2, 3, 4)
                    )
            for b, other in enumerate(places):
                if place == other or facts.near_sites(place, other):
                    self.between[a, b] = 0
                elif drives := passages(place, other):
                    self.between[a, b] = min(d[2] for d in drives)
                    self.between_km[a, b] = min(d[4] for d in drives)
