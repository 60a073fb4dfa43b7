"""Why locks and new facts cannot hold together, and which lock, released, would let a plan exist."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence

from ortools.sat.python import cp_model

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.outcome import ProvenImpossible
from roundplan.domain.plan import Reason
from roundplan.domain.repair import RepairTask
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.contradiction import contradiction, who_of, words_of
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.limits.locks import matching
from roundplan.solver.parts import Scope, Var
from roundplan.solver.repair.pins import Pin
from roundplan.solver.solving import new_solver

Build = Callable[[Facts], tuple[Choices, list[Pin]]]
"""Makes the model with all limits but the locks, and tells what of it is past."""
PAST = -1
"""In place of a lock's position: what was done before today."""
WORK = 10.0
"""Most deterministic work of one check."""


def why_locked(task: RepairTask, build: Build) -> ProvenImpossible:
    """Return the locks that no plan can keep together, each needed for that, and what releasing would help.

    Parameters
    ----------
    build : callable
        Makes the model of all plans, in which the locks contradict the facts.
    """
    return locked_by(task, build) or ProvenImpossible(contradiction(task.training_round))


def locked_by(task: RepairTask, build: Build) -> ProvenImpossible | None:
    """Return the same for a model of all plans or of more than all; None if the locks do not contradict it."""
    checks = _Checks(task, build)
    core = checks.irreducible()
    if core is None:
        return None
    locks = [task.training_round.locks[number] for number in core if number != PAST]
    reasons = [Reason(who=who_of(lock), rule=Rule.LOCKS, words=words_of(lock)) for lock in locks]
    reasons += [fact for lock in locks for fact in facts_against(checks.facts, lock)]
    if PAST in core:
        words = f"what was done before {task.today.isoformat()} stays as it was, and cannot go on lawfully"
        reasons.append(Reason(who="past", rule=Rule.LOCKS, words=words))
    singles = [number for number in core if number != PAST and checks.possible(without={number})]
    fewest = () if singles else checks.fewest()
    return ProvenImpossible(
        reasons,
        releases=[task.training_round.locks[number] for number in singles],
        together=[task.training_round.locks[number] for number in fewest],
    )


def locked_at(task: RepairTask, facility: str) -> ProvenImpossible | None:
    """Return why the locks on a facility's own people cannot be kept, whatever crews do; None if they may be."""
    round_ = task.training_round
    staff = {person.code for person in round_.staff_of(facility)}
    lent = {seat.person for team in task.announced.teams for seat in team.seats if seat.guest}
    locks = tuple(lock for lock in round_.locks if lock.who in staff - lent or lock.who == facility)
    if not any(lock.do is Do.KEEP for lock in locks):
        return None

    def build(facts: Facts) -> tuple[Choices, list[Pin]]:
        choices = Choices(facts, Scope.STAFF, only=frozenset(facts.visiting.of(facility)))
        add_limits(choices)
        return choices, []

    return locked_by(dataclasses.replace(task, training_round=round_.replace(locks=locks)), build)


def facts_against(facts: Facts, lock: Lock) -> Iterator[Reason]:
    """Yield what in the tables stands against a lock by itself."""
    people = {person.code: person for person in facts.round.people}
    if lock.do is not Do.KEEP or lock.kind not in (LockKind.SEAT, LockKind.PERSON):
        return
    if lock.who in people and lock.date is not None:
        obstacle = facts.obstacle(people[lock.who], lock.date)
        if obstacle is not None:
            words = f"{obstacle} on {lock.date.isoformat()}"
            yield Reason(who=lock.who, rule=Rule.STAFF_AVAILABLE, words=words)


class _Checks:
    """Asks one model, with a switch for each lock, whether there is a plan."""

    def __init__(self, task: RepairTask, build: Build) -> None:
        self.facts = Facts(task.training_round)
        self.choices, past = build(Facts(task.training_round, frozenset({Rule.LOCKS})))
        self.switches = {n: self._switch(n, lock) for n, lock in enumerate(task.training_round.locks)}
        if past:
            self.switches[PAST] = self._past(past)

    def _switch(self, number: int, lock: Lock) -> Var:
        """Return a variable that is 1 only if a lock is obeyed."""
        model, found = self.choices.model, matching(self.choices, lock)
        obeyed = model.new_bool_var(f"obeyed[{number}]")
        if lock.do is Do.KEEP:
            model.add(obeyed <= sum(found))
        for var in found if lock.do is Do.FORBID else ():
            model.add(var == 0).only_enforce_if(obeyed)
        return obeyed

    def _past(self, past: list[Pin]) -> Var:
        """Return a variable that is 1 only if all that is past is as it was."""
        kept = self.choices.model.new_bool_var("past")
        for pin in past:
            self.choices.model.add(pin.var == pin.value).only_enforce_if(kept)
        return kept

    def irreducible(self) -> list[int] | None:
        """Return positions of locks that cannot be obeyed together, though all but any one can; None = none found."""
        core = self._core(list(self.switches))
        if core is None or not core:
            return None
        for number in tuple(core):
            fewer = [n for n in core if n != number]
            smaller = self._core(fewer)
            if smaller is not None:
                core = [n for n in fewer if n in smaller]
        return core

    def _core(self, numbers: Sequence[int]) -> list[int] | None:
        """Return some of the locks that cannot be obeyed together; None if all can, or if that is not known."""
        model = self.choices.model
        model.clear_assumptions()
        model.clear_objective()
        model.add_assumptions([self.switches[n] for n in numbers])
        solver = _solver()
        if solver.solve(model) != cp_model.INFEASIBLE:
            return None
        needed = set(solver.sufficient_assumptions_for_infeasibility())
        return [n for n in numbers if self.switches[n].index in needed]

    def possible(self, without: set[int]) -> bool:
        """Whether all locks but some can be obeyed together."""
        model = self.choices.model
        model.clear_assumptions()
        model.clear_objective()
        model.add_assumptions([switch for n, switch in self.switches.items() if n not in without])
        return _solver().solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)

    def fewest(self) -> list[int]:
        """Return as few locks as can be released so that the others can be obeyed; none if that is not found."""
        model = self.choices.model
        model.clear_assumptions()
        if PAST in self.switches:
            model.add(self.switches[PAST] == 1)
        model.maximize(sum(self.switches.values()))
        solver = _solver()
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return []
        return [n for n, switch in self.switches.items() if not solver.boolean_value(switch)]


def _solver() -> cp_model.CpSolver:
    solver = new_solver(seed=1, workers=1)
    solver.parameters.max_deterministic_time = WORK
    return solver
