"""The least total over facilities that coverage leaves: so many teams each, their points at least as high as held."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from ortools.sat.python import cp_model

from roundplan.solver.facts import Facts
from roundplan.solver.solving import new_solver

WORK = 1.0
"""Most deterministic work; what is proven by then is still a bound."""

Least = Sequence[int | None]
"""By number of teams, the least of a facility; None = it cannot send so many."""


@dataclass(frozen=True, slots=True)
class Held:
    """Points of coverage that a plan keeps at least."""

    first: int
    further: int


def least_total(facts: Facts, least: Mapping[str, Least], held: Held) -> int:
    """Return the least sum of all facilities' figures with coverage at least as held.

    Crews are everywhere here: the figure bounds every plan with such coverage.

    Parameters
    ----------
    least : mapping of facility to sequence
        From 0 teams on.
    """
    model = cp_model.CpModel()
    round_ = facts.round
    total: list[cp_model.LinearExprT] = []
    first: list[cp_model.LinearExprT] = []
    further: list[cp_model.LinearExprT] = []
    for code, figures in least.items():
        facility, points = round_.facility(code), 0
        chosen = []
        for teams, figure in enumerate(figures):
            if teams > 1:
                points += round_.team_points(facility, teams)
            if figure is None:
                continue
            var = model.new_bool_var("")
            chosen.append(var)
            total.append(figure * var)
            first.append(round_.weight(facility) * (teams > 0) * var)
            further.append(points * var)
        model.add_exactly_one(chosen)
    model.add(sum(first) >= held.first)
    model.add(sum(further) >= held.further)
    model.minimize(sum(total))
    solver = new_solver(1, 1)
    solver.parameters.max_deterministic_time = WORK
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0
    bound: int = ceil(solver.best_objective_bound - 1e-6)
    return max(bound, 0)


def steps(least: Least) -> tuple[int, ...]:
    """Return what each further team adds; a number of teams that cannot be sent adds nothing to the one before.

    Teams are counted one after another in the programme, so that mixtures of their numbers give the convex hull of the
    figures by themselves.
    """
    added, height = [], 0
    for figure in least[1:]:
        added.append(0 if figure is None else figure - height)
        height = height if figure is None else figure
    return tuple(added)
