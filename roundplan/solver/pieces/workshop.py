"""Where pieces are planned side by side and taken over into the plan."""

from __future__ import annotations

import pickle
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from roundplan.domain.means import Means
from roundplan.solver.facts import Facts
from roundplan.solver.pieces.clashes import Clashes
from roundplan.solver.pieces.piece import PREPARE, Piece, Planned, task_of
from roundplan.solver.pieces.pieced import Pieced, coverage_of
from roundplan.solver.pieces.tours import Tour
from roundplan.solver.solving import Clock, Limits
from roundplan.solver.taken import Taken, together
from roundplan.solver.tiers import COVERAGE
from roundplan.tasks import Pool, Store, Task, fingerprint, open_pool, share

BATCH = 2
"""Pieces planned side by side, whatever the number of processes, so that the plan does not hang on it."""
CHARGE = 0.1
"""Work that a piece counts for at least, in reproducible mode: a tiny one is not free."""


@dataclass(slots=True)
class Merged:
    """What became of pieces planned side by side, by position.

    Attributes
    ----------
    planned : dict of int to Planned
        Those taken over.
    clashing : list of int
        Those that clashed with one taken over.
    nothing : list of int
        Those without any team, not proven to have none.
    open : list of int
        Those in which something better may be left.
    """

    planned: dict[int, Planned] = field(default_factory=dict)
    clashing: list[int] = field(default_factory=list)
    nothing: list[int] = field(default_factory=list)
    open: list[int] = field(default_factory=list)


class Workshop:
    """Plans pieces as tasks and keeps the plan that they make.

    Attributes
    ----------
    found : Pieced
        The plan so far.
    version : int
        Grows with every change of the plan.
    """

    def __init__(self, facts: Facts, limits: Limits, means: Means) -> None:
        self.facts, self.limits, self.means = facts, limits, means
        self.clock = Clock(limits)
        self.found = Pieced(facts)
        self.version = 0
        self.clashes: Clashes | None = None
        self._seeds = 0

    def pool(self) -> Pool:
        """Return the pool that pieces are planned in; to be entered before any is."""
        processes = self.limits.workers if self.means.processes is None else self.means.processes
        store = Store(self.means.store) if self.means.store is not None else None
        round_, off = self.facts.round, self.facts.off
        self._shared = share(pickle.dumps((round_, off)), fingerprint((round_, tuple(sorted(off)))))
        prepare = Task(PREPARE, b"", self._shared)
        self._pool = open_pool(processes=processes, cluster=self.means.cluster, store=store, prepare=prepare)
        return self._pool

    # time -------------------------------------------------------------------------------------------------------

    def used(self) -> float:
        """Return the share of the time, or of the work, that is used up; 1 once interrupted."""
        if self.clock.interrupted:
            return 1.0
        whole = self.limits.work if self.limits.reproducible else self.limits.seconds
        return 1 - self.clock.left() / max(whole, 1e-9)

    def stopped(self) -> bool:
        """Whether to start nothing more."""
        return self.clock.interrupted or (not self.limits.reproducible and self.clock.left() <= 0)

    def charge(self, work: float) -> None:
        """Count work that has no meter of its own, in reproducible mode."""
        self.clock.spent += work * self.limits.reproducible

    # pieces -----------------------------------------------------------------------------------------------------

    def seed(self) -> int:
        """Return the seed of the next piece."""
        self._seeds += 1
        return self.limits.seed * 1000 + self._seeds

    def figure(self, taken: Taken) -> tuple[int, ...]:
        """Return what counts in order: locks kept, then coverage."""
        values = coverage_of(self.facts, taken)
        return (len(taken.locks), *(values[aim] for aim in COVERAGE))

    def merge(self, pieces: Sequence[Piece], freed: Sequence[tuple[Tour, ...]]) -> Merged:
        """Plan pieces side by side; take over what is no worse than before, the greatest gain first.

        Parameters
        ----------
        freed : sequence of tuple of Tour
            By piece, the tours that it plans anew.
        """
        merged = Merged()
        results = self._plan(pieces)
        gains: dict[int, tuple[int, ...]] = {}
        for number, (piece, planned, old) in enumerate(zip(pieces, results, freed, strict=True)):
            if planned is None or not planned.proven:
                merged.open.append(number)
            if planned is not None and planned.tours:
                gains[number] = self._gain(piece, planned, old)
            elif planned is not None and not planned.proven:
                merged.nothing.append(number)
        changed: list[Taken] = []
        for number in sorted(gains, key=lambda n: (gains[n], -n), reverse=True):
            planned = results[number]
            if planned is None or (gains[number] < ZERO and pieces[number].aim is None):
                continue
            if self._take_over(planned, freed[number], changed):
                merged.planned[number] = planned
            else:
                merged.clashing.append(number)
        merged.clashing.sort()
        return merged

    def _plan(self, pieces: Sequence[Piece]) -> list[Planned | None]:
        results = self._pool.run([task_of(piece, self._shared) for piece in pieces], self.stopped)
        planned = [None if result is None else pickle.loads(result) for result in results]
        self.charge(sum(max(p.work, CHARGE) for p in planned if p is not None))
        return planned

    def run(self, function: str, arguments: Sequence[object], work: float, until: float = 1.0) -> list[Any]:
        """Run a function as one task an argument; None where it was stopped.

        Parameters
        ----------
        function : str
            Module and name, with a colon between.
        work : float
            Deterministic work that each counts for.
        until : float
            Share of the time after which it stops.
        """

        def stop() -> bool:
            return self.stopped() or (not self.limits.reproducible and self.used() >= until)

        tasks = [Task(function, pickle.dumps(argument), self._shared) for argument in arguments]
        self.charge(work * len(tasks))
        return [None if result is None else pickle.loads(result) for result in self._pool.run(tasks, stop)]

    def _gain(self, piece: Piece, planned: Planned, old: tuple[Tour, ...]) -> tuple[int, ...]:
        """Return by how much a piece is better than what it takes the place of; a later tier has limits of its own."""
        if piece.aim is not None:
            return ZERO
        before = self.figure(together([piece.taken, *(tour.taken for tour in old)]))
        after = self.figure(together([piece.taken, *(tour.taken for tour in planned.tours or ())]))
        return tuple(a - b for a, b in zip(after, before, strict=True))

    def _take_over(self, planned: Planned, old: tuple[Tour, ...], changed: list[Taken]) -> bool:
        """Put planned tours in the place of old ones unless they clash with changes made side by side."""
        assert self.clashes is not None
        fresh = together(tour.taken for tour in planned.tours or ())
        gone = {id(tour) for tour in old}
        rest = [tour for tour in self.found.tours if id(tour) not in gone]
        if any(self.clashes.between(fresh, other) for other in changed):
            return False
        if changed and self.clashes.too_many(together(tour.taken for tour in (*rest, *(planned.tours or ())))):
            return False
        self.found.tours = rest + list(planned.tours or ())
        changed += [fresh, together(tour.taken for tour in old)]
        self.version += 1
        return True


ZERO = (0, 0, 0, 0)
"""No gain, in what counts in order."""
