"""What to plan anew: tours chosen by what has helped before, and the frames in which they are free."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from roundplan.solver.facts import ONE_DAY
from roundplan.solver.frame import Frame, Move
from roundplan.solver.parts import Visit
from roundplan.solver.pieces.framing import Framing, Hold
from roundplan.solver.pieces.residual import Residual
from roundplan.solver.pieces.tours import Tour
from roundplan.solver.skeleton.pricing import Trip
from roundplan.solver.skeleton.shape import Shape
from roundplan.solver.taken import Taken, together

LENDERS = 1
"""Facilities that may lend a session guests beside those that come to it anyway: the nearest."""
OFFERS = 3
"""Facilities offered to each session beside those that come already."""
WINDOW = 5
"""Sessions planned anew at a time."""
VISITS, SESSIONS = 30, 10
"""About how many visits and sessions a neighbourhood holds: more of them take longer than they are worth."""
VARIANTS = 3
"""Other trips offered to a crew in place of its own."""
PATIENCE, MOST = 8, 4.0
"""Fruitless steps after which neighbourhoods grow by a third, and how many times as large they get."""
APART = timedelta(days=14)
"""Dates so far apart never meet in a trainer's row of nights or days."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A neighbourhood: tours that are planned anew, inside a frame; where ``free`` dates are named, on these alone."""

    kind: str
    tours: tuple[Tour, ...]
    frame: Frame
    free: frozenset[date] = frozenset()


class Neighbourhoods:
    """Chooses neighbourhoods; kinds that have led to better plans are chosen more often.

    Kinds: ``people`` (one tour, its drives as they are), ``trip`` (one tour, other trips in its place), ``pair`` (two
    tours near each other in time), ``missing`` (tours that a facility without all its teams could visit), ``new``
    (a crew that is idle for some dates).
    """

    def __init__(self, shape: Shape, framing: Framing, source: random.Random) -> None:
        self.shape, self.framing, self.facts, self.random = shape, framing, shape.facts, source
        self.merit = {"people": 1.0, "trip": 2.0, "pair": 2.0, "missing": 2.0, "new": 2.0}
        self.scale = 1.0
        self._stale = 0
        self._weight = {f.code: self.facts.round.weight(f) for f in self.facts.round.facilities}

    # choosing ---------------------------------------------------------------------------------------------------

    def choose(self, tours: Sequence[Tour], count: int) -> list[Chosen]:
        """Return neighbourhoods to try side by side, of tours that do not overlap."""
        found: list[Chosen] = []
        busy: set[int] = set()
        for _ in range(6 * count):
            if len(found) == count:
                break
            kind = self.random.choices(list(self.merit), list(self.merit.values()))[0]
            chosen = self._one(kind, [t for t in tours if id(t) not in busy], tours)
            if chosen is not None:
                found.append(chosen)
                busy |= {id(tour) for tour in chosen.tours}
        return found

    def learn(self, chosen: Iterable[Chosen], better: bool) -> None:
        """Remember what has helped; after some that have not, neighbourhoods grow, and shrink again when one does."""
        self._stale = 0 if better else self._stale + 1
        if better:
            self.scale = max(1.0, 0.8 * self.scale)
        elif self._stale >= PATIENCE:
            self.scale, self._stale = min(MOST, 1.3 * self.scale), 0
        for entry in chosen:
            self.merit[entry.kind] = max(0.3, 0.9 * self.merit[entry.kind] + (0.6 if better else 0.0))

    def _one(self, kind: str, free: list[Tour], tours: Sequence[Tour]) -> Chosen | None:
        if kind == "new":
            return self._new(tours)
        if not free:
            return None
        picked = [self.random.choice(free)]
        if kind == "missing":
            picked = self._missing(free, tours)
        elif kind == "pair":
            others = sorted((t for t in free if t is not picked[0]), key=lambda t: abs(t.span[0] - picked[0].span[0]))
            picked += others[:1] if not others else [self.random.choice(others[:4])]
        if not picked:
            return None
        rest = [t for t in tours if all(t is not p for p in picked)]
        variants = kind in ("trip", "pair")
        free_dates = self.window(picked)
        return Chosen(kind, tuple(picked), self.of_tours(picked, rest, free_dates, variants=variants), free_dates)

    def _scaled(self, figure: int) -> int:
        return round(figure * self.scale)

    def window(self, tours: Sequence[Tour]) -> frozenset[date]:
        """Return the dates to be planned anew of tours with many sessions: some on end, at random; none = all."""
        starts = sorted({start for tour in tours for _, _, start in tour.holds})
        count = sum(len(tour.holds) for tour in tours)
        if count <= self._scaled(WINDOW):
            return frozenset()
        begin = self.random.choice(starts)
        chosen: list[date] = []
        held = 0
        for start in [s for s in starts if s >= begin] + [s for s in reversed(starts) if s < begin]:
            held += sum(start == s for tour in tours for _, _, s in tour.holds)
            if held > self._scaled(WINDOW) and chosen:
                break
            chosen.append(start)
        first, last = min(chosen), max(chosen) + (self.facts.settings.session.days - 1) * ONE_DAY
        return frozenset(first + k * ONE_DAY for k in range((last - first).days + 1))

    def _wanting(self, tours: Iterable[Tour]) -> dict[str, int]:
        """Return how many teams facilities still lack, as far as they could be sent."""
        sent: dict[str, int] = defaultdict(int)
        for tour in tours:
            for code, teams in tour.taken.teams.items():
                sent[code] += teams
        return {code: most - sent[code] for code, most in self.shape.demand.total.items() if most > sent[code]}

    def _missing(self, free: list[Tour], tours: Sequence[Tour]) -> list[Tour]:
        wanting = sorted(self._wanting(tours))
        if not wanting:
            return []
        code = self.random.choice(wanting)
        reach = {self.shape.demand.key(i)[1:] for i in self.shape.demand.by_facility[code]}
        near = [t for t in free if any((venue, start) in reach for _, venue, start in t.holds)]
        self.random.shuffle(near)
        return near[:2]

    def _new(self, tours: Sequence[Tour]) -> Chosen | None:
        crews = list(self.facts.round.crews)
        self.random.shuffle(crews)
        taken = together([tour.taken for tour in tours])
        for crew in crews[:4]:
            trips = self._trips_between(crew.code, tours, [])[:2]
            if trips:
                liked = frozenset[Visit]().union(*(visits for _, _, visits in trips))
                frame = self.of_trips([(code, trip) for code, trip, _ in trips], taken, liked)
                return Chosen("new", (), frame)
        return None

    # frames -----------------------------------------------------------------------------------------------------

    def of_trips(self, trips: Sequence[tuple[str, Trip]], taken: Taken, liked: frozenset[Visit] = frozenset()) -> Frame:
        """Return the frame of some trips: sessions may be left out; who is liked may come, and a few more."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        holds: set[Hold] = set()
        for crew, trip in trips:
            self._add(crew, trip, moves, holds)
        here = {(venue, start) for _, venue, start in holds}
        wanted = frozenset(visit for visit in liked if visit[1:] in here)
        if wanted:  # a session that the skeleton has nobody for only makes the piece larger
            met = {visit[1:] for visit in wanted}
            holds = {hold for hold in holds if hold[1:] in met}
        return self._frame(moves, holds, wanted, taken)

    def of_tours(self, tours: Sequence[Tour], rest: Sequence[Tour], free: frozenset[date], *, variants: bool) -> Frame:
        """Return the frame in which tours are free: people anew, and with ``variants`` other trips in their place."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        holds: set[Hold] = set()
        liked: frozenset[Visit] = frozenset()
        for tour in tours:
            for key, found in tour.moves().items():
                moves[key] |= found
            holds |= tour.holds
        for key, drives in list(moves.items()):
            moves[key] |= self._idle(key, drives)
        if variants:
            for crew in sorted({crew for tour in tours for crew in tour.crews}):
                for code, trip, served in self._trips_between(crew, rest, tours):
                    if len(holds) < self._scaled(SESSIONS):
                        self._add(code, trip, moves, holds)
                        liked |= served
        visits = liked.union(*(tour.visits for tour in tours))
        guests = frozenset().union(*(tour.guests for tour in tours))
        return self._frame(moves, holds, visits, together([t.taken for t in rest]), guests, free)

    def as_it_is(self, tour: Tour) -> Frame:
        """Return the frame of a tour whose sessions and visits stay, for other people, guests, times and ways."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        for key, found in tour.moves().items():
            moves[key] |= found | self._idle(key, found)
        guests = tour.guests | self.framing.lenders(tour.visits, LENDERS)
        fixed = {key: frozenset(drives) for key, drives in moves.items()}
        return Frame(tour.visits, guests, tour.holds, fixed, self.framing.trainers)

    def _add(self, crew: str, trip: Trip, moves: dict[tuple[str, date], set[Move]], holds: set[Hold]) -> None:
        more, held = self.framing.moves(crew, trip)
        for key, found in more.items():
            moves[key] |= found | self._idle(key, found)
        holds |= held

    def _idle(self, key: tuple[str, date], moves: Iterable[Move]) -> set[Move]:
        """Return the drives of a date without its session: straight on, or to where it slept."""
        sleeping = set(self.shape.terrain.sleeping)
        starts = {start for start, _ in moves if start in sleeping}
        ends = {end for _, end in moves if end in sleeping}
        return {(start, end) for start in starts for end in ends}

    def _frame(
        self, moves: dict[tuple[str, date], set[Move]], holds: set[Hold], visits: frozenset[Visit], taken: Taken,
        guests: frozenset[Visit] = frozenset(), free: frozenset[date] = frozenset(),
    ) -> Frame:  # fmt: skip
        holds = {h for h in holds if not any((h[1], day) in taken.sessions for day in self.facts.session_dates(h[2]))}
        total = self.shape.demand.total
        lacking = {code for code, most in total.items() if most > taken.teams.get(code, 0)}
        visits = frozenset(v for v in visits if v[0] in lacking)
        visits |= self._offered(visits, {hold for hold in holds if not free or hold[2] in free}, lacking)
        guests = guests | self.framing.lenders(visits, LENDERS)
        fixed = {key: frozenset(found) for key, found in moves.items()}
        return Frame(visits, guests, frozenset(holds), fixed, self.framing.trainers)

    def _offered(self, known: frozenset[Visit], holds: set[Hold], lacking: set[str]) -> frozenset[Visit]:
        """Return a few visits more to each session, of facilities that matter more often than of others."""
        by_session: dict[tuple[str, date], list[Visit]] = defaultdict(list)
        for visit in sorted(self.framing.open_to(holds)):
            if visit[0] in lacking and visit not in known:
                by_session[visit[1:]].append(visit)
        found: set[Visit] = set()
        sessions = list(by_session.values())
        self.random.shuffle(sessions)
        for visits in sessions:
            if len(found) >= self._scaled(VISITS) - min(len(known), self._scaled(VISITS) // 2):
                break
            order = sorted(visits, key=lambda v: (self.random.random() ** (1 / self._weight[v[0]]), v), reverse=True)
            found.update(order[: self._scaled(OFFERS)])
        return frozenset(found)

    def _trips_between(
        self, crew: str, rest: Sequence[Tour], about: Sequence[Tour]
    ) -> list[tuple[str, Trip, frozenset[Visit]]]:
        """Return trips between the dates that a crew is out on other tours, for those who lack teams then."""
        taken = together([tour.taken for tour in rest])
        kind = next(k for k, entry in enumerate(self.shape.terrain.kinds) if any(c.code == crew for c in entry.crews))
        position = {day: index for index, day in enumerate(self.facts.dates)}
        busy = frozenset(position[d.date] for tour in rest for d in tour.outline.crew_days if d.crew == crew)
        near = tuple(sorted({position[d.date] for tour in about for d in tour.outline.crew_days}))
        residual = Residual(self.shape, taken.teams, taken.sessions)
        trips = residual.trips(kind, busy, near, self.random, self._scaled(VARIANTS))
        return [(crew, trip, visits) for trip, visits in trips]

    # clashes ----------------------------------------------------------------------------------------------------

    def clash(self, a: Taken, b: Taken) -> bool:
        """Whether two pieces planned side by side could break a rule together."""
        if a.seated & b.seated or a.sessions & b.sessions:
            return True
        places = {code for code, _ in a.touched} | set(a.teams)
        others = {code for code, _ in b.touched} | set(b.teams)
        refers = self.facts.round.facility
        both = places | {site for code in places if (site := refers(code).refers_to)}
        if both & others or places & {site for code in others if (site := refers(code).refers_to)}:
            return True
        if any(abs(x - y) <= APART for t, x in a.aboard for u, y in b.aboard if t == u):
            return True
        return any(key in b.beds for key in a.beds)
