"""One door to a plan: search, read off, assemble."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from roundplan.domain.means import NO_MEANS, Means, SearchMode
from roundplan.domain.outcome import WrongPlace
from roundplan.domain.plan import Plan, Reason, Search
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.assembly import assemble
from roundplan.solver.combined import combined_search
from roundplan.solver.contradiction import no_team
from roundplan.solver.facts import Facts
from roundplan.solver.pieces.decomposed import DecomposedSearch
from roundplan.solver.pieces.pieced import Pieced
from roundplan.solver.reached import with_tiers
from roundplan.solver.search import TierSearch
from roundplan.solver.solving import Limits
from roundplan.solver.tiers import Found

SMALL, LARGE = 150, 1200
"""Facilities × venues × dates that could be attended: up to the first one model, above the second pieces only."""


def plan_round(
    training_round: TrainingRound,
    seconds: float,
    seed: int,
    workers: int,
    reproducible: bool,
    progress: Callable[[Progress], None] | None,
    switched_off: frozenset[Rule],
    first_plan: Callable[[Plan], None] | None = None,
    means: Means = NO_MEANS,
) -> Plan:
    """Find a plan; see :func:`roundplan.solver.find_plan`."""
    facts = Facts(training_round, switched_off)
    limits = Limits(seconds, seed, workers, reproducible, training_round.settings.search.work_limit)
    mode = _mode(facts, means)
    how = Search(mode=mode.value, seed=seed, workers=workers, reproducible=reproducible)

    def accept(found: Found | Pieced) -> None:
        if first_plan is not None and found.measure(Aim.FIRST_TEAMS):
            first_plan(_written(found, facts, how))

    found: Found | Pieced
    if mode is SearchMode.DECOMPOSED:
        found = DecomposedSearch(facts, limits, means, progress, accept).run()
    elif mode is SearchMode.INTEGRATED:
        found = TierSearch(facts, limits, progress, accept).run()
    else:
        found = combined_search(facts, limits, means, progress, accept)
    stopped = "interrupted" if found.stopped else "finished"
    used = SearchMode.DECOMPOSED if isinstance(found, Pieced) else SearchMode.INTEGRATED
    plan = _written(found, facts, dataclasses.replace(how, mode=used.value, stopped=stopped))
    if not plan.teams and plan.tiers[0].bound == 0:
        plan = dataclasses.replace(plan, reasons=_why_no_team(plan, training_round, switched_off, limits))
    return plan


def _mode(facts: Facts, means: Means) -> SearchMode:
    """Return which search plans the round: as asked, else by its size."""
    asked = SearchMode(means.search or SearchMode.AUTO)
    if facts.shares_days:
        if asked is SearchMode.DECOMPOSED:
            raise WrongPlace("the decomposed search plans no short sessions; leave --search out")
        return SearchMode.INTEGRATED
    if asked is not SearchMode.AUTO:
        return asked
    if len(facts.modes) > LARGE:
        return SearchMode.DECOMPOSED
    return SearchMode.INTEGRATED if len(facts.modes) <= SMALL else SearchMode.AUTO


def _why_no_team(plan: Plan, training_round: TrainingRound, off: frozenset[Rule], limits: Limits) -> tuple[Reason, ...]:
    """Return what stands in the way of any team, then what each facility lacks; that time ran out is not the cause."""
    suspects = tuple(reason.rule for reason in plan.reasons if reason.rule is not None)
    causes = no_team(training_round, off, limits.work if limits.reproducible else limits.seconds, suspects)
    known = any(cause.rule is not None for cause in causes)
    return causes + tuple(r for r in plan.reasons if not known or r.rule is not Rule.CREW_IN_ONE_PLACE)


def _written(found: Found | Pieced, facts: Facts, how: Search) -> Plan:
    """Write a solution out as a plan whose tiers list what the plan comes to."""
    plan = assemble(found.outline(), facts, tuple(found.tiers), how)
    return with_tiers(plan, facts, {tier.aim: tier.bound for tier in found.tiers})
