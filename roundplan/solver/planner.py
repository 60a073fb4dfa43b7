"""One door to a plan: search, read off, assemble."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from math import ceil

from roundplan.costs.pricing import total
from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Plan, Search, Status, Tier
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.assembly import assemble
from roundplan.solver.facts import Facts
from roundplan.solver.limits.kit import fraction
from roundplan.solver.read_off import read_off
from roundplan.solver.search import Found, TierSearch
from roundplan.solver.solving import Limits


def plan_round(
    training_round: TrainingRound,
    seconds: float,
    seed: int,
    workers: int,
    reproducible: bool,
    progress: Callable[[Progress], None] | None,
    switched_off: frozenset[Rule],
) -> Plan:
    """Find a plan; see :func:`roundplan.solver.find_plan`."""
    facts = Facts(training_round, switched_off)
    limits = Limits(seconds, seed, workers, reproducible, training_round.settings.search.work_limit)
    search = TierSearch(facts, limits, progress)
    found = search.run()
    how = Search(
        seed=seed, workers=workers, reproducible=reproducible, stopped="interrupted" if found.stopped else "finished"
    )
    plan = assemble(read_off(found.model.choices, found.value), facts, tuple(found.tiers), how)
    return dataclasses.replace(plan, tiers=tuple(_in_units(tier, plan, facts, found) for tier in found.tiers))


def _in_units(tier: Tier, plan: Plan, facts: Facts, found: Found) -> Tier:
    """Turn the model's seconds and bare cost into minutes and the priced total, bounds rounded to the safe side."""
    if tier.aim is Aim.BURDEN:
        bound = None if tier.bound is None else -(-tier.bound // MINUTE)
        value = -(-tier.value // MINUTE)
        return Tier(aim=tier.aim, value=value, bound=bound, status=tier.status)
    if tier.aim is not Aim.COST:
        return tier
    value = total(plan.costs)
    if tier.bound is None:
        return dataclasses.replace(tier, value=value)
    percent = fraction(facts.settings.prices.contingency_percent)
    bound = min(tier.bound + ceil(percent * tier.bound / 100), value)
    return Tier(aim=tier.aim, value=value, bound=bound, status=Status.OPTIMAL if bound == value else Status.FEASIBLE)
