"""What a written plan comes to in each tier, beside what is proven of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from math import ceil

from roundplan.domain.plan import Plan, Tier
from roundplan.domain.role import Include
from roundplan.domain.rules import AIMS, Aim
from roundplan.solver.assembly.measures import plan_values
from roundplan.solver.facts import Facts
from roundplan.solver.limits.kit import fraction
from roundplan.solver.tiers import tier_of


def with_tiers(plan: Plan, facts: Facts, proven: Mapping[Aim, int | None]) -> Plan:
    """Return a plan whose tiers list what it comes to.

    Parameters
    ----------
    proven : mapping of Aim to int or None
        What the search has proven of each tier.
    """
    values = plan_values(plan, facts)
    tiers = tuple(_tier(d.aim, values[d.aim], proven.get(d.aim), d.maximise, facts) for d in AIMS)
    return dataclasses.replace(plan, tiers=tiers)


def _tier(aim: Aim, value: int, bound: int | None, maximise: bool, facts: Facts) -> Tier:
    if bound is not None and aim is Aim.COST:
        # The model leaves contingency and the rounding up of each trip's units out, so its bound stays below the price.
        bound += ceil(fraction(facts.settings.prices.contingency_percent) * bound / 100)
    if not maximise:
        bound = None if bound is None else max(bound, 0)
    else:
        bound = min(_most(aim, facts), _most(aim, facts) if bound is None else bound)
    if bound is not None and (bound < value if maximise else bound > value):
        bound = None  # a plan that beats its bound refutes it: none is reported rather than a false one
    return tier_of(aim, value, bound)


def _most(aim: Aim, facts: Facts) -> int:
    """Return what a coverage tier comes to when nobody is left out: a bound that needs no search."""
    training_round = facts.round
    wanting = [f for f in training_round.facilities if f.teams_wanted]
    if aim is Aim.FIRST_TEAMS:
        return sum(training_round.weight(f) for f in wanting)
    if aim is Aim.MUST_PEOPLE:
        return sum(person.include is Include.MUST for person in training_round.people)
    return sum(training_round.team_points(f, k) for f in wanting for k in range(2, f.teams_wanted + 1))
