"""A round of modest size: in pieces, or as one model where pieces do not come to a plan that keeps the locks."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from roundplan.domain.means import Means
from roundplan.domain.progress import Progress
from roundplan.solver.facts import Facts
from roundplan.solver.pieces.decomposed import DecomposedSearch
from roundplan.solver.pieces.pieced import Pieced
from roundplan.solver.search import TierSearch
from roundplan.solver.solving import Limits
from roundplan.solver.tiers import Found, Report

GIVE_WAY = 0.4
"""Share of the time after which pieces that keep no locks, or not the districts' least teams, give way."""


def combined_search(
    facts: Facts,
    limits: Limits,
    means: Means,
    report: Report | None,
    accept: Callable[[Found | Pieced], None],
) -> Found | Pieced:
    """Return a plan in pieces, else that of the one model, which also proves it where there is none.

    Raises
    ------
    ProvenImpossible
        If no plan obeys all rules.
    TimeRanOut
        If no plan was found in time.
    KeyboardInterrupt
        If interrupted before there was any plan.
    """
    pieces = DecomposedSearch(facts, limits, means, report, accept, give_way=GIVE_WAY)
    found = pieces.run()
    if pieces.lawful():
        return found
    if found.stopped:
        raise KeyboardInterrupt
    rest = dataclasses.replace(
        limits, seconds=max(pieces.clock.left(), 0.1 * limits.seconds), work=(1 - GIVE_WAY) * limits.work
    )
    return TierSearch(facts, rest, _later(report, pieces.clock.elapsed()), accept).run()


def _later(report: Report | None, begun: float) -> Report | None:
    """Return what reports the seconds since the whole search began."""
    if report is None:
        return None

    def told(progress: Progress) -> None:
        report(dataclasses.replace(progress, seconds=progress.seconds + begun))

    return told
