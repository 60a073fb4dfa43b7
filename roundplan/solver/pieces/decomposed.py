"""The search of a large round: a skeleton of trips, then people tour by tour, then one neighbourhood after another."""

from __future__ import annotations

import pickle
import random
from collections.abc import Callable, Mapping

from roundplan.domain.decision import Do
from roundplan.domain.means import Means
from roundplan.domain.outcome import TimeRanOut
from roundplan.domain.progress import Progress
from roundplan.domain.role import Include
from roundplan.domain.rules import AIMS, Aim, AimDefinition, Rule
from roundplan.solver.facts import Facts
from roundplan.solver.interrupts import interrupts_noted
from roundplan.solver.parts import Visit
from roundplan.solver.pieces.framing import Framing
from roundplan.solver.pieces.neighbourhoods import Chosen, Neighbourhoods
from roundplan.solver.pieces.piece import Piece, Planned, task_of
from roundplan.solver.pieces.pieced import Merged, Pieced, coverage_of, earlier_half
from roundplan.solver.pieces.residual import Residual
from roundplan.solver.pieces.tours import Tour
from roundplan.solver.skeleton.pricing import Trip
from roundplan.solver.skeleton.shape import Shape
from roundplan.solver.solving import Clock, Limits, solve
from roundplan.solver.taken import Taken, together
from roundplan.solver.tiers import COVERAGE, Model, Report, hold, relaxation, tier_of
from roundplan.tasks import Pool, Store, fingerprint, open_pool, share

FIRST_SECONDS, STEP_SECONDS, LATER_SECONDS = 8.0, 8.0, 5.0
"""Most seconds of a piece: when a tour is first peopled, in a neighbourhood, in a later tier."""
FIRST_WORK, STEP_WORK, LATER_WORK = 2.0, 3.0, 2.5
"""The same as deterministic work, in reproducible mode."""
BATCH = 2
"""Neighbourhoods tried side by side, whatever the number of processes, so that the plan does not hang on it."""
SHAPE_SHARE, COVERAGE_SHARE, PROOF_SHARE = 0.25, 0.65, 0.85
"""Share of the time after which the shape, coverage, and the bounds of coverage are taken as they are."""
RELAX_SHARE = 0.25
"""Share of the time that a bound from the relaxed model may take."""
MODEST = 1500
"""Visits up to which coverage bounds are also looked for on the relaxed model with people by name."""


class DecomposedSearch:
    """Plans a large round in pieces.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    limits : Limits
        Time, seed and workers.
    means : Means
        Processes or cluster, and where finished pieces are kept.
    report : callable, optional
        Told of progress.
    accept : callable, optional
        Given the first plan as soon as there is one.
    give_way : float, optional
        Share of the time after which it stops if coverage is not proven best by then (``gave_way``), for another
        search to try; :meth:`finish` then ends the work.
    """

    def __init__(
        self,
        facts: Facts,
        limits: Limits,
        means: Means,
        report: Report | None = None,
        accept: Callable[[Pieced], None] | None = None,
        give_way: float | None = None,
    ) -> None:
        self.give_way, self.gave_way = give_way, False
        self.facts, self.limits, self.means = facts, limits, means
        self.report, self.accept = report, accept
        self.clock = Clock(limits)
        self.random = random.Random(limits.seed)
        self.found = Pieced(facts)
        self.bounds: dict[Aim, int | None] = {}
        self.pieces = 0
        self.relaxed: Model | None = None

    def run(self) -> Pieced:
        """Plan the round.

        Raises
        ------
        KeyboardInterrupt
            If interrupted before there was any plan.
        TimeRanOut
            If nothing found keeps the locks and the districts' least teams, unless another search is to try.
        """
        with interrupts_noted(self.clock.interrupt), self._pool() as pool:
            self.pool = pool
            self._search()
            self.gave_way = self.give_way is not None and not self._complete()
            if not self.gave_way or self.clock.interrupted:
                self._close_tiers()
        if self.clock.interrupted and not self.found.tours:
            raise KeyboardInterrupt
        if self.give_way is None and not self._kept():
            raise TimeRanOut(self.limits.seconds)
        self.found.stopped = self.clock.interrupted
        return self.found

    def lawful(self) -> bool:
        """Whether there is a plan, and it keeps what pieces alone cannot: locks, and districts' least teams."""
        return bool(self.found.tours) and self._kept()

    def _kept(self) -> bool:
        taken, round_ = self.found.taken(), self.facts.round
        kept = {number for number, lock in enumerate(round_.locks) if lock.do is Do.KEEP}
        least = self.facts.settings.aims.floor_per_district
        districts = dict.fromkeys((f.district for f in round_.facilities), 0)
        for facility in round_.facilities:
            districts[facility.district] += taken.teams.get(facility.code, 0)
        locked = kept <= taken.locks or not self.facts.on(Rule.LOCKS)
        return locked and min(districts.values(), default=0) >= least

    def _pool(self) -> Pool:
        processes = self.limits.workers if self.means.processes is None else self.means.processes
        store = Store(self.means.store) if self.means.store is not None else None
        round_, off = self.facts.round, self.facts.off
        self.shared = share(pickle.dumps((round_, off)), fingerprint((round_, tuple(sorted(off)))))
        return open_pool(processes=processes, cluster=self.means.cluster, store=store)

    def _search(self) -> None:
        self.shape = Shape(self.facts, lambda: self._used() > SHAPE_SHARE)
        self.framing = Framing(self.shape.terrain, self.shape.demand)
        self.neighbourhoods = Neighbourhoods(self.shape, self.framing, self.random)
        self._bound_coverage()
        self._first_plan()
        if self.accept is not None and self.lawful():
            self.accept(self.found)
        self._improve()

    def adopt(self, bounds: Mapping[Aim, int | None]) -> None:
        """Take over bounds of coverage tiers that another search has proven for plans no worse in the tiers before."""
        values = coverage_of(self.facts, self.found.taken())
        for aim, bound in bounds.items():
            if bound is not None and aim in self.bounds and bound >= values[aim]:
                self.bounds[aim] = min(bound, self.bounds[aim] or bound)

    def finish(self) -> None:
        """Close the tiers after all, where the search has given way to another one."""
        with self._pool() as pool:
            self.pool = pool
            self._close_tiers()

    def _close_tiers(self) -> None:
        self._coverage_tiers()
        self._later_tiers()

    # time -------------------------------------------------------------------------------------------------------

    def _used(self) -> float:
        """Return the share of the time, or of the work, that is used up; 1 once interrupted."""
        if self.clock.interrupted:
            return 1.0
        whole = self.limits.work if self.limits.reproducible else self.limits.seconds
        return 1 - self.clock.left() / max(whole, 1e-9)

    def _stopped(self) -> bool:
        return self.clock.interrupted or (not self.limits.reproducible and self.clock.left() <= 0)

    # shape and bounds -------------------------------------------------------------------------------------------

    def _bound(self, aim: Aim, reached: int | None) -> int:
        """Return a coverage tier's bound, given the earlier ones."""
        whole = self.limits.reproducible
        stop = self._stopped if whole else lambda: self._used() > (SHAPE_SHARE if reached is None else 0.95)
        closing = self.shape.close(aim, reached, stop)
        self.clock.spent += 0.5 * whole  # linear programmes have no meter of their own
        return closing.bound

    def _bound_coverage(self) -> None:
        first = self._bound(Aim.FIRST_TEAMS, None)
        self.bounds[Aim.FIRST_TEAMS] = first
        self.shape.hold(Aim.FIRST_TEAMS, first)
        self.bounds[Aim.FURTHER_TEAMS] = self._bound(Aim.FURTHER_TEAMS, None)
        self.tell(Aim.FIRST_TEAMS, None, first, "shape of the round")

    def _first_plan(self) -> None:
        """People the trips of the skeleton, the most valuable first, each with what the others have left."""
        left = self.clock.left()
        work = FIRST_WORK * 2 if self.limits.reproducible else None
        self._short_trips()
        skeleton = self.shape.choose(min(6.0, 0.1 * left), self.limits.seed, work, lambda: self.clock.interrupted)
        self.clock.spent += work or 0.0
        if skeleton is None:
            return
        given = self.framing.crews(skeleton.trips)
        liked = self.framing.visits_of(skeleton)
        weight = {code: self.facts.round.facility(code).priority for code in self.shape.demand.total}
        worth = []
        for crew, trip in given:
            here = {(venue, start) for _, venue, start in self.framing.moves(crew, trip)[1]}
            mine = frozenset(visit for visit in liked if visit[1:] in here)
            worth.append((sum(weight[visit[0]] for visit in mine), crew, trip, mine))
        queue = [entry[1:] for entry in sorted(worth, key=lambda entry: (-entry[0], entry[2].first, entry[1]))]
        while queue and not self._stopped():
            batch, queue = queue[:BATCH], queue[BATCH:]
            pieces = [self._peopling(*entry) for entry in batch]
            merged = self._merge(pieces, [() for _ in pieces])
            fewer = [(*batch[i][:2], half) for i in merged.nothing if (half := earlier_half(batch[i][2]))]
            queue = [batch[i] for i in merged.clashing] + queue + fewer
            self.tell(Aim.FIRST_TEAMS, None, None, "better plan")

    def _short_trips(self) -> None:
        """Add trips of a week: long ones are hard to staff, since trainers' nights are counted roughly."""
        residual = Residual(self.shape, {}, ())
        for _ in range(2):
            for kind in range(len(self.shape.terrain.kinds)):
                if self._used() < SHAPE_SHARE:
                    self.shape.master.add_trips(residual.week_by_week(kind, self.random))

    def _peopling(self, crew: str, trip: Trip, liked: frozenset[Visit]) -> Piece:
        frame = self.neighbourhoods.of_trips([(crew, trip)], self.found.taken(), liked)
        work = FIRST_WORK if self.limits.reproducible else 0.0
        return Piece(frame, self.found.taken(), liked=liked, seed=self._seed(), seconds=FIRST_SECONDS, work=work)

    def _seed(self) -> int:
        self.pieces += 1
        return self.limits.seed * 1000 + self.pieces

    # pieces -----------------------------------------------------------------------------------------------------

    def _run(self, pieces: list[Piece]) -> list[Planned | None]:
        tasks = [task_of(piece, self.shared) for piece in pieces]
        results = self.pool.run(tasks, self._stopped)
        planned = [None if result is None else pickle.loads(result) for result in results]
        self.clock.spent += sum(p.work for p in planned if p is not None) if self.limits.reproducible else 0.0
        return planned

    def _merge(self, pieces: list[Piece], freed: list[tuple[Tour, ...]]) -> Merged:
        """Run pieces side by side and take them over in order, as long as they do not clash with one before."""
        merged = Merged([], [], [])
        changed: list[Taken] = []
        for number, (piece, planned, old) in enumerate(zip(pieces, self._run(pieces), freed, strict=True)):
            if planned is None or not planned.tours:
                if planned is not None and not planned.proven:
                    merged.nothing.append(number)
                continue
            fresh = together(tour.taken for tour in planned.tours)
            if any(self.neighbourhoods.clash(fresh, other) for other in changed):
                merged.clashing.append(number)
                continue
            if not self._better(piece, planned, old):
                continue
            gone = {id(tour) for tour in old}
            self.found.tours = [t for t in self.found.tours if id(t) not in gone] + list(planned.tours)
            changed += [fresh, together(tour.taken for tour in old)]
            merged.planned.append(planned)
        return merged

    def _better(self, piece: Piece, planned: Planned, old: tuple[Tour, ...]) -> bool:
        if not old:
            return True
        if piece.aim is not None:
            return True  # limits and hint keep it from falling behind
        before = self._figure(together([piece.taken, *(tour.taken for tour in old)]))
        after = self._figure(together([piece.taken, *(tour.taken for tour in planned.tours or ())]))
        return after >= before

    def _figure(self, taken: Taken) -> tuple[int, ...]:
        """Return what counts in order: locks kept, then coverage."""
        values = coverage_of(self.facts, taken)
        return (len(taken.locks), *(values[aim] for aim in COVERAGE))

    # improvement ------------------------------------------------------------------------------------------------

    def _improve(self) -> None:
        """Plan neighbourhoods anew until coverage meets its bounds or its share of the time is used up."""
        until = COVERAGE_SHARE if self.give_way is None else self.give_way
        while self._used() < until and not self._complete():
            before = self._figure(self.found.taken())
            chosen = self.neighbourhoods.choose(self.found.tours, BATCH)
            if not chosen:
                return
            pieces = [self._freed(entry) for entry in chosen]
            self._merge(pieces, [c.tours for c in chosen])
            after = self._figure(self.found.taken())
            self.neighbourhoods.learn(chosen, after > before)
            if after > before:
                values = coverage_of(self.facts, self.found.taken())
                self.tell(Aim.FIRST_TEAMS, values[Aim.FIRST_TEAMS], self.bounds.get(Aim.FIRST_TEAMS), "better plan")

    def _freed(self, chosen: Chosen) -> Piece:
        hint: dict[str, int] = {}
        for tour in chosen.tours:
            hint |= tour.names
        return Piece(
            chosen.frame,
            self.found.taken(chosen.tours),
            free=chosen.free,
            hint=hint,
            seed=self._seed(),
            seconds=round(STEP_SECONDS * self.neighbourhoods.scale, 1),
            work=STEP_WORK * self.neighbourhoods.scale if self.limits.reproducible else 0.0,
        )

    def _complete(self) -> bool:
        values = coverage_of(self.facts, self.found.taken())
        must = sum(person.include is Include.MUST for person in self.facts.round.people)
        return (
            values[Aim.FIRST_TEAMS] == self.bounds[Aim.FIRST_TEAMS]
            and values[Aim.FURTHER_TEAMS] == self.bounds[Aim.FURTHER_TEAMS]
            and values[Aim.MUST_PEOPLE] == must
        )

    # tiers ------------------------------------------------------------------------------------------------------

    def _coverage_tiers(self) -> None:
        for definition in AIMS[:3]:
            aim = definition.aim
            value = coverage_of(self.facts, self.found.taken())[aim]
            if aim is Aim.MUST_PEOPLE:
                self._close(definition, value, None)
                continue
            first = self.found.tiers[0].value if self.found.tiers else value
            if aim is Aim.FURTHER_TEAMS and first != self.bounds[Aim.FIRST_TEAMS]:
                self.shape.hold(Aim.FIRST_TEAMS, first)
                self.bounds[aim] = self._bound(aim, value)
            bound = self._proven(definition, value)
            self._close(definition, coverage_of(self.facts, self.found.taken())[aim], bound)

    def _proven(self, definition: AimDefinition, value: int) -> int | None:
        """Return a coverage tier's bound, from the relaxed model too where that is of modest size."""
        bound = self.bounds[definition.aim]
        if bound is None or bound <= value or len(self.facts.modes) > MODEST or self._stopped():
            return bound
        if self.relaxed is None:
            self.relaxed = relaxation(self.facts)
            for tier in self.found.tiers:
                hold(self.relaxed, next(d for d in AIMS if d.aim is tier.aim), tier.value)
        if len(self.found.tiers) > 1:
            hold(self.relaxed, AIMS[1], self.found.tiers[1].value)
        expression = self.relaxed.aims[definition.aim]
        whole = self.limits.work if self.limits.reproducible else self.limits.seconds
        allowed = min(max(PROOF_SHARE - self._used(), 0.0), RELAX_SHARE) * whole
        answer = solve(self.relaxed.choices.model, expression, True, self.clock, allowed, workers=1)
        bound = bound if answer.bound is None else min(bound, answer.bound)
        return bound

    def _later_tiers(self) -> None:
        """Improve realism, burden and cost tour by tour; each keeps its teams and what it reached before."""
        reached: dict[int, dict[Aim, int]] = {}
        begun = 0.0
        for position, definition in enumerate(AIMS[3:]):
            begun = self._used() if position == 0 else begun
            until = begun + (1 - begun) * (position + 1) / 3
            earlier = {d.aim for d in AIMS[3 : 3 + position]}
            while self._used() < until and self._tidy_all(definition, until, earlier, reached):
                pass
            self.tell(definition.aim, None, None, "tier done")

    def _tidy_all(
        self, definition: AimDefinition, until: float, earlier: set[Aim], reached: dict[int, dict[Aim, int]]
    ) -> bool:
        """Improve one tier of each tour once; returns whether that was worth doing again."""
        queue = sorted(self.found.tours, key=lambda tour: (tour.span, sorted(tour.crews)))
        again = False
        while queue and self._used() < until:
            batch, queue = queue[:BATCH], queue[BATCH:]
            before = [{a: v for a, v in reached.get(id(tour), {}).items() if a in earlier} for tour in batch]
            pieces = [self._tidying(definition, *entry) for entry in zip(batch, before, strict=True)]
            old = [reached.get(id(tour), {}).get(definition.aim) for tour in batch]
            for planned in self._merge(pieces, [(tour,) for tour in batch]).planned:
                value = planned.measures.get(definition.aim)
                again = again or value not in old
                for tour in planned.tours or ():
                    if len(planned.tours or ()) == 1:
                        reached[id(tour)] = planned.measures
        return again

    def _tidying(self, definition: AimDefinition, tour: Tour, earlier: dict[Aim, int]) -> Piece:
        """Return the piece that improves one tier of a tour."""
        must = {p.code for p in self.facts.round.people if p.include is Include.MUST}
        return Piece(
            self.neighbourhoods.as_it_is(tour),
            self.found.taken([tour]),
            aim=definition.aim,
            limits=earlier | {Aim.MUST_PEOPLE: len(must & tour.taken.seated)},
            teams=tour.taken.teams,
            locks=tour.taken.locks,
            free=self.neighbourhoods.window([tour]),
            hint=tour.names,
            seed=self._seed(),
            seconds=LATER_SECONDS,
            work=LATER_WORK if self.limits.reproducible else 0.0,
        )

    # progress ---------------------------------------------------------------------------------------------------

    def _close(self, definition: AimDefinition, value: int, bound: int | None) -> None:
        self.found.tiers.append(tier_of(definition.aim, value, bound))
        self.tell(definition.aim, value, bound, "tier done")

    def tell(self, aim: Aim, value: int | None, bound: int | None, note: str) -> None:
        """Report progress, if anybody listens."""
        if self.report is not None:
            self.report(Progress(self.clock.elapsed(), aim.value, value, bound, note))
