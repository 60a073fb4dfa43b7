"""How many teams a facility can send in the whole round, whatever crews do: named people, each shift's cover kept."""

from __future__ import annotations

from ortools.sat.python import cp_model

from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Scope, Visit
from roundplan.solver.solving import new_solver

WORK = 0.6
"""Most deterministic work of a facility; what is not proven by then stays open."""


def most_in_round(facts: Facts, code: str) -> int:
    """Return an upper limit of the teams that a facility can send in the round.

    Every venue is reached on every date, guests come from nowhere; what is left is whom the facility can spare when.
    """
    facility = facts.round.facility(code)
    choices = Choices(facts, Scope.STAFF, only=ways_of(facts, code))
    add_limits(choices)
    choices.model.maximize(sum(sending.teams for sending in choices.sendings))
    solver = new_solver(1, 1)
    solver.parameters.linearization_level = 1
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(choices.model)
    if status == cp_model.INFEASIBLE or not choices.sendings:
        return 0
    return min(int(solver.best_objective_bound + 1e-6), facility.teams_wanted)


def ways_of(facts: Facts, code: str) -> frozenset[Visit]:
    """Return one visit for each first date and each set of ways to attend: other venues ask the same of the staff."""
    found: dict[object, Visit] = {}
    for visit, modes in facts.visiting.of(code).items():
        ways = frozenset((m.before, m.after, bool(m.nights), m.own_site) for m in modes)
        found.setdefault((visit[2], ways), visit)
    return frozenset(found.values())
