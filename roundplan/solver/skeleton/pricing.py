"""Best trips and best calendars of a crew for given prices, by dynamic programming over dates and sleeping places.

Everything is in whole units of price, so that a best value is exact. Shapes: D dates, P sleeping places, V venues,
S dates of a session.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from roundplan.solver.skeleton.day_clock import Ints
from roundplan.solver.skeleton.terrain import Bools, Terrain

LOW = -(10**17)


@dataclass(frozen=True, slots=True, order=True)
class Stay:
    """One move of a trip.

    Attributes
    ----------
    date : int
        Position of its first date.
    start, end : int
        Sleeping places before and after, as positions.
    venue : int
        Position of the venue, −1 = no session.
    stations : int
        Stations run there.
    levels : tuple of int
        Teams a station takes on each date of the session.
    """

    date: int
    start: int
    end: int
    venue: int
    stations: int
    levels: tuple[int, ...]
    cost: int


@dataclass(frozen=True, slots=True)
class Trip:
    """A column: a crew of a kind leaves its base on the morning of ``first`` and is back on the evening of ``last``."""

    kind: int
    first: int
    last: int
    stays: tuple[Stay, ...]


@dataclass(frozen=True, slots=True)
class Prices:
    """What the linear programme pays and asks, in whole units.

    Attributes
    ----------
    room : array, shape (V, D)
        For the room of one team at a venue on a date.
    place : array, shape (V, D)
        Asked for one station's place at a venue on a date.
    chair : array, shape (V, D)
        For one learner's chair.
    visit : array, shape (V, D)
        For holding a session that starts on a date, whatever its size.
    held : array, shape (D, most stations + 1)
        Asked for the trainers of a session with so many stations on a date.
    out : array, shape (kinds, D)
        Asked for a crew's date on a trip.
    """

    room: Ints
    place: Ints
    chair: Ints
    visit: Ints
    held: Ints
    out: Ints


@dataclass(frozen=True, slots=True)
class Priced:
    """The moves of a date with their worth, stations, the dates they take, and which are a rest at the base."""

    start: Ints
    end: Ints
    venue: Ints
    worth: Ints
    stations: Ints
    step: Ints
    change: Bools
    idle: Bools

    def charged(self, charge: Ints, idle: Bools) -> Priced:
        """Return the moves with the crew's dates paid for and rests at the base left out."""
        worth = np.where(idle | (self.worth <= LOW // 2), LOW, self.worth - charge)
        return Priced(self.start, self.end, self.venue, worth, self.stations, self.step, self.change, idle)


@dataclass(frozen=True, slots=True)
class _Sorted:
    """Moves in the order of their ends: where each end begins, the ends, and positions in that order.

    ``change``: moves on the way of which trainers can come and go. ``taught``: others with a session. ``leaves``:
    without a session, from where trainers can stay behind.
    """

    order: Ints
    first: Ints
    end: Ints
    change: Ints
    taught: Ints
    leaves: Ints


class Pricing:
    """Searches all paths of each kind of crew.

    A path is in one of these states on a morning: so many nights since trainers could last come and go (0 to the
    limit), or ``alone``, with nobody but its drivers since then: however many nights that are, it teaches again only
    where trainers can join it.

    Parameters
    ----------
    chairs : dict
        By venue, the learners that so many stations seat.
    nights : int
        Most nights in a row away from home that any trainer takes.
    """

    def __init__(self, terrain: Terrain, chairs: dict[int, list[int]], nights: int) -> None:
        self.terrain = terrain
        self.chairs = chairs
        self.dates = terrain.facts.dates
        bound = nights < len(self.dates)
        self.nights = nights if bound else 0
        self.alone = self.nights + 1
        self.hubs = terrain.hubs if bound else np.ones(len(terrain.sleeping), dtype=bool)
        self._sorted: dict[tuple[int, int, int], _Sorted] = {}

    def calendar(self, kind: int, prices: Prices) -> int:
        """Return the best worth of one crew's whole round, its dates free of charge."""
        base = self.terrain.position(self.terrain.kinds[kind].base)
        best = self._table()
        best[0, 0, base] = 0
        for day in range(len(self.dates)):
            moves = self._worth(kind, day, prices)
            for span in sorted({1, self.terrain.days}):
                if day + span <= len(self.dates):
                    self._carry(best, kind, day, span, moves.worth)
        return int(best[len(self.dates), :, base].max())

    def trips(self, kind: int, prices: Prices, between: tuple[int, int] | None = None) -> list[tuple[int, Trip]]:
        """Return for each date on which a trip can end the best one with its worth, where that is above 0.

        Parameters
        ----------
        between : (int, int), optional
            Positions of the first date that a trip may take and of the first after it; None = all.
        """
        first, stop = between or (0, len(self.dates))
        base = self.terrain.position(self.terrain.kinds[kind].base)
        best = self._table()
        spent = np.concatenate([[0], np.cumsum(prices.out[kind])])
        table: dict[int, Priced] = {}
        ends: dict[int, int] = {}
        for day in range(first, stop):
            ends[day] = int(best[day, :, base].max())
            best[day, :, base] = LOW
            best[day, 0, base] = 0
            moves = self._worth(kind, day, prices)
            step = np.minimum(day + moves.step, len(self.dates))
            idle = (moves.start == base) & (moves.end == base) & (moves.venue < 0)
            table[day] = moves.charged(np.where(idle, LOW, spent[step] - spent[day]), idle)
            for span in sorted({1, self.terrain.days}):
                if day + span <= stop:
                    self._carry(best, kind, day, span, table[day].worth)
        ends[stop] = int(best[stop, :, base].max())
        return [(value, self._trace(kind, base, end, value, best, table)) for end, value in ends.items() if value > 0]

    def _table(self) -> Ints:
        return np.full((len(self.dates) + 1, self.alone + 1, len(self.terrain.sleeping)), LOW, dtype=np.int64)

    def _carry(self, best: Ints, kind: int, day: int, span: int, worth: Ints) -> None:
        """Carry the values of a morning on to the mornings that its moves of some dates lead to."""
        by_end = self._by_end(kind, day, span)
        order = by_end.order
        if not len(order):
            return
        value = best[day][:, self.terrain.moves(kind, self.dates[day]).start[order]] + worth[order]
        free = by_end.change
        value[self.alone, free] = value[0, free] = value[:, free].max(axis=0)
        value[self.alone, by_end.taught] = LOW
        value[self.alone, by_end.leaves] = value[0, by_end.leaves]
        value = np.maximum.reduceat(value, by_end.first, axis=1)
        value = np.where(value > LOW // 2, value, LOW)
        to, hub = best[day + span], self.hubs[by_end.end]
        away = by_end.end[~hub]
        to[1 : self.alone, away] = np.maximum(to[1 : self.alone, away], value[: self.nights, ~hub])
        to[self.alone, away] = np.maximum(to[self.alone, away], value[self.alone, ~hub])
        to[0, by_end.end[hub]] = np.maximum(to[0, by_end.end[hub]], value[:, hub].max(axis=0, initial=LOW))

    def _by_end(self, kind: int, day: int, span: int) -> _Sorted:
        """Return the moves of some dates in the order of their ends."""
        key = (kind, day, span)
        if key not in self._sorted:
            moves = self.terrain.moves(kind, self.dates[day])
            step = np.where(moves.venue >= 0, self.terrain.days, 1)
            chosen = np.flatnonzero(step == span)
            order = chosen[np.argsort(moves.end[chosen], kind="stable")]
            ends = moves.end[order]
            first = np.flatnonzero(np.append(True, ends[1:] != ends[:-1])) if len(order) else order
            taught, change = moves.venue[order] >= 0, moves.change[order]
            leaves = ~taught & self.hubs[moves.start[order]]
            places = (np.flatnonzero(mask) for mask in (change, taught & ~change, leaves))
            self._sorted[key] = _Sorted(order, first, ends[first], *places)
        return self._sorted[key]

    def _trace(self, kind: int, base: int, stop: int, value: int, best: Ints, table: dict[int, Priced]) -> Trip:
        """Return the trip that ends on a morning at the base with a worth, found by looking backwards."""
        stays: list[Stay] = []
        at, place, state = stop, base, -1
        while not stays or place != base:
            day, move, state = self._step_back(at, place, state, value, best, table)
            priced, moves = table[day], self.terrain.moves(kind, self.dates[day])
            venue = int(moves.venue[move])
            levels = tuple(int(x) for x in moves.levels[move]) if venue >= 0 else ()
            stays.append(Stay(day, int(moves.start[move]), place, venue, int(priced.stations[move]), levels,
                              int(moves.cost[move])))  # fmt: skip
            value -= int(priced.worth[move])
            at, place = day, int(moves.start[move])
        return Trip(kind, at, stop - 1, tuple(reversed(stays)))

    def _step_back(
        self, at: int, place: int, state: int, value: int, best: Ints, table: dict[int, Priced]
    ) -> tuple[int, int, int]:
        """Return the date, the move and the state before it that lead to a value in a state (−1 = any)."""
        for span in sorted({1, self.terrain.days}):
            day = at - span
            if day not in table:
                continue
            priced = table[day]
            chosen = np.flatnonzero((priced.end == place) & (priced.step == span) & ~priced.idle)
            for before in range(self.alone + 1):
                worth = best[day, before, priced.start[chosen]] + priced.worth[chosen]
                hits = chosen[(worth == value) & self._leads(priced, chosen, before, state, bool(self.hubs[place]))]
                if len(hits):
                    return day, int(hits[0]), before
        raise AssertionError("a value without a way to it")

    def _leads(self, priced: Priced, chosen: Ints, before: int, after: int, hub: bool) -> Bools:
        """Return which of the chosen moves lead from one state to another."""
        taught, change = priced.venue[chosen] >= 0, priced.change[chosen]
        alone = before == self.alone
        if hub:
            return ~taught | change | (not alone)
        if after == self.alone:
            leaves = alone | ((before == 0) & self.hubs[priced.start[chosen]])
            return change | (~taught & leaves)
        return np.where(change, after == 1, after == before + 1)

    def _worth(self, kind: int, day: int, prices: Prices) -> Priced:
        """Return the moves of a date with what each is worth, the stations chosen for the best."""
        moves = self.terrain.moves(kind, self.dates[day])
        taught = np.flatnonzero(moves.venue >= 0)
        worth = np.zeros(len(moves.start), dtype=np.int64)
        stations = np.zeros(len(moves.start), dtype=np.int64)
        step = np.where(moves.venue >= 0, self.terrain.days, 1)
        if len(taught):
            venue = moves.venue[taught]
            span = range(day, day + self.terrain.days)
            a_station = sum(moves.levels[taught, k] * prices.room[venue, d] for k, d in enumerate(span))
            a_station = a_station - sum(prices.place[venue, d] for d in span)
            chair = sum(prices.chair[venue, d] for d in span)
            best = np.full(len(taught), LOW, dtype=np.int64)
            staffed = self.terrain.kinds[kind].staffed[day]
            for n in range(1, prices.held.shape[1]):
                chairs = np.array(
                    [self.chairs[v][n] if n < len(self.chairs[v]) else -1 for v in range(len(self.chairs))]
                )
                most = self._most(kind)
                value = n * a_station + chairs[venue] * chair - sum(prices.held[d, n] for d in span)
                value = np.where((n <= np.minimum(most[venue], staffed)) & (chairs[venue] >= 0), value, LOW)
                better = value > best
                stations[taught] = np.where(better, n, stations[taught])
                best = np.maximum(best, value)
            worth[taught] = np.where(best > LOW, best + prices.visit[venue, day], LOW)
        idle = np.zeros(len(worth), dtype=bool)
        return Priced(moves.start, moves.end, moves.venue, worth, stations, step, moves.change, idle)

    def _most(self, kind: int) -> Ints:
        stations = self.terrain.kinds[kind].stations
        return np.array([stations[venue] for venue in self.terrain.venues], dtype=np.int64)
