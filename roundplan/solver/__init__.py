"""From a training round to a plan: choices, limits, aims, search."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from roundplan.domain.means import NO_MEANS, Means
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Rule

if TYPE_CHECKING:
    from roundplan.domain.plan import Plan
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
