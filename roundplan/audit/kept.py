"""Plans that a search hands over on its way: audited, and the last one in order kept."""

from __future__ import annotations

import time
from collections.abc import Callable

from roundplan.audit.registry import audit_plan
from roundplan.domain.counts import counted
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress
from roundplan.domain.training_round import TrainingRound


class KeptPlan:
    """Audits each plan given to it, reports what the audit found, and keeps the last plan that breaks no rule.

    Parameters
    ----------
    training_round : TrainingRound
        What the plans are made from.
    progress : callable, optional
        Told what the audit found.

    Attributes
    ----------
    plan : Plan or None
        The plan kept; None while there is none.
    """

    def __init__(self, training_round: TrainingRound, progress: Callable[[Progress], None] | None = None) -> None:
        self.plan: Plan | None = None
        self._round, self._progress = training_round, progress
        self._started = time.monotonic()

    def __call__(self, plan: Plan) -> None:
        """Take in a plan that the search has found."""
        in_order = not audit_plan(plan, self._round)
        if in_order:
            self.plan = plan
        if self._progress is not None:
            words = f"first plan, {counted(len(plan.teams), 'team')}: the audit found every rule kept"
            note = words if in_order else "first plan: not yet in order, the search goes on"
            self._progress(Progress(time.monotonic() - self._started, "first plan", note=note))
