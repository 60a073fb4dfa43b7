"""The first plan: people for the trips of the skeleton, one trip after another, beside what the others take."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from roundplan.solver.parts import Visit
from roundplan.solver.pieces.neighbourhoods import Chosen, Neighbourhoods
from roundplan.solver.pieces.outing import Outing
from roundplan.solver.pieces.piece import Piece
from roundplan.solver.pieces.pieced import earlier_half
from roundplan.solver.pieces.workshop import BATCH, Workshop
from roundplan.solver.skeleton.selection import Skeleton
from roundplan.solver.taken import Taken, together

SECONDS, WORK = 8.0, 2.0
"""Most seconds of a piece; the same as deterministic work, in reproducible mode."""
FRUITLESS = 2
"""Rounds of new trips in vain after which no more are tried at first."""
APART = 14
"""Dates between trips whose trainers and facilities never meet."""


class Peopling:
    """Finds people for trips, the most valuable first."""

    def __init__(self, workshop: Workshop, neighbourhoods: Neighbourhoods) -> None:
        self.workshop, self.neighbourhoods = workshop, neighbourhoods

    def run(self, skeleton: Skeleton, told: Callable[[], None]) -> None:
        """People the trips of a skeleton; a trip that is too much for one piece loses the later half of its visits."""
        queue = self._outings(skeleton)
        self._teams = {self.neighbourhoods.shape.demand.key(index): number for index, number in skeleton.teams}
        self.neighbourhoods.outings = list(queue)
        while queue and not self.workshop.stopped():
            batch = self._apart(queue)
            queue = [entry for entry in queue if entry not in batch]
            pieces = [self._piece(entry, batch, [e for e in (*batch, *queue) if e is not entry]) for entry in batch]
            merged = self.workshop.merge(pieces, [() for _ in batch])
            fewer = [
                Outing(batch[i].worth, batch[i].crew, batch[i].trip, half)
                for i in merged.nothing
                if (half := earlier_half(batch[i].liked))
            ]
            queue = [batch[i] for i in merged.clashing] + queue + fewer
            told()
        self._fill(told)

    def _fill(self, told: Callable[[], None]) -> None:
        """Send idle crews to facilities that lack teams, until that comes to nothing."""
        workshop, fruitless = self.workshop, 0
        while fruitless < FRUITLESS and not workshop.stopped():
            tours, before = workshop.found.tours, workshop.figure(workshop.found.taken())
            trips = self.neighbourhoods.idle(tours, BATCH)
            pieces = [self._new(chosen) for chosen in trips]
            workshop.merge(pieces, [() for _ in pieces])
            fruitless = 0 if workshop.figure(workshop.found.taken()) > before else fruitless + 1
            told()

    def _outings(self, skeleton: Skeleton) -> list[Outing]:
        framing, round_ = self.neighbourhoods.framing, self.workshop.facts.round
        liked = framing.visits_of(skeleton)
        found = []
        for crew, trip in framing.crews(skeleton.trips):
            here = {(venue, start) for _, venue, start in framing.moves(crew, trip)[1]}
            mine = frozenset(visit for visit in liked if visit[1:] in here)
            found.append(Outing(sum(round_.facility(visit[0]).priority for visit in mine), crew, trip, mine))
        return sorted(found, key=lambda entry: (-entry.worth, entry.trip.first, entry.crew))

    def _apart(self, queue: list[Outing]) -> list[Outing]:
        """Return the next trips, of those that can hardly clash if there are any."""
        batch = queue[:1]
        for tell_apart in (self._other_people, self._other_dates):
            for entry in queue[1:]:
                if len(batch) < BATCH and entry not in batch and all(tell_apart(entry, other) for other in batch):
                    batch.append(entry)
        return batch + [entry for entry in queue if entry not in batch][: BATCH - len(batch)]

    def _other_people(self, one: Outing, other: Outing) -> bool:
        mine, others = ({visit[0] for visit in outing.liked} for outing in (one, other))
        return self._other_dates(one, other) and mine.isdisjoint(others)

    def _other_dates(self, one: Outing, other: Outing) -> bool:
        return one.trip.first > other.trip.last + APART or other.trip.first > one.trip.last + APART

    def _new(self, chosen: Chosen) -> Piece:
        taken, workshop = self.workshop.found.taken(), self.workshop
        work = WORK if workshop.limits.reproducible else 0.0
        return Piece(chosen.frame, taken, seed=workshop.seed(), seconds=SECONDS, work=work)

    def _piece(self, outing: Outing, batch: list[Outing], later: list[Outing]) -> Piece:
        """Return the piece of a trip; facilities whose turn is on a later one count as sent there."""
        taken = self.workshop.found.taken()
        elsewhere: Counter[str] = Counter()
        for visit in frozenset[Visit]().union(*(other.liked for other in later)) - outing.liked:
            elsewhere[visit[0]] += self._teams[visit]
        taken = together([taken, Taken(teams=elsewhere)])
        others = (visit[0] for other in batch if other is not outing for visit in other.liked)
        self.neighbourhoods.reserved = frozenset(others)
        frame = self.neighbourhoods.of_trips([(outing.crew, outing.trip)], taken, outing.liked)
        self.neighbourhoods.reserved = frozenset()
        work = WORK if self.workshop.limits.reproducible else 0.0
        return Piece(frame, taken, liked=outing.liked, seed=self.workshop.seed(), seconds=SECONDS, work=work)
