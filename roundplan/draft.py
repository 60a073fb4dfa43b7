"""A draft of a plan: searched for, its names, loads and prices filled in; neither audited nor written yet."""

from __future__ import annotations

import dataclasses
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import TYPE_CHECKING

from roundplan.domain.means import NO_MEANS, Means
from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
from roundplan.domain.plan import Plan, Reason, Status
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Aim

if TYPE_CHECKING:
    from roundplan.domain.settings import SearchSettings
    from roundplan.domain.training_round import TrainingRound

INTERRUPTED = "interrupted"
"""How a search ended that Ctrl-C stopped."""


def make_plan(
    training_round: TrainingRound,
    *,
    seconds: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Callable[[Progress], None] | None = None,
    means: Means = NO_MEANS,
    first_plan: Callable[[Plan], None] | None = None,
) -> Plan:
    """Search for a plan.

    Parameters
    ----------
    training_round : TrainingRound
        What is known before planning.
    seconds, seed, workers : number or None
        Time for the search, its seed and the processor cores it uses; None = as ``[search]`` of the round says.
    progress : callable, optional
        Called with what the search reports.
    means : Means
        Which search, with what processes or cluster; what it leaves open is as ``[search]`` of the round says.
    first_plan : callable, optional
        Given the first plan as soon as there is one; if left out, it is audited and reported to ``progress``.

    Returns
    -------
    Plan
        Loads and prices filled in; not audited.

    Raises
    ------
    ProvenImpossible
        If no plan exists.
    TimeRanOut
        If none was found in time.
    KeyboardInterrupt
        If interrupted before any team was found.
    """
    from roundplan.audit.kept import KeptPlan
    from roundplan.solver import find_plan

    with _interrupt_held_back():
        import_module("roundplan.solver.planner")
    if first_plan is None and progress is not None:
        first_plan = KeptPlan(training_round, progress)
    search = _given(training_round.settings.search, seconds, seed, workers)
    ran_out = TimeRanOut(search.seconds, search.work_limit if search.reproducible else None)
    told, completed_means = _priced(progress, training_round), _completed_means(means, search)
    try:
        plan = find_plan(
            training_round, seconds=search.seconds, seed=search.seed, workers=search.workers,
            reproducible=search.reproducible, progress=told, first_plan=first_plan, means=completed_means,
        )  # fmt: skip
    except TimeRanOut:
        raise ran_out from None
    if not plan.teams:
        raise _why_no_team(plan, training_round, ran_out)
    return completed(plan, training_round)


def _priced(
    progress: Callable[[Progress], None] | None, training_round: TrainingRound
) -> Callable[[Progress], None] | None:
    """Return what takes reports in, those on the cost with their currency; None where nobody listens."""
    if progress is None:
        return None
    in_round = training_round.settings.round
    money = (in_round.currency, in_round.currency_digits)

    def taking(report: Progress) -> None:
        progress(dataclasses.replace(report, money=money) if report.aim == Aim.COST.value else report)

    return taking


def _given(search: SearchSettings, seconds: float | None, seed: int | None, workers: int | None) -> SearchSettings:
    """Return the settings of the search with what the caller gives in their place."""
    return dataclasses.replace(
        search,
        seconds=search.seconds if seconds is None else seconds,
        seed=search.seed if seed is None else seed,
        workers=search.workers if workers is None else workers,
    )


def _completed_means(means: Means, search: SearchSettings) -> Means:
    """Return the means with what they leave open as the settings of the search say."""
    given = (means.processes, search.processes, search.workers)
    processes = next((number for number in given if number is not None), 1)
    return dataclasses.replace(means, search=means.search or search.search, processes=processes)


def _why_no_team(plan: Plan, training_round: TrainingRound, ran_out: TimeRanOut) -> BaseException:
    """Return what a search that found no team ends with."""
    if plan.search.stopped == INTERRUPTED:
        return KeyboardInterrupt()
    if not any(facility.teams_wanted for facility in training_round.facilities):
        return ProvenImpossible([Reason(who="facilities", rule=None, words="teams_wanted is 0 everywhere")])
    if not training_round.crews:
        empty = "the table has no row, so nobody holds a session"
        return ProvenImpossible([Reason(who="crews", rule=None, words=empty)])
    if any(tier.aim is Aim.FIRST_TEAMS and tier.status is Status.OPTIMAL for tier in plan.tiers):
        return ProvenImpossible(plan.reasons)
    return ran_out


@contextmanager
def _interrupt_held_back() -> Iterator[None]:
    """Let Ctrl-C wait while the solver's library loads, which would turn it into an error of its own."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    asked: list[int] = []
    earlier = signal.signal(signal.SIGINT, lambda number, _frame: asked.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, earlier)
    if asked:
        raise KeyboardInterrupt


def completed(plan: Plan, training_round: TrainingRound) -> Plan:
    """Return a plan of the search with names, loads and prices filled in."""
    from roundplan import __version__
    from roundplan.costs.pricing import price_plan
    from roundplan.supplies.loads import load_trips

    plan = load_trips(plan, training_round)
    return dataclasses.replace(
        plan,
        round_name=training_round.settings.round.name,
        program=f"roundplan {__version__}",
        costs=price_plan(plan, training_round),
    )
