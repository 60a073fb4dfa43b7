"""Where crews can be: moves of each date between sleeping places, with or without teaching, as arrays."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from roundplan.domain.clock import DAY, HOUR
from roundplan.domain.crew import Crew
from roundplan.domain.role import Lead, Weekend
from roundplan.domain.rules import Rule
from roundplan.solver.facts import Facts
from roundplan.solver.skeleton.day_clock import DayClock, Ints
from roundplan.solver.skeleton.drives import Drives

Bools: TypeAlias = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Kind:
    """Crews that are alike in all that matters to a path.

    Attributes
    ----------
    crews : tuple of Crew
        The crews.
    stations : dict
        By venue, the most stations such a crew runs.
    staffed : tuple of int
        By date, the most stations of a session that starts then for which it can have trainers.
    """

    crews: tuple[Crew, ...]
    stations: dict[str, int]
    staffed: tuple[int, ...]

    @property
    def base(self) -> str:
        """Where trips begin and end."""
        return self.crews[0].base


@dataclass(frozen=True, slots=True)
class Moves:
    """The moves that begin on the morning of one date.

    Attributes
    ----------
    start, end : array of int, shape (moves,)
        Sleeping place of the night before and of the night after, as positions in ``Terrain.sleeping``.
    venue : array of int, shape (moves,)
        Position in ``Terrain.venues``; −1 = no teaching.
    levels : array of int, shape (moves, days of a session)
        Teams that one station takes on each date of the session.
    change : array of bool, shape (moves,)
        Whether trainers can come and go on the way: at the venue, or in a night between two dates of the session.
    cost : array of int, shape (moves,)
        Kilometres, allowances and nights in minor units; a guide, never a price.
    """

    start: Ints
    end: Ints
    venue: Ints
    levels: Ints
    change: Bools
    cost: Ints


class Terrain:
    """Moves by kind of crew and date, from the same passages that the whole model uses."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.venues = tuple(site.code for site in facts.venues if facts.session_starts[site.code])
        self.days = facts.settings.session.days
        self.kinds = tuple(self._kinds())
        bases = dict.fromkeys(kind.base for kind in self.kinds)
        self.sleeping = tuple(dict.fromkeys((*bases, *facts.sleeping)))
        self._drives: dict[date, Drives] = {}
        self._moves: dict[tuple[int, date], Moves] = {}

    def _kinds(self) -> list[Kind]:
        alike: dict[tuple[object, ...], list[Crew]] = {}
        for crew in self.facts.round.crews:
            days = tuple(day for day in self.facts.dates if self.facts.crew_works(crew, day))
            key = (crew.base, crew.seats, crew.drivers, crew.box_models, crew.payload_kg, crew.space_l,
                   crew.price_per_km, crew.price_per_day, days, self._staffed(crew))  # fmt: skip
            alike.setdefault(key, []).append(crew)
        return [
            Kind(tuple(crews), {v: self._stations(crews[0], v) for v in self.venues}, self._staffed(crews[0]))
            for crews in alike.values()
        ]

    def _staffed(self, crew: Crew) -> tuple[int, ...]:
        """Return by date the most stations of a session from then for which a crew can have trainers.

        Each station has its director, each crew's part of a session its leads for anaesthesia and surgery; a director
        may lead surgery too.
        """
        facts, dates = self.facts, self.facts.dates
        most = max((site.stations for site in facts.venues), default=0) + 1
        if not facts.on(Rule.CREW_STAFFED) or facts.shares_days:
            return (most,) * len(dates)
        mine = [t for t in facts.round.trainers if not facts.on(Rule.TRAINER_LIMITS) or t.crew in (None, crew.code)]
        found = []
        for day in dates:
            there = [t.leads for t in mine if all(facts.trainer_free(t, x) for x in facts.session_dates(day))]
            either = sum(bool(leads & {Lead.DIRECTOR, Lead.ANAESTHESIA}) for leads in there)
            directors = min(sum(Lead.DIRECTOR in leads for leads in there), either - 1)
            leads = all(any(lead in held for held in there) for lead in (Lead.ANAESTHESIA, Lead.SURGERY))
            enough = len(there) // max(facts.settings.trainers.per_station, 1)
            found.append(max(min(most, directors, enough), 0) if leads else 0)
        return tuple(found)

    def _stations(self, crew: Crew, venue: str) -> int:
        """Return the most stations: by the venue, the box models, and the trainers whom the vehicle seats."""
        facts = self.facts
        staffed = facts.on(Rule.CREW_STAFFED)
        if staffed and facts.on(Rule.TRAINER_LIMITS) and self.days > facts.settings.trainers.days_in_a_row:
            return 0  # who leads a session works on all its dates
        site = facts.round.site(venue)
        most = site.stations if facts.on(Rule.VENUE_CAPACITY) else site.stations + 1
        most = min(most, crew.box_models) if facts.on(Rule.KIT_ENOUGH) else most
        if facts.on(Rule.VEHICLE_LOAD) and staffed:
            per = facts.settings.trainers.per_station
            while most and max(per * most, most + 1) + crew.drivers > crew.seats:
                most -= 1
        return most

    def position(self, site: str) -> int:
        """Return the position of a sleeping place."""
        return self._positions[site]

    @cached_property
    def _positions(self) -> dict[str, int]:
        return {site: index for index, site in enumerate(self.sleeping)}

    @cached_property
    def hubs(self) -> Bools:
        """Sleeping places at a base or near where a trainer lives; shape (places,)."""
        return np.array([self.comes_and_goes(place) for place in self.sleeping])

    def comes_and_goes(self, site: str) -> bool:
        """Whether some trainer may join and leave there."""
        homes = {trainer.lives_at for trainer in self.facts.round.trainers} | {kind.base for kind in self.kinds}
        return any(self.facts.near_sites(site, home) for home in homes)

    @property
    def nights(self) -> int:
        """Most nights in a row away from home that any trainer takes."""
        facts = self.facts
        if not (facts.on(Rule.TRAINER_LIMITS) and facts.on(Rule.CREW_STAFFED)):
            return len(facts.dates)
        usual = facts.settings.trainers.nights_limit
        own = (t.nights_away_limit for t in facts.round.trainers)
        return max((usual if limit is None else limit for limit in own), default=0)

    def moves(self, kind: int, day: date) -> Moves:
        """Return the moves of a kind of crew that begin on a date."""
        key = (kind, day)
        if key not in self._moves:
            self._moves[key] = self._find(self.kinds[kind], day)
        return self._moves[key]

    def _find(self, kind: Kind, day: date) -> Moves:
        crew, facts = kind.crews[0], self.facts
        rows = [self._transits(kind, day)]
        span = facts.session_dates(day)
        if span[-1] <= facts.dates[-1] and all(facts.crew_works(crew, x) for x in span) and not self._barred(day):
            rows += [
                self._teaching(kind, index, span)
                for index, venue in enumerate(self.venues)
                if kind.stations[venue] and day in self._open[venue]
            ]
        table = np.concatenate([row for row in rows if len(row)]) if any(len(r) for r in rows) else _none(self.days)
        return Moves(table[:, 0], table[:, 1], table[:, 2], table[:, 5:], table[:, 4].astype(bool), table[:, 3])

    @cached_property
    def _open(self) -> dict[str, frozenset[date]]:
        return {venue: frozenset(self.facts.session_starts[venue]) for venue in self.venues}

    def _barred(self, day: date) -> bool:
        """Whether a rest day bars crews from work."""
        facts = self.facts
        weekend = facts.settings.trainers.weekend
        bars = weekend is not Weekend.EITHER and facts.on(Rule.TRAINER_LIMITS)
        return bars and facts.calendar.is_rest_day(day)

    def _transits(self, kind: Kind, day: date) -> Ints:
        facts, crew = self.facts, kind.crews[0]
        base = self.position(kind.base)
        home = [(base, base, -1, 0, 0, *([0] * self.days))]
        if not facts.crew_works(crew, day):
            return np.array(home, dtype=np.int64)
        weekend = facts.settings.trainers.weekend
        if self._barred(day):
            places = [] if weekend is Weekend.HOME else [i for i in self._beds(kind) if i != base]
            stays = [(i, i, -1, self._day_cost(crew, True), 0, *([0] * self.days)) for i in places]
            return np.array(home + stays, dtype=np.int64)
        found = []
        drives = self.drives(day)
        duty = self._duty()
        for a in self._beds(kind):
            for b in self._beds(kind):
                if drives.between[a, b] <= duty and not a == b == base:
                    km = drives.between_km[a, b]
                    cost = round(km * crew.price_per_km) + self._day_cost(crew, b != base)
                    found.append((a, b, -1, cost, 0, *([0] * self.days)))
        return np.array(home + found, dtype=np.int64)

    def _beds(self, kind: Kind) -> list[int]:
        own = self.position(kind.base)
        lodgings = set(self.facts.sleeping)
        return [i for i, site in enumerate(self.sleeping) if i == own or site in lodgings]

    def _duty(self) -> int:
        duty = self.facts.settings.travel.duty_day * HOUR
        return round(duty) if self.facts.on(Rule.LEG_FEASIBLE) else 2 * DAY

    def _day_cost(self, crew: Crew, night: bool) -> int:
        prices = self.facts.settings.prices
        cost = crew.price_per_day + crew.drivers * prices.price("driver_day")
        return cost + (crew.drivers + 2) * prices.price("trainer_night") * night

    def drives(self, day: date) -> Drives:
        """Return the drives of a date as tables."""
        if day not in self._drives:
            self._drives[day] = Drives(self.facts, self.sleeping, self.venues, day)
        return self._drives[day]

    def _teaching(self, kind: Kind, venue: int, span: tuple[date, ...]) -> Ints:
        """Return the moves with a session: first date from a, last date to b, nights between where they are best."""
        crew = kind.crews[0]
        beds = np.array(self._beds(kind))
        grids = [
            self._levels(crew, venue, day, beds, first=k == 0, last=k == len(span) - 1) for k, day in enumerate(span)
        ]
        levels = grids[0][..., None]
        change = np.full(grids[0].shape, self.comes_and_goes(self.venues[venue]))
        for grid in grids[1:]:
            levels, change = _joined(levels, grid, self._least, change | self.hubs[beds])
        a, b = np.nonzero((levels.min(axis=2) >= self._least) & (levels.max(axis=2) > 0))
        drives = self.drives(span[0])
        km = drives.out_km[beds[a], venue] + drives.back_km[venue, beds[b]]
        base = self.position(kind.base)
        cost = np.round(km * crew.price_per_km).astype(np.int64) + len(span) * self._day_cost(crew, False)
        nights = (len(span) - 1) + (beds[b] != base)
        cost = cost + nights * (self._day_cost(crew, True) - self._day_cost(crew, False))
        columns = [beds[a], beds[b], np.full(len(a), venue), cost, change[a, b], levels[a, b]]
        return np.column_stack(columns).astype(np.int64)

    @property
    def _least(self) -> int:
        """Least teams that a date of a session must have room for: none where teams can come on the other dates."""
        return int(self.days == self.facts.settings.session.days_per_team)

    def _levels(self, crew: Crew, venue: int, day: date, beds: Ints, *, first: bool, last: bool) -> Ints:
        """Return the teams a station takes on a date, by sleeping place before and after; shape (beds, beds).

        −1 where no session fits at all.
        """
        facts = self.facts
        drives = self.drives(day)
        set_up, pack_up = facts.set_up * first, facts.pack_up * last
        leg_out, leg_back = drives.out[beds, venue], drives.back[venue, beds]
        ready = drives.ready[beds, venue] + np.where(leg_out > 0, set_up, 0)
        until = drives.until[venue, beds] - np.where(leg_back > 0, pack_up, 0)
        spare = self._duty() - (leg_out[:, None] + leg_back[None, :] + set_up + pack_up)
        teams = self.clock.teams(ready, until, spare)
        if facts.on(Rule.LEG_FEASIBLE) and crew.drivers == 1:
            wheel = drives.out_wheel[beds, venue][:, None] + drives.back_wheel[venue, beds][None, :]
            teams = np.where(wheel <= facts.settings.travel.wheel_hours * HOUR, teams, -1)
        return teams

    @cached_property
    def clock(self) -> DayClock:
        """How many teams a station takes between two times of day."""
        return DayClock(self.facts)


def _joined(levels: Ints, grid: Ints, least: int, change: Bools) -> tuple[Ints, Bools]:
    """Join levels (a, m, dates) with those of one more date (m, b): the best night place m for each figure.

    ``change`` (a, m) says whether trainers can come and go up to that night; it is returned as (a, b).
    """
    reach = (levels.min(axis=2) >= least)[:, :, None] & (grid >= least)[None, :, :]
    earlier = np.where(reach[..., None], levels[:, :, None, :], -1).max(axis=1)
    last = np.where(reach, grid[None, :, :], -1).max(axis=1)
    joined: Ints = np.concatenate([earlier, last[..., None]], axis=2)
    return joined, (reach & change[:, :, None]).any(axis=1)


def _none(days: int) -> Ints:
    return np.zeros((0, 5 + days), dtype=np.int64)
