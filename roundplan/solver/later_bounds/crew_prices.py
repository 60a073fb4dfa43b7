"""What crews cost at least, move by move, and trips priced with it."""

from __future__ import annotations

import dataclasses
import itertools
from datetime import date
from math import floor

import numpy as np

from roundplan.domain.rules import Rule
from roundplan.domain.supply import Per
from roundplan.solver.attendance import lodging_price
from roundplan.solver.later_bounds.supply_prices import SupplyPrices
from roundplan.solver.skeleton.day_clock import NEVER, Ints
from roundplan.solver.skeleton.pricing import LOW, Priced, Prices, Pricing, Stay
from roundplan.solver.skeleton.terrain import Terrain


class CrewPrices:
    """Least costs of crews in units of ``scale``, each rounded down.

    Attributes
    ----------
    stations : array of int, shape (most stations + 1,)
        For each date of a session with so many stations: trainers' fees and meals, what stations use up.
    session : array of int, shape (venues,)
        For a session: the room, and what it uses up, shared by all crews that could hold it together.
    """

    def __init__(self, terrain: Terrain, supplies: SupplyPrices, scale: int) -> None:
        self.terrain, self.facts, self.scale = terrain, terrain.facts, scale
        self._supplies = supplies
        most_stations = max((n for kind in terrain.kinds for n in kind.stations.values()), default=0)
        self.stations = np.array([self._of_stations(n) for n in range(most_stations + 1)], dtype=np.int64)
        self.session = np.array([self._of_session(venue) for venue in terrain.venues], dtype=np.int64)
        self._lodging = np.array([lodging_price(self.facts.round, site) for site in terrain.sleeping])
        self._known: dict[tuple[int, date], Ints] = {}

    @property
    def _staffed(self) -> bool:
        return self.facts.on(Rule.CREW_STAFFED)

    def _trainers(self, stations: int) -> int:
        """Return how many trainers a session with so many stations has at least."""
        per = self.facts.settings.trainers.per_station
        return max(per * stations, stations + 1) if self._staffed and stations else 0

    def _of_stations(self, stations: int) -> int:
        facts, prices, session = self.facts, self.facts.settings.prices, self.facts.settings.session
        usual = prices.price("trainer_day")
        fees = sorted(usual if t.day_price is None else t.day_price for t in facts.round.trainers)
        number = self._trainers(stations)
        people = sum(fees[:number]) + number * prices.price("lunch")
        used = self._supplies.of(Per.STATION) / session.days
        if session.days == 1:
            used += session.demonstrations * self._supplies.simulation()
        return floor(people + stations * used) // self.scale

    def _of_session(self, venue: str) -> int:
        facts = self.facts
        site, days = facts.round.site(venue), facts.settings.session.days
        price = site.day_price if site.day_price is not None else facts.settings.prices.price("venue_day")
        crews = sum(len(kind.crews) for kind in self.terrain.kinds)
        most = site.stations if facts.on(Rule.VENUE_CAPACITY) else crews
        sharing = max(min(crews, most), 1)
        return floor((days * price + self._supplies.of(Per.SESSION)) / sharing) // self.scale

    # moves ------------------------------------------------------------------------------------------------------

    def moves(self, kind: int, day: date) -> Ints:
        """Return the cost of each move of a kind of crew that begins on a date."""
        key = (kind, day)
        if key not in self._known:
            moves = self.terrain.moves(kind, day)
            self._known[key] = self.of(kind, day, moves.start, moves.end, moves.venue)
        return self._known[key]

    def of(self, kind: int, day: date, start: Ints, end: Ints, venue: Ints) -> Ints:
        """Return the cost of moves given by their sleeping places and venues (−1 = no session)."""
        base = self.terrain.position(self.terrain.kinds[kind].base)
        cost = np.where(venue >= 0, self._teaching(kind, day, start, end, venue), self._transit(kind, day, start, end))
        cost = cost + np.where(end != base, self._night(kind)[end], 0)
        cost = cost + np.where(start == base, floor(self._supplies.of(Per.TRIP)), 0)
        idle = (start == base) & (end == base) & (venue < 0)
        found: Ints = np.where(idle, 0, cost // self.scale).astype(np.int64)
        return found

    def stay(self, kind: int, stay: Stay) -> int:
        """Return the cost of one move of a trip, its session included."""
        places = (np.array([place]) for place in (stay.start, stay.end, stay.venue))
        cost = int(self.of(kind, self.facts.dates[stay.date], *places)[0])
        if stay.venue >= 0:
            cost += int(self.session[stay.venue]) + self.terrain.days * int(self.stations[stay.stations])
        return cost

    def _day(self, kind: int) -> int:
        crew = self.terrain.kinds[kind].crews[0]
        return crew.price_per_day + crew.drivers * self.facts.settings.prices.price("driver_day")

    def _night(self, kind: int) -> Ints:
        """Return by sleeping place what a night away from the base costs for the drivers."""
        drivers = self.terrain.kinds[kind].crews[0].drivers
        found: Ints = drivers * (self.facts.settings.prices.price("driver_night") + self._lodging)
        return found

    def _legs(self, kind: int, km: np.ndarray) -> Ints:
        price = self.terrain.kinds[kind].crews[0].price_per_km
        found: Ints = np.floor(km * price).astype(np.int64)
        return found

    def _transit(self, kind: int, day: date, start: Ints, end: Ints) -> Ints:
        return self._legs(kind, self.terrain.drives(day).between_km[start, end]) + self._day(kind)

    def _teaching(self, kind: int, day: date, start: Ints, end: Ints, venue: Ints) -> Ints:
        terrain, facts = self.terrain, self.facts
        if not (venue >= 0).any():
            return np.zeros(len(venue), dtype=np.int64)
        span = facts.session_dates(day)
        drivers = terrain.kinds[kind].crews[0].drivers
        cost = self._legs(kind, terrain.drives(span[0]).out_km[start, venue])
        cost = cost + self._legs(kind, terrain.drives(span[-1]).back_km[venue, end])
        cost = cost + len(span) * (self._day(kind) + drivers * facts.settings.prices.price("lunch"))
        for earlier, later in itertools.pairwise(span):
            cost = cost + self._between(kind, earlier, later)[venue]
        away = ~terrain.hubs & self._usable
        alone = np.array([not terrain.comes_and_goes(code) for code in terrain.venues])
        half = self._trainer_night() // 2
        cost = cost + np.where(alone[venue] & away[start], half[start], 0)
        return cost + np.where(alone[venue] & away[end], half[end], 0)

    @property
    def _usable(self) -> bool:
        """Whether trainers join and leave only at the base and where they live."""
        return self.facts.on(Rule.TRAINER_LIMITS) and self._staffed

    def _trainer_night(self) -> Ints:
        """Return by sleeping place what a night there costs for the trainers of the smallest session."""
        found: Ints = self._trainers(1) * (self.facts.settings.prices.price("trainer_night") + self._lodging)
        return found

    def _between(self, kind: int, earlier: date, later: date) -> Ints:
        """Return by venue the least cost of a night between two dates of a session."""
        back, out = self.terrain.drives(earlier), self.terrain.drives(later)
        base = self.terrain.position(self.terrain.kinds[kind].base)
        night = self._night(kind).copy()
        night[base] = 0
        cost = self._legs(kind, back.back_km) + self._legs(kind, out.out_km).T + night
        reach = (back.back < NEVER) & (out.out.T < NEVER)
        least: Ints = np.where(reach, cost, 10**15).min(axis=1)
        return np.where(least < 10**15, least, 0)


class CostPricing(Pricing):
    """Prices trips that cost what their moves cost at least.

    Parameters
    ----------
    unit : int
        Units of price in one unit of cost.
    """

    def __init__(self, plain: Pricing, crews: CrewPrices, unit: int) -> None:
        super().__init__(plain.terrain, plain.chairs, crews.terrain.nights)
        self.crews, self.unit = crews, unit

    def _worth(self, kind: int, day: int, prices: Prices) -> Priced:
        """Return the moves of a date, less what they cost."""
        priced = super()._worth(kind, day, prices)
        cost = self.unit * self.crews.moves(kind, self.dates[day])
        return dataclasses.replace(priced, worth=np.where(priced.worth > LOW // 2, priced.worth - cost, LOW))
