"""From a training round to a plan: choices, limits, aims, search."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from roundplan.domain.means import NO_MEANS, Means
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Rule

if TYPE_CHECKING:
    from roundplan.domain.plan import Plan
    from roundplan.domain.repair import Repaired, RepairTask
    from roundplan.domain.training_round import TrainingRound


def find_plan(
    training_round: TrainingRound,
    *,
    seconds: float,
    seed: int,
    workers: int,
    reproducible: bool = False,
    progress: Callable[[Progress], None] | None = None,
    switched_off: frozenset[Rule] = frozenset(),
    first_plan: Callable[[Plan], None] | None = None,
    means: Means = NO_MEANS,
) -> Plan:
    """Search for the best plan of a round.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    seconds : float
        Wall-clock time for the search; not used in reproducible mode.
    seed, workers : int
        Seed and processor cores.
    reproducible : bool
        Same plan every time, bounded by the round's ``work_limit``.
    progress : callable, optional
        Told of each better plan and of each tier that ends.
    switched_off : frozenset of Rule
        Rules left out, to test that they bind.
    first_plan : callable, optional
        Given the first whole plan as soon as there is one.
    means : Means
        Which search, with what processes or cluster, and where its finished parts are kept.

    Raises
    ------
    ProvenImpossible
        If no plan obeys all rules.
    TimeRanOut
        If no plan was found in time.
    """
    from roundplan.solver.planner import plan_round

    return plan_round(training_round, seconds, seed, workers, reproducible, progress, switched_off, first_plan, means)


def repair_plan(
    task: RepairTask,
    *,
    seconds: float,
    seed: int,
    workers: int,
    reproducible: bool = False,
    progress: Callable[[Progress], None] | None = None,
    gains: bool = True,
) -> Repaired:
    """Find the least change of an announced plan that is lawful under new facts.

    Least coverage is lost first, then least is changed, then the later tiers are as good as they can be; no facility
    is sent more teams than it had been announced. What could be gained beside is listed apart.

    Parameters
    ----------
    task : RepairTask
        The announced plan, and the round with all new facts and locks in its tables.
    seconds : float
        Wall-clock time for the search; not used in reproducible mode.
    seed, workers : int
        Seed and processor cores.
    reproducible : bool
        Same plan every time, bounded by the round's ``work_limit``.
    progress : callable, optional
        Told of what is looked at.
    gains : bool
        Whether to look for teams that could be added; takes some of the time that is left, of a second at most.

    Raises
    ------
    ProvenImpossible
        If no plan keeps the locks; it says which single lock, released, would let one.
    TimeRanOut
        If no lawful plan was found in time.
    KeyboardInterrupt
        If interrupted before there was any.
    """
    from roundplan.solver.repair.search import repair_plan as search

    return search(
        task,
        seconds=seconds,
        seed=seed,
        workers=workers,
        reproducible=reproducible,
        progress=progress,
        gains=gains,
    )
