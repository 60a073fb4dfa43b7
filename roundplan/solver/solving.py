"""One solve at a time: parameters, the clock, interrupts and what a solve proves."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor

from ortools.sat.python import cp_model

from roundplan.solver.parts import Linear

Watch = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Limits:
    """What a search may use up: wall-clock seconds, or deterministic work when reproducible."""

    seconds: float
    seed: int
    workers: int
    reproducible: bool = False
    work: float = 60.0


@dataclass(frozen=True, slots=True)
class Answer:
    """What a solve gave.

    Attributes
    ----------
    values : list of int or None
        The best solution, by variable index; None if none was found.
    bound : int or None
        What no solution can beat.
    impossible : bool
        Proven that there is no solution.
    """

    values: list[int] | None
    bound: int | None
    impossible: bool = False


class Clock:
    """Time or deterministic work that is left, and whether somebody interrupted."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.begun = time.monotonic()
        self.spent = 0.0
        self.interrupted = False

    def elapsed(self) -> float:
        """Return seconds since the search began."""
        return time.monotonic() - self.begun

    def interrupt(self) -> None:
        """Note that somebody wants the search to stop."""
        self.interrupted = True

    def left(self) -> float:
        """Return what is left of the seconds, or of the work in reproducible mode."""
        if self.limits.reproducible:
            return max(self.limits.work - self.spent, 0.0)
        return max(self.limits.seconds - self.elapsed(), 0.0)


def solve(
    model: cp_model.CpModel,
    objective: Linear,
    maximise: bool,
    clock: Clock,
    allowed: float,
    hint: Sequence[int] | None = None,
    watch: Watch | None = None,
    gap: float = 0.0,
    workers: int | None = None,
) -> Answer:
    """Optimise one objective; once the clock is interrupted the solve stops and keeps what it found.

    Parameters
    ----------
    allowed : float
        Seconds, or units of work in reproducible mode.
    hint : sequence of int, optional
        A value for each variable.
    watch : callable, optional
        Told of value and bound of each better solution.
    gap : float
        Relative gap at which the solve may end.
    workers : int, optional
        Cores for this solve; None = as the search was given.
    """
    model.clear_hints()
    if hint is not None:
        model.proto.solution_hint.vars.extend(range(len(hint)))
        model.proto.solution_hint.values.extend(hint)
    if maximise:
        model.maximize(objective)
    else:
        model.minimize(objective)
    solver = _solver(clock, allowed)
    solver.parameters.relative_gap_limit = gap
    if workers is not None:
        solver.parameters.num_workers = workers
    status = run(solver, model, lambda: clock.interrupted, _Listener(watch))
    clock.spent += solver.response_proto.deterministic_time
    return _answer(solver, status, maximise)


def new_solver(seed: int, workers: int) -> cp_model.CpSolver:
    """Return a solver set up for the models of a round, without a limit of time or work."""
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = workers
    solver.parameters.catch_sigint_signal = False
    # Probing takes longer than it saves on these models, and the strong relaxation is what proves them.
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.linearization_level = 2
    return solver


def run(
    solver: cp_model.CpSolver,
    model: cp_model.CpModel,
    stopped: Callable[[], bool],
    listener: cp_model.CpSolverSolutionCallback | None = None,
) -> object:
    """Solve a model in a thread of its own, asking every 0.05 s whether to stop; returns the status."""
    box: list[object] = []
    worker = threading.Thread(target=lambda: box.append(solver.solve(model, listener)), daemon=True)
    worker.start()
    while worker.is_alive():
        worker.join(0.05)
        if stopped():
            solver.stop_search()
    return box[0]


def _solver(clock: Clock, allowed: float) -> cp_model.CpSolver:
    limits = clock.limits
    solver = new_solver(limits.seed, limits.workers)
    parameters = solver.parameters
    if limits.reproducible:
        parameters.interleave_search = True
        parameters.max_deterministic_time = max(allowed, 0.01)
    else:
        parameters.max_time_in_seconds = max(allowed, 0.05)
    return solver


def _answer(solver: cp_model.CpSolver, status: object, maximise: bool) -> Answer:
    if status == cp_model.INFEASIBLE:
        return Answer(None, None, impossible=True)
    if status == cp_model.MODEL_INVALID:
        raise ValueError(solver.response_proto.solution_info)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Answer(None, None)
    bound: int | None = None
    if abs(solver.best_objective_bound) < 1e17:
        limit = solver.best_objective_bound
        bound = floor(limit + 1e-6) if maximise else ceil(limit - 1e-6)
    return Answer(list(solver.response_proto.solution), bound)


class _Listener(cp_model.CpSolverSolutionCallback):
    """Passes each better solution on."""

    def __init__(self, watch: Watch | None) -> None:
        super().__init__()
        self._watch = watch

    def on_solution_callback(self) -> None:
        """Report value and bound."""
        if self._watch is not None:
            self._watch(round(self.objective_value), round(self.best_objective_bound))


def evaluate(expression: Linear, values: Sequence[int]) -> int:
    """Return the value of a linear expression under a solution."""
    if isinstance(expression, int):
        return expression
    flat = cp_model.FlatIntExpr(expression)
    total: int = int(flat.offset) + sum(int(c) * values[v.index] for c, v in zip(flat.coeffs, flat.vars, strict=True))
    return total
