"""The search for a least change: one opening after another, until no plan can be better or time is out."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from roundplan.domain.changes import attended, changes, coverage_lost, lost_people, lost_teams, stability
from roundplan.domain.decision import Lock
from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress
from roundplan.domain.repair import Measured, Repaired, RepairTask
from roundplan.domain.rules import Aim
from roundplan.solver.facts import Facts
from roundplan.solver.interrupts import interrupts_noted
from roundplan.solver.repair.bounds import Bounds
from roundplan.solver.repair.frames import Frames, Opening
from roundplan.solver.repair.gains import gains_of
from roundplan.solver.repair.hurt import Hurt, what_is_hurt
from roundplan.solver.repair.locked import locked_at, why_locked
from roundplan.solver.repair.model import Model, model_of, without_locks
from roundplan.solver.repair.quiet import Quiet
from roundplan.solver.repair.stored import Stored
from roundplan.solver.repair.writing import Written, finished
from roundplan.solver.solving import Answer, Clock, Limits, evaluate, solve

Report = Callable[[Progress], None]
OPENING_SHARE = 0.4
"""Share of the time left that one solve of an opening may use."""
SEARCH_SHARE = 0.75
"""Share of the time given that the search may use; the rest is for writing the plan out."""
RELEASE_SHARE, RELEASE_LEAST = 0.3, 1.0
"""Share of the time left, and seconds or work at least, in which it is tried whether a release would help."""
LATER_SHARE = 0.3
"""Share of the time left that each later tier may use."""


@dataclass(slots=True)
class Found:
    """The best repair so far."""

    model: Model
    values: list[int]
    lost: int
    points: int


class RepairSearch:
    """Looks for the least change of one plan."""

    def __init__(self, task: RepairTask, limits: Limits, report: Report | None = None, *, gains: bool = True) -> None:
        self.task, self.report, self.gains = task, report, gains
        self.facts = Facts(task.training_round)
        self.clock = Clock(limits)
        self.stored = Stored(self.facts, task.announced)
        self.before = attended(task.announced)
        self.bound: tuple[int | None, int | None] = (0, None)
        self.found: Found | None = None

    def run(self) -> Repaired:
        """Return the repaired plan.

        Raises
        ------
        ProvenImpossible
            If no plan keeps the locks.
        TimeRanOut
            If nothing lawful was found in time.
        """
        with interrupts_noted(self.clock.interrupt):
            return self._run()

    def _run(self) -> Repaired:
        hurt = what_is_hurt(self.stored)
        if not hurt.anything:
            self.bound = (0, 0)
            return self._result(finished(self.task.announced, self.task.announced, self.facts))
        bounds = Bounds(self.stored, self.task, hurt, self.before)
        self.bound, sharpened = (0, bounds.points()), False
        self.frames = Frames(self.stored, self.task, hurt)
        for opening in self.frames.openings():
            if self.clock.left() <= 0 or self.clock.interrupted:
                break
            if opening.wide and self.found is None:
                self._refuse_locked(hurt)
            self._try(opening)
            if not sharpened and not opening.whole and self._worth_a_bound(opening):
                self._sharpen(bounds, hurt)
                sharpened = True
            if self._proven():
                break
        if self.found is None:
            if self.clock.interrupted:
                raise KeyboardInterrupt
            raise TimeRanOut(self.clock.limits.seconds)
        self._later_tiers(self.found)
        self.tell("writing")
        return self._result(self._written(self.found))

    def _worth_a_bound(self, opening: Opening) -> bool:
        """Whether to look for a better bound now: one of points is soon there, one of coverage waits for wider ones."""
        return self.found is not None and not self._proven() and (self.found.lost == 0 or opening.wide)

    def _refuse_locked(self, hurt: Hurt) -> None:
        """Raise if the locks on a hurt facility's people contradict the facts; each release that is named was tried."""
        for facility in hurt.facilities(self.stored):
            against = locked_at(self.task, facility)
            if against is None:
                continue
            helping = [lock for lock in against.releases if self._possible_without((lock,))]
            together = against.together if self._possible_without(against.together) else ()
            raise ProvenImpossible(against.reasons, helping, together)

    def _possible_without(self, locks: tuple[Lock, ...]) -> bool:
        """Whether there is a repair once some locks are released; as far as the time left goes."""
        if not locks:
            return False
        round_ = self.task.training_round
        kept = tuple(lock for lock in round_.locks if lock not in locks)
        task = dataclasses.replace(self.task, training_round=round_.replace(locks=kept))
        limits = self.clock.limits
        share = max(RELEASE_SHARE * self.clock.left(), RELEASE_LEAST)
        fewer = dataclasses.replace(limits, seconds=share, work=share)
        search = RepairSearch(task, fewer, gains=False)
        try:
            search.run()
        except (ProvenImpossible, TimeRanOut):
            return False
        finally:
            self.clock.spent += search.clock.spent
        return True

    def _sharpen(self, bounds: Bounds, hurt: Hurt) -> None:
        """Look at the people of each facility that loses teams or is hurt, one after another."""
        found, forced = self.found, 0
        assert found is not None
        losing = frozenset(self._losing(found))
        for facility in sorted(losing):
            if self.clock.left() > 0 and not self.clock.interrupted:
                forced += bounds.forced(facility)
        for facility in hurt.facilities(self.stored):
            if self.clock.left() > 0 and not self.clock.interrupted and facility not in losing:
                bounds.sharpen(facility)
        forced += bounds.forced_people()
        self.bound = (forced, bounds.points(losing if forced else frozenset()))

    def _losing(self, found: Found) -> Iterator[str]:
        """Yield the facilities that have fewer teams than announced."""
        choices = found.model.choices
        for code, count in Counter(team.facility for team in self.task.announced.teams).items():
            taken = choices.taken.teams.get(code, 0)
            now = evaluate(choices.total[code], found.values) if code in choices.total else taken
            if now < count:
                yield code

    def _proven(self) -> bool:
        return self.found is not None and (self.found.lost, self.found.points) == self.bound

    # one opening ----------------------------------------------------------------------------------------------------

    def _try(self, opening: Opening) -> None:
        """Look for a better repair in an opening."""
        model = model_of(opening, self.stored, self.task, self.before)
        self.tell(opening.name)
        found, objective = self.found, model.loss
        if found is not None:
            model.choices.model.add(model.loss <= found.lost)
        if found is not None and found.lost == self.bound[0]:
            lost, values = found.lost, model.hint  # no plan loses less: only points are to be looked at
            model.choices.model.add(model.points < found.points)
        else:
            first = solve(model.choices.model, objective, False, self.clock, self._allowed(opening), model.hint)
            if first.impossible and opening.whole and found is None:
                raise why_locked(self.task, lambda facts: without_locks(facts, opening, self.stored, self.task))
            if opening.whole and first.bound is not None:
                self.bound = (first.bound, self.bound[1] if first.bound == self.bound[0] else None)
            if first.values is None:
                return
            lost, values = evaluate(model.loss, first.values), first.values
            model.choices.model.add(model.loss <= lost)
        second = solve(model.choices.model, model.points, False, self.clock, self._allowed(opening), values)
        self._take(model, lost, second, values)

    def _take(self, model: Model, lost: int, answer: Answer, before: list[int]) -> None:
        """Take a better repair over, and what is proven if the opening was all of the round."""
        whole, found = model.opening.whole, self.found
        only_better = found is not None and found.lost == self.bound[0]
        if answer.values is None and only_better:
            if whole and answer.impossible and found is not None:
                self.bound = (self.bound[0], found.points)
            return
        values = answer.values or before
        points = evaluate(model.points, values)
        if whole and answer.bound is not None and lost == self.bound[0]:
            self.bound = (self.bound[0], answer.bound)
        if found is None or (lost, points) < (found.lost, found.points):
            self.found = Found(model, values, lost, points)

    def _allowed(self, opening: Opening) -> float:
        """Return the seconds, or work, of a solve: all that is left for the whole round, else a share of it."""
        return self.clock.left() * (1.0 if opening.whole else OPENING_SHARE)

    def _later_tiers(self, found: Found) -> None:
        """Leave as much as can be as it was, then improve the later tiers in what is touched anyway."""
        model = found.model.choices.model
        model.add(found.model.loss <= found.lost)
        model.add(found.model.points <= found.points)
        quiet = Quiet(model, (pin for pin in found.model.open if not self.frames.touched(pin)))
        if self.clock.left() > 0 and not self.clock.interrupted:
            allowed = LATER_SHARE * self.clock.left()
            answer = solve(model, quiet.disturbed(), False, self.clock, allowed, self._near(found))
            found.values = answer.values or found.values
        quiet.keep(found.values)
        for aim in (Aim.REALISM, Aim.BURDEN, Aim.COST):
            expression = found.model.aims[aim]
            if isinstance(expression, int) or self.clock.left() <= 0 or self.clock.interrupted:
                continue
            answer = solve(model, expression, False, self.clock, LATER_SHARE * self.clock.left(), found.values)
            if answer.values is not None:
                found.values = answer.values
            model.add(expression <= evaluate(expression, found.values))

    @staticmethod
    def _near(found: Found) -> list[int]:
        """Return the best values with one for each variable made since: all disturbed."""
        made = len(found.model.choices.model.proto.variables) - len(found.values)
        return found.values + made * [1]

    # the result -----------------------------------------------------------------------------------------------------

    def _written(self, found: Found) -> Plan:
        values = found.values
        written = Written(
            self.stored, found.model.opening.parts, found.model.choices, found.model.identity, lambda v: values[v.index]
        )
        return written.plan()

    def _result(self, plan: Plan) -> Repaired:
        """Return a plan measured: figures are those of the plan, never of the model."""
        task = self.task
        lost = coverage_lost(task.announced, plan, task.training_round)
        points = stability(task.announced, plan, task.today, task.released)
        return Repaired(
            plan=plan,
            lost=lost_teams(task.announced, plan, task.training_round),
            coverage_lost=Measured(lost, self.bound[0]),
            stability=Measured(points, self.bound[1] if lost == self.bound[0] else None),
            moved=changes(task.announced, plan, task.today, task.released),
            gains=gains_of(self.facts, task, plan, self.clock) if self.gains else (),
            lost_people=lost_people(task.announced, plan, task.training_round),
        )

    def tell(self, note: str) -> None:
        """Report what is looked at."""
        if self.report is not None:
            value = None if self.found is None else self.found.points
            self.report(Progress(self.clock.elapsed(), "repair", value, self.bound[1], note))


def repair_plan(
    task: RepairTask,
    *,
    seconds: float,
    seed: int,
    workers: int,
    reproducible: bool = False,
    progress: Report | None = None,
    gains: bool = True,
) -> Repaired:
    """Find the least change; see :func:`roundplan.solver.repair_plan`."""
    limits = Limits(SEARCH_SHARE * seconds, seed, workers, reproducible, task.training_round.settings.search.work_limit)
    return RepairSearch(task, limits, progress, gains=gains).run()
