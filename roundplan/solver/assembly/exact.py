"""Small exact searches, the same answer every time."""

from __future__ import annotations

from ortools.sat.python import cp_model

WORK = 0.4
"""Most deterministic work of one small search, in the solver's unit (well under a second)."""


def settle(model: cp_model.CpModel, work: float = WORK) -> cp_model.CpSolver | None:
    """Solve a small model on one core; return the solver with its best solution, or None if there is none."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.catch_sigint_signal = False
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = work
    status = solver.solve(model)
    if status == cp_model.UNKNOWN:
        solver.parameters.max_deterministic_time = 100 * work
        solver.parameters.stop_after_first_solution = True
        status = solver.solve(model)
    return solver if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
