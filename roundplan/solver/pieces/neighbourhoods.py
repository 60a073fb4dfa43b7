"""What to plan anew: tours chosen by what has helped before, and the frames in which they are free."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from roundplan.solver.facts import ONE_DAY
from roundplan.solver.frame import Frame, Move
from roundplan.solver.parts import Visit
from roundplan.solver.pieces.framing import Framing, Hold
from roundplan.solver.pieces.outing import Outing
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
GROW, SHRINK = 1.1, 0.85
"""Neighbourhoods grow when one was searched through in vain, and shrink when one took too long in vain."""
LEAST, MOST = 0.5, 5.0
"""How small and how large they get, in terms of the figures above."""
TRIES = 6
"""Draws for each neighbourhood that is wanted."""
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

    Facilities in ``reserved`` are drawn on by a piece planned at the same time, and offered to no other.

    Kinds: ``people`` (one tour, its drives as they are), ``trip`` (one tour, other trips in its place), ``several``
    (tours near each other in time), ``missing`` (tours that a facility without all its teams could visit), ``new``
    (a crew that is idle for some dates).
    """

    def __init__(self, shape: Shape, framing: Framing, source: random.Random) -> None:
        self.shape, self.framing, self.facts, self.random = shape, framing, shape.facts, source
        self.merit = {"people": 1.0, "trip": 2.0, "several": 2.0, "missing": 2.0, "new": 2.0}
        self.scale = 1.0
        self.outings: list[Outing] = []
        self.reserved: frozenset[str] = frozenset()
        self._focus: str | None = None
        self._version = -1
        self._tried: set[object] = set()
        self._weight = {f.code: self.facts.round.weight(f) for f in self.facts.round.facilities}

    # choosing ---------------------------------------------------------------------------------------------------

    def choose(self, tours: Sequence[Tour], count: int, version: int) -> list[Chosen]:
        """Return neighbourhoods to try side by side, of tours that do not overlap, rather such as can hardly clash.

        Parameters
        ----------
        version : int
            Number of the plan: what was tried on the same plan is not tried again.

        Returns
        -------
        list of Chosen
            None if the largest neighbourhoods have nothing new.
        """
        if version != self._version:
            self._version, self._tried = version, set()
        while not (found := self._draw(tours, count)) and self.scale < MOST:
            self.scale = min(MOST, GROW * self.scale)
        return found

    def _draw(self, tours: Sequence[Tour], count: int) -> list[Chosen]:
        found: list[Chosen] = []
        near: list[Chosen] = []
        for _ in range(TRIES * count):
            if len(found) == count:
                break
            kind = self.random.choices(list(self.merit), list(self.merit.values()))[0]
            busy = {id(tour) for entry in found for tour in entry.tours}
            self.reserved = frozenset(visit[0] for entry in found for visit in entry.frame.visits)
            chosen = self._one(kind, [t for t in tours if id(t) not in busy], tours)
            if chosen is not None and self._fresh(chosen):
                (found if all(self._apart(chosen, other) for other in found) else near).append(chosen)
        self.reserved = frozenset()
        for entry in near:
            mine = {id(tour) for tour in entry.tours}
            if len(found) < count and all(mine.isdisjoint(id(tour) for tour in other.tours) for other in found):
                found.append(entry)
        return found

    def _fresh(self, chosen: Chosen) -> bool:
        """Note a neighbourhood; tells whether it is new for this plan."""
        frame = chosen.frame
        drives = frozenset((key, moves) for key, moves in frame.moves.items())
        key = (frozenset(id(tour) for tour in chosen.tours), frame.visits, frame.holds, drives, chosen.free)
        new = key not in self._tried
        self._tried.add(key)
        return new

    def _apart(self, one: Chosen, other: Chosen) -> bool:
        """Whether the dates of two neighbourhoods are far from each other."""
        mine, others = (sorted(day for _, day in entry.frame.moves) for entry in (one, other))
        return not mine or not others or mine[0] - others[-1] > APART or others[0] - mine[-1] > APART

    def learn(self, chosen: Sequence[Chosen], helped: Collection[int], unfinished: Collection[int]) -> None:
        """Remember what has helped.

        Parameters
        ----------
        helped, unfinished : collection of int
            Positions of what led to a better plan, and of what was not searched through in its time.
        """
        for number, entry in enumerate(chosen):
            better = number in helped
            self.merit[entry.kind] = max(0.3, 0.9 * self.merit[entry.kind] + (0.6 if better else 0.0))
            if not better:
                factor = SHRINK if number in unfinished else GROW
                self.scale = min(MOST, max(LEAST, factor * self.scale))

    def _one(self, kind: str, free: list[Tour], tours: Sequence[Tour]) -> Chosen | None:
        if kind == "new":
            return self._new(tours)
        if not free:
            return None
        picked, self._focus = [self.random.choice(free)], None
        if kind == "missing":
            picked = self._missing(free, tours)
        elif kind == "several":
            middle = picked[0].span[0]
            others = sorted((t for t in free if t is not picked[0]), key=lambda t: abs(t.span[0] - middle))
            more = self._scaled(1)
            picked += self.random.sample(others[: 3 * more], min(more, len(others)))
        if not picked:
            return None
        rest = [t for t in tours if all(t is not p for p in picked)]
        variants = kind in ("trip", "several", "missing")
        free_dates = self.window(picked)
        return Chosen(kind, tuple(picked), self.of_tours(picked, rest, free_dates, variants=variants), free_dates)

    def _scaled(self, figure: int) -> int:
        return max(1, round(figure * self.scale))

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
        code = self._focus = self.random.choice(wanting)
        reach = {self.shape.demand.key(i)[1:] for i in self.shape.demand.by_facility[code]}
        near = [t for t in free if any((venue, start) in reach for _, venue, start in t.holds)]
        self.random.shuffle(near)
        return near[: 1 + self._scaled(1)]

    def _new(self, tours: Sequence[Tour]) -> Chosen | None:
        self._focus = None
        return next(iter(self.idle(tours, 1)), None)

    def idle(self, tours: Sequence[Tour], count: int) -> list[Chosen]:
        """Return new trips for facilities that lack teams, each by a crew of its own that is idle then."""
        crews = list(self.facts.round.crews)
        self.random.shuffle(crews)
        taken = together([tour.taken for tour in tours])
        found: list[Chosen] = []
        for crew in crews[: 3 + count]:
            trips = self._trips_between(crew.code, tours, [])[:2] if len(found) < count else []
            if trips:
                liked = frozenset[Visit]().union(*(visits for _, _, visits in trips))
                frame = self.of_trips([(code, trip) for code, trip, _ in trips], taken, liked)
                found.append(Chosen("new", (), frame))
        return found

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
            liked |= self._as_chosen(tours, rest, moves, holds)
            for crew in sorted({crew for tour in tours for crew in tour.crews}):
                for code, trip, served in self._trips_between(crew, rest, tours):
                    if len(holds) < self._scaled(SESSIONS):
                        self._add(code, trip, moves, holds)
                        liked |= served
        visits = liked.union(*(tour.visits for tour in tours))
        guests = frozenset().union(*(tour.guests for tour in tours))
        return self._frame(moves, holds, visits, together([t.taken for t in rest]), guests, free)

    def _as_chosen(
        self, tours: Sequence[Tour], rest: Sequence[Tour], moves: dict[tuple[str, date], set[Move]], holds: set[Hold]
    ) -> frozenset[Visit]:
        """Add the skeleton's own trips near tours, of crews that are free then; returns whom it sends there."""
        out = frozenset[tuple[str, date]]().union(*(tour.taken.out for tour in rest))
        first, last = min(t.span[0] for t in tours) - APART, max(t.span[1] for t in tours) + APART
        dates = self.facts.dates
        found: set[Visit] = set()
        for outing in self.outings:
            trip = outing.trip
            near = first <= dates[trip.first] and dates[trip.last] <= last
            near = near and all((outing.crew, day) not in out for day in dates[trip.first : trip.last + 1])
            if near and len(holds) < self._scaled(SESSIONS):
                self._add(outing.crew, outing.trip, moves, holds)
                found |= outing.liked
        return frozenset(found)

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
        holds = {h for h in holds if not self._in_use(h, taken)}
        total = self.shape.demand.total
        lacking = {code for code, most in total.items() if most > taken.teams.get(code, 0)}
        visits = frozenset(v for v in visits if v[0] in lacking)
        open_to = lacking - self.reserved
        loose = {hold for hold in holds if not free or hold[2] in free}
        visits |= frozenset(v for v in self.framing.open_to(loose) if v[0] == self._focus and v[0] in open_to)
        visits |= self._offered(visits, loose, open_to)
        lenders = self.framing.lenders(visits, self._scaled(LENDERS))
        guests = guests | frozenset(v for v in lenders if v in visits or v[0] not in self.reserved)
        fixed = {key: frozenset(found) for key, found in moves.items() if key not in taken.out}
        return Frame(visits, guests, frozenset(holds), fixed, self.framing.trainers)

    def _in_use(self, hold: Hold, taken: Taken) -> bool:
        """Whether the rest of the plan has the venue, or the crew, on a date of a session."""
        crew, venue, start = hold
        return any(
            (venue, day) in taken.sessions or (crew, day) in taken.out for day in self.facts.session_dates(start)
        )

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
