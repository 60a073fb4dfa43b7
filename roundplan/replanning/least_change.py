"""The least change of an announced plan, with standbys where that is no more change, priced and audited."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from roundplan.domain.outcome import AuditFailed, ProvenImpossible, TimeRanOut
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress

if TYPE_CHECKING:
    from roundplan.domain.decision import Lock
    from roundplan.domain.repair import Repaired
    from roundplan.domain.training_round import TrainingRound
    from roundplan.replanning.situation import Situation

TRIAL = 3.0
"""Seconds that each search for a plan with standbys has at least; at most twice what the search without took."""


def least_change(
    now: Situation,
    seconds: float | None,
    seed: int | None,
    workers: int | None,
    progress: Callable[[Progress], None] | None,
) -> tuple[Repaired, Plan]:
    """Return the repair, and its plan as it would be told: priced, and checked by the audit."""
    from roundplan.audit import audit_plan, describe
    from roundplan.draft import completed

    search = now.reading.training_round.settings.search
    given = (search.seconds if seconds is None else seconds, search.seed if seed is None else seed)
    cores = search.workers if workers is None else workers
    announced = now.told.index.plan
    if _holds(now.task.announced, now.reading.training_round):
        unhurt = _unhurt(now, *given, cores, progress)
        if unhurt.plan == announced:
            return unhurt, announced
    repaired = _with_standbys(now, *given, cores, progress)
    plan = announced if _same(repaired.plan, announced) else completed(repaired.plan, now.reading.training_round)
    breaches = audit_plan(plan, now.reading.training_round)
    if breaches:
        raise AuditFailed(describe(breaches))
    return repaired, plan


def _holds(plan: Plan, training_round: TrainingRound) -> bool:
    """Whether a plan keeps every rule; figures that new facts change are none."""
    from roundplan.audit import audit_plan

    return all(breach.rule is None for breach in audit_plan(plan, training_round))


def _unhurt(
    now: Situation, seconds: float, seed: int, workers: int, progress: Callable[[Progress], None] | None
) -> Repaired:
    """Return the announced plan as it is, for nothing has to change, with what could be gained."""
    from roundplan.domain.repair import Measured
    from roundplan.solver import repair_plan

    found = repair_plan(now.task, seconds=seconds, seed=seed, workers=workers, progress=progress)
    none = Measured(0, 0)
    return dataclasses.replace(
        found, plan=now.task.announced, lost=(), lost_people=(), moved=(), coverage_lost=none, stability=none
    )


def _with_standbys(
    now: Situation, seconds: float, seed: int, workers: int, progress: Callable[[Progress], None] | None
) -> Repaired:
    """Return the least change; with standbys in the open seats wherever as little is changed so.

    All standbys are tried at once, then, where that is more change or cannot be, one after another.
    """
    from roundplan.solver import repair_plan

    task = now.task
    started = time.monotonic()

    def repaired(locks: Sequence[Lock], limit: float) -> Repaired:
        wished = task.training_round.replace(locks=(*task.training_round.locks, *locks)) if locks else None
        wish = dataclasses.replace(task, training_round=wished) if wished else task
        return repair_plan(wish, seconds=limit, seed=seed, workers=workers, progress=progress)

    least = repaired((), seconds)
    took = time.monotonic() - started
    locks = _standby_locks(now, least.plan)
    found = least
    kept: tuple[Lock, ...] = ()
    tries = [locks] if len(locks) < 2 else [locks, *((lock,) for lock in locks)]
    for more in tries if locks else ():
        left = seconds - (time.monotonic() - started)
        if (kept and kept == locks) or left < 0:
            break
        try:
            trial = repaired((*kept, *more), min(max(TRIAL, 2 * took), max(TRIAL, left)))
        except (ProvenImpossible, TimeRanOut):
            continue
        if _measures(trial) == _measures(least):
            found, kept = trial, (*kept, *more)
    return dataclasses.replace(found, coverage_lost=least.coverage_lost, stability=least.stability, gains=least.gains)


def _measures(repaired: Repaired) -> tuple[int, int]:
    return repaired.coverage_lost.value, repaired.stability.value


def _standby_locks(now: Situation, plan: Plan) -> tuple[Lock, ...]:
    """Return locks that put the standby of each open seat into it; none where a plan has them all there."""
    from roundplan.domain.decision import Do, Lock, LockKind
    from roundplan.replanning.offers import open_seats

    locks = []
    for one in open_seats(now):
        asked = one.asked
        for offer in one.offers[:1]:
            if offer.standby:
                locks.append(
                    Lock(
                        do=Do.KEEP, kind=LockKind.SEAT, who=offer.person, role=asked.role, date=asked.dates[0],
                        place=asked.venue, why="stands by",
                    )
                )  # fmt: skip
    seated = {(seat.person, seat.role, team.dates[0]) for team in plan.teams for seat in team.seats}
    return () if all((lock.who, lock.role, lock.date) in seated for lock in locks) else tuple(locks)


def _same(plan: Plan, announced: Plan) -> bool:
    return all(getattr(plan, p) == getattr(announced, p) for p in ("sessions", "teams", "trips", "cover", "swaps"))
