"""Solve the tiers one after another, each with the earlier ones held.

A round whose whole model is small is solved as one model. In a larger one the coverage tiers are found on restricted
models (the sessions of the best plan so far and all others in a neighbourhood) and proven on a relaxation.
"""

from __future__ import annotations

from collections.abc import Callable

from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
from roundplan.domain.rules import AIMS, Aim, AimDefinition
from roundplan.solver.contradiction import contradiction
from roundplan.solver.facts import Facts
from roundplan.solver.interrupts import interrupts_noted
from roundplan.solver.parts import Visit
from roundplan.solver.solving import Answer, Limits, evaluate, solve
from roundplan.solver.tiers import COVERAGE, Found, Report, Tiers, hold, relaxation, visits_of

SMALL = 6000
"""Variables up to which the whole model is solved at once."""
SHARES = {
    Aim.FIRST_TEAMS: 0.3,
    Aim.MUST_PEOPLE: 0.15,
    Aim.FURTHER_TEAMS: 0.7,
    Aim.REALISM: 0.35,
    Aim.BURDEN: 0.45,
    Aim.COST: 1.0,
}
"""Share of the time left that a tier may use; a tier that is proven earlier leaves its share to the later ones."""
SHAPE_SHARE, SHAPE_MOST, SHAPE_GAP = 0.12, 2.0, 0.05
"""The first shape of the round: share of the time, most seconds (or work), and the gap at which it is good enough."""
PROOF_SHARE = 0.5
"""Share of a coverage tier's time that goes to its bound on the relaxation."""
STEP_SHARE, WIDE_SHARE, RESHAPE_SHARE = 0.12, 0.25, 0.25


class TierSearch(Tiers):
    """Searches tier by tier; the parameters are those of :class:`Tiers`."""

    def __init__(
        self,
        facts: Facts,
        limits: Limits,
        report: Report | None = None,
        accept: Callable[[Found], None] | None = None,
    ) -> None:
        super().__init__(facts, limits, report, accept)
        self.outer = relaxation(facts)
        self.small = len(self.outer.choices.model.proto.variables) <= SMALL
        self.shape: list[int] | None = None
        self.found = Found(self.outer)

    def run(self) -> Found:
        """Optimise every tier in order.

        Raises
        ------
        ProvenImpossible
            If no plan obeys all rules.
        TimeRanOut
            If no plan was found in time.
        KeyboardInterrupt
            If interrupted before there was any plan.
        """
        with interrupts_noted(self.clock.interrupt):
            self._search()
        self.found.stopped = self.clock.interrupted
        return self.found

    def _search(self) -> None:
        if self.small:
            self.found.model = self.model(None)
        else:
            for stage in (self._first_plan, self._reshape, self._widen):
                if not self.clock.interrupted:
                    stage()
        if self.clock.interrupted and not self.found.values:
            raise KeyboardInterrupt
        if not self.small and not self.found.values:
            self._last_try(AIMS[0])
        for definition in AIMS:
            if self.clock.interrupted and not self.found.values:
                raise KeyboardInterrupt
            if definition.aim is Aim.REALISM and not self.small and not self.clock.interrupted:
                self._narrow()
            if self.clock.interrupted:
                self._close(definition, None)
            else:
                self._tier(definition)

    # first plan and neighbourhoods ---------------------------------------------------------------------------

    def _first_plan(self) -> None:
        """Take the shape of the round from the relaxation, then find people for its visits."""
        outer = self.outer
        allowed = min(self.clock.left() * SHAPE_SHARE, SHAPE_MOST)
        answer = solve(outer.choices.model, self.blend(outer), True, self.clock, allowed, gap=SHAPE_GAP)
        if answer.impossible:
            raise ProvenImpossible(contradiction(self.facts.round, self.facts.off))
        if answer.values is None:
            return
        self.shape = answer.values
        self._step(visits_of(outer.choices, answer.values), self.clock.left() * STEP_SHARE)
        if self.found.values and self.accept is not None:
            self.accept(self.found)

    def _reshape(self) -> None:
        """Look longer for the relaxation's best shape, then for people on its visits and those of the plan."""
        outer = self.outer
        answer = solve(
            outer.choices.model, self.blend(outer), True, self.clock, self.clock.left() * RESHAPE_SHARE, self.shape,
            workers=1,
        )  # fmt: skip
        if answer.values is None:
            return
        self.shape = answer.values
        visits = visits_of(outer.choices, answer.values)
        if self.found.values:
            visits |= self.found.visits()
        self._step(visits, self.clock.left() * STEP_SHARE)

    def _step(self, visits: frozenset[Visit], allowed: float) -> bool:
        """Look for more coverage among the given visits; keep it if it is better."""
        model = self.model(visits)
        hint = None
        if self.found.values:
            hint = model.choices.hint(self.found.model.choices.names(self.found.values))
        elif self.shape is not None:
            hint = model.choices.hint(self.outer.choices.names(self.shape))
        objective = self.blend(model)
        answer = solve(
            model.choices.model, objective, True, self.clock, allowed, hint, self.watch(Aim.FIRST_TEAMS, None)
        )
        if answer.values is None:
            return False
        better = not self.found.values or evaluate(objective, answer.values) > evaluate(
            self.blend(self.found.model), self.found.values
        )
        if better:
            self.found.model, self.found.values = model, answer.values
        return better

    def _widen(self) -> None:
        """Search on from the first plan, coverage in one figure, over its visits and all that need no lodging."""
        near = {visit for visit, modes in self.facts.modes.items() if any(not mode.nights for mode in modes)}
        if self.shape is not None:
            near |= visits_of(self.outer.choices, self.shape)
        if self.found.values:
            near |= self.found.visits()
        model = self.model(frozenset(near))
        hint = None
        if self.found.values:
            hint = model.choices.hint(self.found.model.choices.names(self.found.values))
        answer = solve(
            model.choices.model, self.blend(model), True, self.clock, self.clock.left() * WIDE_SHARE, hint,
            self.watch(Aim.FIRST_TEAMS, None),
        )  # fmt: skip
        if answer.values is not None:
            self.found.model, self.found.values = model, answer.values

    def _narrow(self) -> None:
        """Go on with the sessions of the plan, open to every facility: later tiers are refined, not proven."""
        names = self.found.model.choices.names(self.found.values)
        held = {visit[1:] for visit in self.found.visits()}
        model = self.model(frozenset(visit for visit in self.facts.modes if visit[1:] in held))
        hint = model.choices.hint(names)
        answer = solve(model.choices.model, model.aims[Aim.REALISM], False, self.clock, self.clock.left() * 0.2, hint)
        if answer.values is not None:
            self.found.model, self.found.values = model, answer.values

    # tiers --------------------------------------------------------------------------------------------------

    def _tier(self, definition: AimDefinition) -> None:
        aim = definition.aim
        if self.small and isinstance(self.found.model.aims[aim], int):
            self._close(definition, self.found.model.aims[aim])
            return
        allowed = self.clock.left() * SHARES[aim]
        bound: int | None = None
        proving = not self.small and aim in COVERAGE
        if proving:
            bound = self._prove(definition, allowed * PROOF_SHARE)
        if not self._reached(aim, bound):
            answer = self._solve_tier(definition, allowed * (1 - PROOF_SHARE if proving else 1))
            if self.small:  # elsewhere the model leaves visits out, so what it proves says nothing of the round
                bound = answer.bound
        self._close(definition, bound)

    def _solve_tier(self, definition: AimDefinition, allowed: float) -> Answer:
        """Optimise one tier on the model of the best plan."""
        found, model = self.found, self.found.model
        answer = solve(
            model.choices.model, model.aims[definition.aim], definition.maximise, self.clock, allowed,
            found.values or None, self.watch(definition.aim, definition.aim),
        )  # fmt: skip
        if answer.impossible and self.small:
            raise ProvenImpossible(contradiction(self.facts.round, self.facts.off))
        if answer.values is not None:
            found.values = answer.values
        elif not found.values:
            self._last_try(definition)
        return answer

    def _last_try(self, definition: AimDefinition) -> None:
        """Spend all that is left on finding any plan, all visits allowed."""
        model = self.found.model if self.small else self.model(None)
        expression = model.aims[definition.aim]
        answer = solve(model.choices.model, expression, definition.maximise, self.clock, self.clock.left())
        if answer.impossible:
            raise ProvenImpossible(contradiction(self.facts.round, self.facts.off))
        if answer.values is None:
            raise TimeRanOut(self.clock.limits.seconds)
        self.found.model, self.found.values = model, answer.values

    def _prove(self, definition: AimDefinition, allowed: float) -> int | None:
        """Return the relaxation's bound of a coverage tier."""
        expression = self.outer.aims[definition.aim]
        if isinstance(expression, int):
            return expression
        # One full search proves the relaxation several times faster than two cores shared with neighbourhood searches.
        answer = solve(self.outer.choices.model, expression, True, self.clock, allowed, self.shape, workers=1)
        if answer.values is not None:
            self.shape = answer.values
        return answer.bound

    def _reached(self, aim: Aim, bound: int | None) -> bool:
        return bool(self.found.values) and bound is not None and self.found.measure(aim) == bound

    def _close(self, definition: AimDefinition, bound: int | None) -> None:
        """Record a tier and hold what it reached, in the relaxation too."""
        limit = self.close(definition, bound)
        if definition.aim in COVERAGE and self.found.model is not self.outer:
            hold(self.outer, definition, limit)
