"""The road network: the way between any two sites on any date."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import pairwise

import rustworkx as rx

from roundplan.domain.training_round import TrainingRound
from roundplan.travel.distance import geodesic_km
from roundplan.travel.links import join_near_sites, near_codes
from roundplan.travel.roadway import Stretch, exact, stretches
from roundplan.travel.way import Gate, Way, way_along

__all__ = ["Gate", "RoadNetwork", "RoadState", "Way"]

RoadState = tuple[bool, frozenset[int]]
"""What differs by date: whether it is wet, and which road rows (by index) are closed."""


class _Season:
    """The graph of one state: the fastest stretch between two points, with or without crossings."""

    def __init__(self, codes: tuple[str, ...], roads: Iterable[Stretch]) -> None:
        self._node = {code: index for index, code in enumerate(codes)}
        self._best: dict[tuple[int, int], Stretch] = {}
        for stretch in roads:
            pair = (self._node[stretch.start], self._node[stretch.end])
            held = self._best.get(pair)
            if held is None or stretch.seconds < held.seconds:
                self._best[pair] = stretch
        self._graph = rx.PyDiGraph(multigraph=False)
        self._graph.add_nodes_from(list(codes))
        self._graph.add_edges_from([(u, v, float(s.seconds)) for (u, v), s in self._best.items()])
        self._paths: dict[str, rx.PathMapping] = {}

    def path(self, start: str, end: str) -> tuple[Stretch, ...]:
        """Return the stretches of the fastest path; none where there is no path."""
        if start not in self._paths:
            self._paths[start] = rx.digraph_dijkstra_shortest_paths(
                self._graph, self._node[start], None, weight_fn=float
            )
        paths, target = self._paths[start], self._node[end]
        if target not in paths:
            return ()
        nodes = list(paths[target])
        return tuple(self._best[pair] for pair in pairwise(nodes))


class RoadNetwork:
    """Ways between all sites of a round, worked out when first asked for and kept.

    A direct open road row with hours is the way as it stands; otherwise the fastest path over the roads
    open in that state; a straight line (geodesic × detour at the default speed) only where an end has no
    road row and no site within 2 km has one.
    """

    def __init__(self, training_round: TrainingRound) -> None:
        self._round = training_round
        self._sites = {site.code: site for site in training_round.sites()}
        self._near = near_codes(training_round.sites())
        self._links, self._on_road = join_near_sites(training_round)
        self._dated = [index for index, road in enumerate(training_round.roads) if road.closures]
        self._states: dict[date, RoadState] = {}
        self._seasons: dict[tuple[RoadState, bool], _Season] = {}
        self._direct: dict[RoadState, dict[tuple[str, str], list[Stretch]]] = {}
        self._ways: dict[tuple[str, str, RoadState], tuple[Way, ...]] = {}

    def state(self, day: date) -> RoadState:
        """Return what differs by date; equal states have equal ways, so callers can cache by it."""
        found = self._states.get(day)
        if found is None:
            closed = frozenset(index for index in self._dated if self._round.roads[index].closed_on(day))
            found = self._states[day] = (self._round.settings.round.is_wet(day), closed)
        return found

    def near(self, start: str, end: str) -> bool:
        """Whether two sites are the same or within 2 km, by code."""
        return start == end or end in self._near.get(start, ())

    def ways(self, start: str, end: str, day: date) -> tuple[Way, ...]:
        """Return the ways between two sites on a date, the fastest first; none if there is no way.

        Two ways are offered only where the first choice uses a crossing with hours and a way without exists.
        """
        key = (start, end, self.state(day))
        found = self._ways.get(key)
        if found is None:
            found = self._ways[key] = self._find(*key)
        return found

    def _find(self, start: str, end: str, state: RoadState) -> tuple[Way, ...]:
        if self.near(start, end):
            return (Way(start, end, 0, 0.0, "near", 1.0),)
        if start not in self._on_road or end not in self._on_road:
            return (self._straight(start, end),)
        fastest = self._fastest(start, end, state, crossings=True)
        if fastest is None or not fastest.gates:
            return () if fastest is None else (fastest,)
        dry_shod = self._fastest(start, end, state, crossings=False)
        if dry_shod is None:
            return (fastest,)
        return tuple(sorted((fastest, dry_shod), key=lambda way: way.seconds))

    def _fastest(self, start: str, end: str, state: RoadState, *, crossings: bool) -> Way | None:
        rows = [s for s in self._entered(state).get((start, end), ()) if crossings or s.gate is None]
        if rows:
            return way_along((min(rows, key=lambda row: row.seconds),), "entered")
        path = self._season(state, crossings).path(start, end)
        return way_along(path, "network") if path else None

    def _open_stretches(self, state: RoadState) -> Iterable[tuple[bool, Stretch]]:
        wet, closed = state
        for index, road in enumerate(self._round.roads):
            if index not in closed:
                ends = (self._sites[road.start], self._sites[road.end])
                for stretch in stretches(road, ends, self._round.settings.travel, wet):
                    yield road.hours is not None, stretch

    def _entered(self, state: RoadState) -> dict[tuple[str, str], list[Stretch]]:
        found = self._direct.get(state)
        if found is None:
            found = self._direct[state] = {}
            for entered, stretch in self._open_stretches(state):
                if entered:
                    found.setdefault((stretch.start, stretch.end), []).append(stretch)
        return found

    def _season(self, state: RoadState, crossings: bool) -> _Season:
        key = (state, crossings)
        if key not in self._seasons:
            open_now = [s for _, s in self._open_stretches(state) if crossings or s.gate is None]
            self._seasons[key] = _Season(tuple(self._sites), [*open_now, *self._links])
        return self._seasons[key]

    def _straight(self, start: str, end: str) -> Way:
        travel = self._round.settings.travel
        km = geodesic_km(self._sites[start], self._sites[end]) * travel.detour
        hours = exact(km) / exact(travel.default_speed)
        return way_along((Stretch(start, end, hours, exact(travel.factor_modelled), km),), "straight line")
