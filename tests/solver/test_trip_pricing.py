"""Pricing by dynamic programming, against a terrain worked by hand and against trying every path."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from random import Random
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from rounds import day

from roundplan.solver.skeleton.pricing import Prices, Pricing, Stay, Trip
from roundplan.solver.skeleton.terrain import Moves

BASE, INN = 0, 1
SEEDS = range(30)


@dataclass(frozen=True)
class Move:
    """One move of a small terrain; no levels = no session."""

    start: int
    end: int
    venue: int = -1
    levels: tuple[int, ...] = ()
    change: bool = False


class Ground:
    """A terrain written down move by move, for one kind of crew with its base at place 0.

    Parameters
    ----------
    moves : list of list of Move
        By date.
    hubs : list of bool
        By place, whether trainers can come and go there.
    stations : list of int
        By venue, the most stations of the crew.
    """

    def __init__(self, moves: list[list[Move]], hubs: list[bool], stations: list[int], days: int = 1) -> None:
        self.table, self.days, self.hubs = moves, days, np.array(hubs)
        self.sleeping = tuple(f"place {n}" for n in range(len(hubs)))
        self.venues = tuple(f"venue {n}" for n in range(len(stations)))
        most = dict(zip(self.venues, stations, strict=True))
        staffed = (max(most.values()),) * len(moves)
        self.kinds = (SimpleNamespace(base="place 0", stations=most, staffed=staffed, crews=("CREW",)),)
        self.facts = SimpleNamespace(dates=tuple(day(n) for n in range(len(moves))))

    def position(self, site: str) -> int:
        return self.sleeping.index(site)

    def moves(self, kind: int, on: Any) -> Moves:
        """Return the moves of a date as arrays."""
        rows = self.table[self.facts.dates.index(on)]
        levels = [list(m.levels or (0,) * self.days) for m in rows]
        columns = (np.array([getattr(m, name) for m in rows], dtype=np.int64) for name in ("start", "end", "venue"))
        change = np.array([m.change for m in rows], dtype=bool)
        return Moves(*columns, np.array(levels, dtype=np.int64), change, np.zeros(len(rows), dtype=np.int64))


def pricing(ground: Ground, chairs: dict[int, list[int]], nights: int) -> Pricing:
    return Pricing(ground, chairs, nights)  # type: ignore[arg-type]


# by hand ----------------------------------------------------------------------------------------------------------

EVERY_DATE = [
    Move(BASE, BASE),
    Move(BASE, INN),
    Move(INN, BASE),
    Move(INN, INN),
    Move(BASE, BASE, 0, (1,)),
    Move(BASE, INN, 0, (1,)),
    Move(INN, INN, 1, (2,)),
    Move(INN, BASE, 1, (2,)),
]
"""V (venue 0, a team a station) is reached from the base, W (venue 1, two teams a station) from INN."""
HAND = Ground([EVERY_DATE] * 3, [True, False], [2, 1])
CHAIRS = {0: [0, 6, 12], 1: [0, 6, -1]}
HAND_PRICES = Prices(
    room=np.array([[10, 3, 0], [0, 8, 9]]),
    place=np.array([[4, 0, 0], [0, 1, 0]]),
    chair=np.array([[1, 0, 0], [0, 0, 0]]),
    visit=np.array([[2, 0, 0], [0, 0, 5]]),
    held=np.array([[0, 3, 9], [0, 3, 9], [0, 3, 9]]),
    out=np.array([[6, 6, 6]]),
)
# V on the first date, one station: 10 for a team − 4 for its place + 6 chairs × 1 − 3 for trainers = 9; two stations:
# 2 × (10 − 4) + 12 − 9 = 15; with 2 for the visit 17. V on the second: 3 − 3 = 0. V on the third: −3.
# W on the second date, one station: 2 × 8 − 1 − 3 = 12. W on the third: 2 × 9 − 3 + 5 = 20. W on the first: −3.


@pytest.mark.parametrize(
    ("nights", "best"),
    [
        (2, 17 + 12 + 20),  # V, night at INN, W, night at INN, W
        (1, 17 + 0 + 20),  # V and home, to INN, W: one night; V, night, W and home comes to 29 only
        (0, 17),  # V and home; V again on the second date adds nothing
    ],
)
def test_best_calendar_by_hand(nights: int, best: int) -> None:
    assert pricing(HAND, CHAIRS, nights).calendar(0, HAND_PRICES) == best


@pytest.mark.parametrize(
    ("nights", "best"),
    [
        # Each date out costs 6. V and home 17 − 6; V, night, W 29 − 12; all three dates 49 − 18.
        (2, {1: 11, 2: 17, 3: 31}),
        # Three dates need two nights; from the second date on: to INN, W, 20 − 12.
        (1, {1: 11, 2: 17, 3: 8}),
        (0, {1: 11}),
    ],
)
def test_best_trips_by_hand(nights: int, best: dict[int, int]) -> None:
    found = pricing(HAND, CHAIRS, nights).trips(0, HAND_PRICES)
    assert {trip.last + 1: value for value, trip in found} == best


def test_the_longest_trip_by_hand() -> None:
    trips = {trip.last: trip for _, trip in pricing(HAND, CHAIRS, 2).trips(0, HAND_PRICES)}
    assert trips[2] == Trip(
        kind=0, first=0, last=2,
        stays=(Stay(0, BASE, INN, 0, 2, (1,), 0), Stay(1, INN, INN, 1, 1, (2,), 0), Stay(2, INN, BASE, 1, 1, (2,), 0)),
    )  # fmt: skip


def test_drivers_alone_may_sleep_out_but_teach_only_where_trainers_join() -> None:
    # No night away is allowed. Trainers can join at W: to INN, W, home again: 12 for the second date. Without, nothing.
    for change, best in ((True, 12), (False, 0)):
        moves = [Move(BASE, BASE), Move(BASE, INN), Move(INN, INN), Move(INN, BASE), Move(INN, INN, 1, (2,), change)]
        ground = Ground([moves] * 3, [True, False], [2, 1])
        prices = Prices(**{n: getattr(HAND_PRICES, n) for n in ("room", "place", "chair", "held", "out")},
                        visit=np.zeros((2, 3), dtype=np.int64))  # fmt: skip
        third = prices.room.copy()
        third[1, 2] = 0
        prices = Prices(third, prices.place, prices.chair, prices.visit, prices.held, prices.out)
        assert pricing(ground, CHAIRS, 0).calendar(0, prices) == best


# by trying --------------------------------------------------------------------------------------------------------


def random_ground(rng: Random) -> tuple[Ground, dict[int, list[int]]]:
    """Return a terrain of four to six dates, three places and two venues with some of all moves."""
    days = rng.choice((1, 1, 2))
    dates = rng.randint(4, 5) + (days > 1)
    table = []
    for at in range(dates):
        rows = [Move(BASE, BASE)]
        for start, end in product(range(3), repeat=2):
            if rng.random() < 0.5 and (start, end) != (BASE, BASE):
                rows.append(Move(start, end))
            for venue in range(2):
                if rng.random() < 0.45 and at + days <= dates:
                    levels = tuple(rng.randint(0, 3) for _ in range(days))
                    rows.append(Move(start, end, venue, levels, rng.random() < 0.3))
        table.append(rows)
    ground = Ground(table, [True, rng.random() < 0.3, False], [rng.randint(1, 2), rng.randint(1, 2)], days)
    return ground, {venue: [0, rng.randint(-1, 9), rng.randint(-1, 9)] for venue in range(2)}


def random_prices(rng: Random, dates: int) -> Prices:
    def table(rows: int, columns: int, most: int, share: float = 0.6) -> Any:
        return np.array([[rng.randint(0, most) * (rng.random() < share) for _ in range(columns)] for _ in range(rows)])

    shape = (2, dates)
    return Prices(table(*shape, 9), table(*shape, 5), table(*shape, 2), table(*shape, 6), table(dates, 3, 6),
                  table(1, dates, 9))  # fmt: skip


def worth(
    ground: Ground, chairs: dict[int, list[int]], prices: Prices, at: int, move: Move, stations: int
) -> int | None:
    """Return what a session with so many stations is worth; None = there is no such session."""
    venue = move.venue
    if stations > ground.kinds[0].stations[ground.venues[venue]] or chairs[venue][stations] < 0:
        return None
    total = int(prices.visit[venue, at])
    for k, level in enumerate(move.levels):
        on = at + k
        total += stations * (level * int(prices.room[venue, on]) - int(prices.place[venue, on]))
        total += chairs[venue][stations] * int(prices.chair[venue, on]) - int(prices.held[on, stations])
    return total


def paths(ground: Ground, at: int, place: int) -> Iterator[list[tuple[int, Move]]]:
    """Yield every way on from a morning to the last date."""
    if at == len(ground.table):
        yield []
        return
    for move in ground.table[at]:
        span = ground.days if move.venue >= 0 else 1
        if move.start == place and at + span <= len(ground.table):
            for rest in paths(ground, at + span, move.end):
                yield [(at, move), *rest]


def rested(ground: Ground, path: list[tuple[int, Move]], limit: int) -> bool:
    """Whether no trainer who teaches on a path sleeps out too often in a row.

    Between two moments at which trainers can come and go, all who teach are aboard throughout.
    """
    nights, taught = 0, False
    for _, move in path:
        if move.change:
            if taught and nights > limit:
                return False
            nights, taught = 0, False
        taught |= move.venue >= 0 and not move.change
        nights += not ground.hubs[move.end]
        if ground.hubs[move.end]:
            if taught and nights > limit:
                return False
            nights, taught = 0, False
    return not taught or nights <= limit


def values(
    ground: Ground, chairs: dict[int, list[int]], prices: Prices, path: list[tuple[int, Move]]
) -> list[int] | None:
    """Return the worth of each move, the number of stations chosen for the best; None if a session cannot be."""
    found = []
    for at, move in path:
        options = [0] if move.venue < 0 else [worth(ground, chairs, prices, at, move, n) for n in (1, 2)]
        able = [option for option in options if option is not None]
        if not able:
            return None
        found.append(max(able))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_calendars_and_trips_are_the_best_of_all_paths(seed: int) -> None:
    rng = Random(f"pricing {seed}")
    ground, chairs = random_ground(rng)
    dates = len(ground.table)
    prices, limit = random_prices(rng, dates), rng.choice((0, 0, 1, 1, 2, 12))
    calendar = 0
    trips: dict[int, int] = {}
    for path in paths(ground, 0, BASE):
        if path[-1][1].end != BASE or not rested(ground, path, limit):
            continue
        worths = values(ground, chairs, prices, path)
        if worths is None:
            continue
        calendar = max(calendar, sum(worths))
        left = None
        for (at, move), value in zip(path, worths, strict=True):
            stop = at + (ground.days if move.venue >= 0 else 1)
            if move.start == BASE:
                left = 0
            if move == Move(BASE, BASE):
                continue
            left = (left or 0) + value - int(prices.out[0, at:stop].sum())
            if move.end == BASE and left > 0:
                trips[stop] = max(trips.get(stop, 0), left)
    search = pricing(ground, chairs, limit)
    assert search.calendar(0, prices) == calendar
    found = search.trips(0, prices)
    assert {trip.last + 1: value for value, trip in found} == trips
    for value, trip in found:
        check_trip(ground, chairs, prices, trip, value, limit)


def check_trip(
    ground: Ground, chairs: dict[int, list[int]], prices: Prices, trip: Trip, value: int, limit: int
) -> None:
    """Assert that a trip is a path of the terrain, worth what it is said to be worth."""
    at, place, total = trip.first, BASE, -int(prices.out[0, trip.first : trip.last + 1].sum())
    path = []
    for stay in trip.stays:
        assert (stay.date, stay.start) == (at, place)
        fitting = [
            m for m in ground.table[at]
            if (m.start, m.end, m.venue, m.levels) == (stay.start, stay.end, stay.venue, stay.levels)
        ]  # fmt: skip
        assert fitting
        path.append((at, max(fitting, key=lambda m: m.change)))
        if stay.venue >= 0:
            session = worth(ground, chairs, prices, at, fitting[0], stay.stations)
            assert session is not None
            total += session
        at += ground.days if stay.venue >= 0 else 1
        place = stay.end
        assert place != BASE or stay is trip.stays[-1]
    assert (at, place) == (trip.last + 1, BASE)
    assert total == value
    assert rested(ground, path, limit)
