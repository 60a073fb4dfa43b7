"""Many searches as tasks, one core each: every plan audited before it counts, every finished one stored."""

from __future__ import annotations

import json
import pickle
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from roundplan.domain.means import Means
from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
from roundplan.domain.scenario import End, Solved
from roundplan.domain.training_round import TrainingRound
from roundplan.tasks import Shared, Stopped, Store, Task, fingerprint, open_pool, share

FUNCTION = "roundplan.scenarios.solving:run"


@dataclass(frozen=True, slots=True)
class Job:
    """One search.

    Attributes
    ----------
    seconds, seed : number or None
        Time and seed; None = as ``[search]`` of the round says.
    search : str or None
        Which search; None likewise.
    """

    training_round: TrainingRound
    seconds: float | None = None
    seed: int | None = None
    search: str | None = None

    def task(self) -> Task:
        """Return the task that does it; equal jobs give equal tasks in every process."""
        data = share(pickle.dumps(self.training_round), fingerprint(self.training_round))
        asked = {"seconds": self.seconds, "seed": self.seed, "search": self.search}
        return Task(FUNCTION, json.dumps(asked, sort_keys=True).encode(), data)


def solve_all(jobs: Sequence[Job], means: Means, done: Callable[[int], None]) -> list[Solved]:
    """Do all jobs side by side; those that an earlier run has finished are taken from its store.

    Parameters
    ----------
    means : Means
        Processes or cluster, and where finished searches are kept.
    done : callable
        Given the place of each job that is done, in the order in which they end.
    """
    store = Store(means.store) if means.store is not None else None
    with open_pool(processes=means.processes or 1, cluster=means.cluster, store=store) as pool:
        results = pool.run([job.task() for job in jobs], on_done=done)
    return [pickle.loads(result) for result in results if result is not None]


def run(payload: bytes, shared: Shared) -> bytes:
    """Do one job, in a worker."""
    training_round = pickle.loads(shared.data)
    return pickle.dumps(solved(training_round, **json.loads(payload)))


def solved(training_round: TrainingRound, seconds: float | None, seed: int | None, search: str | None) -> Solved:
    """Search on one core, and audit what was found."""
    from roundplan.audit import audit_plan, describe
    from roundplan.draft import INTERRUPTED, make_plan

    means = Means(search=search, processes=0)
    try:
        plan = make_plan(training_round, seconds=seconds, seed=seed, workers=1, means=means)
    except ProvenImpossible as proven:
        return Solved(End.IMPOSSIBLE, reasons=proven.reasons)
    except TimeRanOut:
        return Solved(End.OUT_OF_TIME)
    except KeyboardInterrupt:
        raise Stopped from None
    if plan.search.stopped == INTERRUPTED:
        raise Stopped
    breaches = audit_plan(plan, training_round)
    if breaches:
        return Solved(End.BREACH, breaches=tuple(describe(breaches)))
    return Solved(End.FOUND, plan)
