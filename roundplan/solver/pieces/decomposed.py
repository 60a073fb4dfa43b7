"""The search of a large round: a skeleton of trips, then people tour by tour, then one neighbourhood after another."""

from __future__ import annotations

import random
from collections.abc import Callable
from math import inf

from roundplan.domain.decision import Do
from roundplan.domain.means import Means
from roundplan.domain.outcome import TimeRanOut
from roundplan.domain.progress import Progress
from roundplan.domain.role import Include
from roundplan.domain.rules import AIMS, Aim, AimDefinition, Rule
from roundplan.solver.facts import Facts
from roundplan.solver.interrupts import interrupts_noted
from roundplan.solver.later_bounds.bounding import LaterBounds
from roundplan.solver.pieces.asking import ask
from roundplan.solver.pieces.clashes import Clashes
from roundplan.solver.pieces.framing import Framing
from roundplan.solver.pieces.neighbourhoods import Chosen, Neighbourhoods
from roundplan.solver.pieces.peopling import Peopling
from roundplan.solver.pieces.piece import Piece
from roundplan.solver.pieces.pieced import Pieced, coverage_of
from roundplan.solver.pieces.sharpening import Sharpening
from roundplan.solver.pieces.tidying import Tidying
from roundplan.solver.pieces.workshop import BATCH, Workshop
from roundplan.solver.skeleton.shape import Shape
from roundplan.solver.solving import Limits, solve
from roundplan.solver.tiers import COVERAGE, Model, Report, hold, relaxation, tier_of

STEP_SECONDS, STEP_WORK = 8.0, 3.0
"""Most seconds of a neighbourhood; the same as deterministic work, in reproducible mode."""
ROUGH_SECONDS = 6.0
"""Most seconds for a coverage tier's bound until there is a plan."""
GAP = 0.02
"""Share by which a bound may stay above the programme's value until there is a plan."""
SHAPE_SHARE, ROUGH_SHARE, COVERAGE_SHARE, PROOF_SHARE = 0.15, 0.3, 0.65, 0.85
"""Share of the time after which releases, the first bounds, coverage, and its last bounds are taken as they are."""
LAST_SHARE = 0.95
"""Share of the time after which no bound of coverage is looked for."""
RELAX_SHARE = 0.25
"""Share of the time that a bound from the relaxed model may take."""
MODEST = 1500
"""Visits up to which coverage bounds are also looked for on the relaxed model with people by name."""
PATIENCE = 2
"""Fruitless steps after which it is asked what the facilities that lack teams can send at all."""
ANEW = 6
"""Fruitless steps after which another skeleton is peopled, where that takes no more than the time left."""
QUICK = 0.1
"""Share of the time up to which peopling a skeleton is quickly done."""
GUESTS_COUNT_LESS = (1, 0, 2)
"""By attempt, how many halves of its points a team that needs guests counts less when trips are chosen."""
CHOOSING_SECONDS = 10.0
"""Most seconds for generating the trips of one skeleton."""
LINEAR_WORK, CHOOSING_WORK = 0.5, 0.5
"""Deterministic work that closing a linear programme, and choosing trips, count for."""


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
        Share of the time after which it stops if nothing found by then is lawful, for another search to try.
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
        self.give_way = give_way
        self.facts, self.limits = facts, limits
        self.report, self.accept = report, accept
        self.workshop = Workshop(facts, limits, means)
        self.clock, self.found = self.workshop.clock, self.workshop.found
        self.random = random.Random(limits.seed)
        self.bounds: dict[Aim, int | None] = {}
        self.closed: dict[Aim, bool] = {}
        self.relaxed: Model | None = None
        self._asked: set[object] = set()
        self._attempts, self._first_share = 0, 1.0

    def run(self) -> Pieced:
        """Plan the round.

        Raises
        ------
        KeyboardInterrupt
            If interrupted before there was any plan.
        TimeRanOut
            If nothing found keeps the locks and the districts' least teams, unless another search is to try.
        """
        with interrupts_noted(self.clock.interrupt), self.workshop.pool():
            self._search()
            if self.lawful() or self.give_way is None:
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

    def _search(self) -> None:
        used = self.workshop.used
        self.shape = Shape(self.facts, lambda: used() > SHAPE_SHARE, lambda codes: ask(self.workshop, codes))
        self.workshop.clashes = Clashes(self.facts, self.shape.demand.total)
        self.framing = Framing(self.shape.terrain, self.shape.demand)
        self.neighbourhoods = Neighbourhoods(self.shape, self.framing, self.random)
        self._bound_first()
        self._first_plan()
        if self.accept is not None and self.lawful():
            self.accept(self.found)
        self.bounds[Aim.FURTHER_TEAMS] = self._bound(Aim.FURTHER_TEAMS, None)
        self._improve()

    def _close_tiers(self) -> None:
        self._coverage_tiers()
        Tidying(self.workshop, self.neighbourhoods).run(lambda aim: self.tell(aim, None, None, "tier done"))
        self._later_bounds()

    # shape and bounds -------------------------------------------------------------------------------------------

    def _bound(self, aim: Aim, reached: int | None) -> int:
        """Return a coverage tier's bound, given the earlier ones; before there is a plan a rough one will do."""
        used, clock = self.workshop.used, self.clock
        until, latest = (ROUGH_SHARE, clock.elapsed() + ROUGH_SECONDS) if reached is None else (LAST_SHARE, inf)
        stop = self.workshop.stopped if self.limits.reproducible else lambda: used() > until or clock.elapsed() > latest
        closing = self.shape.close(aim, reached, stop, GAP if reached is None else 0.0)
        self.closed[aim] = closing.closed
        self.workshop.charge(LINEAR_WORK)
        return closing.bound

    def _bound_first(self) -> None:
        firsts = sorted({first for _, _, first in self.facts.modes})
        must = [person for person in self.facts.round.people if person.include is Include.MUST]
        self.bounds[Aim.MUST_PEOPLE] = sum(any(self.facts.can_sit(p, first) for first in firsts) for p in must)
        first = self._bound(Aim.FIRST_TEAMS, None)
        self.bounds[Aim.FIRST_TEAMS] = first
        self.shape.hold(Aim.FIRST_TEAMS, first)
        self.tell(Aim.FIRST_TEAMS, None, first, "shape of the round")

    def _bound_again(self) -> None:
        """Bound coverage anew after the skeleton has become tighter."""
        values = coverage_of(self.facts, self.found.taken())
        first = self._lower(Aim.FIRST_TEAMS, values[Aim.FIRST_TEAMS])
        if first is not None:
            self.shape.hold(Aim.FIRST_TEAMS, first)
        self._lower(Aim.FURTHER_TEAMS, values[Aim.FURTHER_TEAMS])

    def _lower(self, aim: Aim, reached: int) -> int | None:
        """Return a coverage tier's bound, closed again where a plan is below it."""
        bound = self.bounds[aim]
        if bound is not None and bound > reached:
            bound = self.bounds[aim] = min(bound, self._bound(aim, reached))
        return bound

    def _first_plan(self) -> None:
        begun = self.workshop.used()
        self._people_skeleton()
        self._first_share = self.workshop.used() - begun

    def _people_skeleton(self) -> None:
        """Choose trips and people them; each attempt thinks differently of teams that need guests."""
        work = CHOOSING_WORK if self.limits.reproducible else None
        seconds, seed = min(CHOOSING_SECONDS, 0.1 * self.clock.left()), self.limits.seed + self._attempts
        halves, until = GUESTS_COUNT_LESS[self._attempts % len(GUESTS_COUNT_LESS)], self.clock.elapsed() + seconds
        enough = lambda: work is None and self.clock.elapsed() > until  # noqa: E731
        skeleton = self.shape.choose(seconds, seed, work, lambda: self.clock.interrupted, halves, enough)
        self._attempts += 1
        self.workshop.charge(CHOOSING_WORK)
        if skeleton is not None:
            Peopling(self.workshop, self.neighbourhoods).run(skeleton, self._better_plan)

    def _anew(self) -> None:
        """Start from another skeleton; the plan so far stays unless that leads to a better one."""
        before, tours = self.workshop.figure(self.found.taken()), self.found.tours
        self.found.tours = []
        self._people_skeleton()
        if self.workshop.figure(self.found.taken()) < before:
            self.found.tours = tours
        self.workshop.version += 1
        self.neighbourhoods.scale = 1.0

    def _better_plan(self) -> None:
        values = coverage_of(self.facts, self.found.taken())
        self.tell(Aim.FIRST_TEAMS, values[Aim.FIRST_TEAMS], self.bounds.get(Aim.FIRST_TEAMS), "better plan")

    # improvement ------------------------------------------------------------------------------------------------

    def _improve(self) -> None:
        """Plan neighbourhoods anew until coverage meets its bounds, nothing is left to try, or its share is used up."""
        workshop, neighbourhoods = self.workshop, self.neighbourhoods
        sharpening, stale = Sharpening(workshop, self.shape), 0
        while workshop.used() < self._until() and not self._complete():
            before = workshop.figure(self.found.taken())
            chosen = neighbourhoods.choose(self.found.tours, BATCH, workshop.version)
            if not chosen:
                return
            merged = workshop.merge([self._freed(entry) for entry in chosen], [c.tours for c in chosen])
            better = workshop.figure(self.found.taken()) > before
            neighbourhoods.learn(chosen, merged.planned.keys() if better else (), merged.open)
            stale = 0 if better else stale + 1
            if better:
                self._better_plan()
            if stale == PATIENCE and (sharpening.run() or self._nearly()):
                self._bound_again()
            if stale and stale % self._patience == 0 and workshop.used() + self._first_share < self._until():
                self._anew()

    @property
    def _patience(self) -> int:
        """Fruitless steps after which another skeleton is peopled: fewer where that is quickly done."""
        return ANEW if self._first_share > QUICK else ANEW // 3

    def _nearly(self) -> bool:
        """Whether a bound that was left rough is all that may keep coverage from being proven best."""
        values = coverage_of(self.facts, self.found.taken())
        rough = [aim for aim, closed in self.closed.items() if not closed and values[aim] != self.bounds[aim]]
        return any(values[aim] >= (1 - GAP) * (self.bounds[aim] or 0) for aim in rough)

    def _until(self) -> float:
        """Return the share of the time up to which coverage is improved."""
        return COVERAGE_SHARE if self.give_way is None or self.lawful() else self.give_way

    def _freed(self, chosen: Chosen) -> Piece:
        hint: dict[str, int] = {}
        for tour in chosen.tours:
            hint |= tour.names
        return Piece(
            chosen.frame,
            self.found.taken(chosen.tours),
            free=chosen.free,
            hint=hint,
            seed=self.workshop.seed(),
            seconds=STEP_SECONDS,
            work=STEP_WORK if self.limits.reproducible else 0.0,
        )

    def _complete(self) -> bool:
        values = coverage_of(self.facts, self.found.taken())
        return all(values[aim] == self.bounds[aim] for aim in COVERAGE)

    # tiers ------------------------------------------------------------------------------------------------------

    def _coverage_tiers(self) -> None:
        for definition in AIMS[:3]:
            aim = definition.aim
            values = coverage_of(self.facts, self.found.taken())
            if aim is Aim.FURTHER_TEAMS:
                first = values[Aim.FIRST_TEAMS]
                below = first != self.bounds[Aim.FIRST_TEAMS]
                if below:
                    self.shape.hold(Aim.FIRST_TEAMS, first)
                if below or not self.closed[aim]:
                    fresh = self._bound(aim, values[aim])
                    self.bounds[aim] = fresh if below else min(fresh, self.bounds[aim] or fresh)
            self._relax(definition)
            self._close(definition, values[aim], self.bounds[aim])

    def _relax(self, definition: AimDefinition) -> None:
        """Bound a coverage tier by the relaxed model too, where the round is of modest size and the plan below it."""
        aim, values = definition.aim, coverage_of(self.facts, self.found.taken())
        bound, asked = self.bounds[aim], (aim, tuple(values.values()))
        if bound is None or bound <= values[aim] or len(self.facts.modes) > MODEST or self.workshop.stopped():
            return
        if asked in self._asked or self.workshop.used() > PROOF_SHARE:
            return
        self._asked.add(asked)
        if self.relaxed is None:
            self.relaxed = relaxation(self.facts)
        for earlier in AIMS[: AIMS.index(definition)]:
            hold(self.relaxed, earlier, values[earlier.aim])
        whole = self.limits.work if self.limits.reproducible else self.limits.seconds
        allowed = min(PROOF_SHARE - self.workshop.used(), RELAX_SHARE) * whole
        answer = solve(self.relaxed.choices.model, self.relaxed.aims[aim], True, self.clock, allowed, workers=1)
        if answer.bound is not None:
            self.bounds[aim] = min(bound, answer.bound)

    def _later_bounds(self) -> None:
        """Bound realism, burden and cost, each given the tiers before."""
        if self.workshop.stopped() or not self.found.tours:
            return
        bounds = LaterBounds(self.workshop, self.shape).run(self.found.outline())
        for definition in AIMS[3:]:
            if definition.aim in bounds:
                self._close(definition, *bounds[definition.aim])

    # progress ---------------------------------------------------------------------------------------------------

    def _close(self, definition: AimDefinition, value: int, bound: int | None) -> None:
        self.found.tiers.append(tier_of(definition.aim, value, bound))
        self.tell(definition.aim, value, bound, "tier done")

    def tell(self, aim: Aim, value: int | None, bound: int | None, note: str) -> None:
        """Report progress, if anybody listens."""
        if self.report is not None:
            self.report(Progress(self.clock.elapsed(), aim.value, value, bound, note))
