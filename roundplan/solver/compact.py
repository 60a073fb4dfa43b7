"""Draws the sessions of shared dates together, so that no crew waits for nothing between two of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from ortools.sat.python import cp_model

from roundplan.solver.choices import Choices
from roundplan.solver.parts import Var

WORK = 2.0
"""Most deterministic work, in the solver's unit (a few seconds)."""
LOOSE = ("longer[", "fewer[", "more[", "pair_to_watch[")
"""Names of what hangs on the slots of a session."""
LENGTH_COUNTS = 10
"""A second of a crew's day on the road counts so many times a second by which it ends later."""


def compacted(choices: Choices, value: Callable[[Var], int]) -> Callable[[Var], int]:
    """Return the solution with sessions moved so that crews' days are short, then end early; all else stays.

    Parameters
    ----------
    value : callable
        Value of a variable in the solution.
    """
    days = [key for key, held in choices.teaching.items() if any(value(hold) for _, _, hold in held)]
    if not days:
        return value
    slots = {clock.slots.index: _slots(choices, value, key) for key, clock in choices.clocks.items()}
    loose = {var.index for var in (*choices.piece_flags, *choices.depart.values(), *choices.finish.values())}
    loose |= {var.index for clock in choices.clocks.values() for var in (clock.start, clock.end)}
    model = choices.model.clone()
    model.clear_hints()
    for index, variable in enumerate(model.proto.variables):
        if index not in loose and not variable.name.startswith(LOOSE):
            kept = slots.get(index, value(choices.model.get_int_var_from_proto_index(index)))
            variable.domain.clear()
            variable.domain.extend((kept, kept))
    lengths = sum(choices.finish[key] - choices.depart[key] for key in days)
    model.minimize(LENGTH_COUNTS * lengths + sum(choices.finish[key] for key in days))
    return _solved(model) or value


def _slots(choices: Choices, value: Callable[[Var], int], key: tuple[str, date]) -> int:
    """Return the slots of a session, no more than it needs where one team trains alone and nobody waits for another."""
    venue, day = key
    kept = value(choices.clocks[key].slots)
    if sum(value(sending.teams) for sending in choices.visitors[key]) != 1:
        return kept
    session = choices.facts.settings.session
    pairs = [s.pairs for (v, on, _, _), s in choices.station_days.items() if (v, on) == (venue, day)]
    apart = 2 * session.simulations_per_team - 1 - max(value(var) for var in pairs)
    return min(kept, session.demonstrations + max(apart, session.simulations_per_team))


def _solved(model: cp_model.CpModel) -> Callable[[Var], int] | None:
    """Return the best values found with a little work, the same each time; None if there are none."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = WORK
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    solution = list(solver.response_proto.solution)
    return lambda var: int(solution[var.index])
