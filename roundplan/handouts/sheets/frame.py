"""What the sheets share: whether they are a draft."""

from __future__ import annotations

from roundplan.domain.plan import Plan
from roundplan.handouts.speech import say


def draft_line(plan: Plan) -> str:
    """Say that a sheet is a draft; empty once the plan is announced."""
    return say("This is a draft; do not act on it yet.") if plan.status == "draft" else ""
