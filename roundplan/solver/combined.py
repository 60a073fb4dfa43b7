"""A round of modest size: planned in pieces first, then, unless that is proven best, as one model in the time left."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from roundplan.domain.means import Means
from roundplan.domain.outcome import TimeRanOut
from roundplan.domain.progress import Progress
from roundplan.solver.facts import Facts
from roundplan.solver.interrupts import interrupts_noted
from roundplan.solver.pieces.decomposed import DecomposedSearch
from roundplan.solver.pieces.pieced import Pieced
from roundplan.solver.search import TierSearch
from roundplan.solver.solving import Limits
from roundplan.solver.tiers import COVERAGE, Found, Report

GIVE_WAY = 0.2
"""Share of the time for the pieces."""
KEEP_BACK = 0.1
"""Share of the time kept for the later tiers of the plan in pieces, should it stay the better one."""


def combined_search(
    facts: Facts,
    limits: Limits,
    means: Means,
    report: Report | None,
    accept: Callable[[Found | Pieced], None],
) -> Found | Pieced:
    """Return the better of two plans in the order of the coverage tiers; the one model's if they are equal."""
    pieces = DecomposedSearch(facts, limits, means, report, accept, give_way=GIVE_WAY)
    found = pieces.run()
    sound = pieces.lawful()
    if found.stopped and not sound:
        raise KeyboardInterrupt
    if sound and (found.stopped or not pieces.gave_way):
        return found
    share = 1 - GIVE_WAY - KEEP_BACK
    rest = dataclasses.replace(
        limits,
        seconds=max(pieces.clock.left() - KEEP_BACK * limits.seconds, 0.1 * limits.seconds),
        work=share * limits.work,
    )
    try:
        later = _later(report, pieces.clock.elapsed())
        whole = TierSearch(facts, rest, later, None if sound else accept).run()
    except (TimeRanOut, KeyboardInterrupt) as ended:
        if not sound:
            raise ended if isinstance(ended, KeyboardInterrupt) else TimeRanOut(limits.seconds) from None
        return _finished(pieces, found, stopped=isinstance(ended, KeyboardInterrupt))
    if not sound or [whole.measure(aim) for aim in COVERAGE] >= [found.measure(aim) for aim in COVERAGE]:
        return whole
    pieces.adopt({tier.aim: tier.bound for tier in whole.tiers})
    return _finished(pieces, found, stopped=whole.stopped)


def _finished(pieces: DecomposedSearch, found: Pieced, *, stopped: bool) -> Pieced:
    """Return the plan in pieces with its tiers closed, the later ones improved unless somebody wants it to stop."""
    if stopped:
        pieces.clock.interrupt()
    with interrupts_noted(pieces.clock.interrupt):
        pieces.finish()
    found.stopped = pieces.clock.interrupted
    return found


def _later(report: Report | None, begun: float) -> Report | None:
    """Return what reports the seconds since the whole search began."""
    if report is None:
        return None

    def told(progress: Progress) -> None:
        report(dataclasses.replace(progress, seconds=progress.seconds + begun))

    return told
