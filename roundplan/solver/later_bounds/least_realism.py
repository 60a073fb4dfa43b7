"""The least realism penalty of each number of teams of one facility, whatever crews do and whenever they come."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from ortools.sat.python import cp_model

from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Linear, Scope
from roundplan.solver.skeleton.round_release import ways_of
from roundplan.solver.solving import new_solver

WORK = 0.2
"""Most deterministic work of one number of teams; what is proven by then is still a bound."""


def least_realism(facts: Facts, code: str, most: int) -> tuple[int | None, ...]:
    """Return for 0 to ``most`` teams the least penalty points of a facility; None where it cannot send so many.

    Named staff with each shift's cover kept; guests come from nowhere, every venue is reached on every date, and all
    teams are watched: each figure bounds every plan.
    """
    found: list[int | None] = [0]
    for teams in range(1, most + 1):
        before = found[-1]
        proven = None if before is None else _least(facts, code, teams)
        if proven is not None and before is not None and teams > 1:
            # Without the team that is penalised most, the others are as good as so many teams can be.
            proven = max(proven, ceil(Fraction(before * teams, teams - 1)))
        found.append(proven)
    return tuple(found)


def _least(facts: Facts, code: str, teams: int) -> int | None:
    choices = Choices(facts, Scope.STAFF, only=ways_of(facts, code))
    if not choices.sendings:
        return None
    add_limits(choices)
    choices.model.add(sum(sending.teams for sending in choices.sendings) == teams)
    choices.model.minimize(_penalty(choices))
    solver = new_solver(1, 1)
    solver.parameters.linearization_level = 1
    solver.parameters.cp_model_presolve = False  # such small models are solved sooner than presolved
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(choices.model)
    if status == cp_model.INFEASIBLE:
        return None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0
    bound: int = ceil(solver.best_objective_bound - 1e-6)
    return max(bound, 0)


def _penalty(choices: Choices) -> Linear:
    """Return the points for empty seats, guests, and people outside their main role."""
    facts = choices.facts
    seats = [((code, role), var) for (code, _, role), var in choices.seat.items()]
    seats += [((code, role), var) for (code, _, role, _), var in choices.site_seat.items()]
    aside = sum(var for (code, role), var in seats if facts.round.person(code).roles[0] is not role)
    unfilled = sum(len(facts.round.facility(s.facility).usual_team) * s.teams - s.people for s in choices.sendings)
    guests = sum(var for places in choices.guest_seats.values() for var in places)
    return 4 * unfilled - 2 * guests + aside
