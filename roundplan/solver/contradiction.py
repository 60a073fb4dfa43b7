"""Why no plan exists: an irreducible set of the manager's own demands, and the rules that stand against them."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from ortools.sat.python import cp_model

from roundplan.domain.decision import Lock
from roundplan.domain.plan import Reason
from roundplan.domain.rules import RULE_SENTENCES, Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.aims import aim_expressions, cost_limit
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits

CHECK_SECONDS = 10.0
STRUCTURE = frozenset({Rule.TEAM_MINIMUM, Rule.CREW_IN_ONE_PLACE, Rule.SLOT_ORDER, Rule.LOCKS})
"""Rules without which there is no plan to speak of; they are not offered as the cause."""


def contradiction(training_round: TrainingRound, off: frozenset[Rule] = frozenset()) -> tuple[Reason, ...]:
    """Return an irreducible set of demands that no plan can meet together, then the rules each alone would free them.

    Without locks, floor and cap a round without any team is always possible, so the cause lies among these. Each is
    left out in turn and stays out if there is no plan without it either; leaving out any that remains gives a plan.
    """
    reasons = _irreducible(training_round, off, team=False)
    return reasons or (Reason(who="", rule=None, words="no plan obeys all rules at once"),)


def no_team(training_round: TrainingRound, off: frozenset[Rule] = frozenset()) -> tuple[Reason, ...]:
    """Return why not even one team is possible: the demands in the way, then the rules each alone would free one."""
    return _irreducible(training_round, off, team=True)


def _irreducible(training_round: TrainingRound, off: frozenset[Rule], team: bool) -> tuple[Reason, ...]:
    kept = [*_demands(training_round)]
    for demand in tuple(kept):
        fewer = [d for d in kept if d is not demand]
        if _impossible(_with(training_round, fewer), off, team):
            kept = fewer
    reasons = [Reason(who=_who(d), rule=_rule(d), words=_words(d)) for d in kept]
    narrowed = _with(training_round, kept)
    for rule in Rule:
        if rule not in STRUCTURE | off and not _impossible(narrowed, off | {rule}, team):
            reasons.append(Reason(who=rule.value, rule=rule, words=f"stands against it: {RULE_SENTENCES[rule]}"))
    return tuple(reasons)


def _demands(training_round: TrainingRound) -> Iterator[Lock | str]:
    yield from training_round.locks
    if training_round.settings.aims.floor_per_district > 0:
        yield "floor_per_district"
    if training_round.settings.prices.cap is not None:
        yield "cap"


def _with(training_round: TrainingRound, demands: list[Lock | str]) -> TrainingRound:
    settings = training_round.settings
    if "floor_per_district" not in demands:
        settings = dataclasses.replace(settings, aims=dataclasses.replace(settings.aims, floor_per_district=0))
    if "cap" not in demands:
        settings = dataclasses.replace(settings, prices=dataclasses.replace(settings.prices, cap=None))
    return training_round.replace(settings=settings, locks=tuple(d for d in demands if isinstance(d, Lock)))


def _impossible(training_round: TrainingRound, off: frozenset[Rule], team: bool) -> bool:
    """Whether it is proven that no plan exists; a check that runs out of time counts as not proven."""
    choices = Choices(Facts(training_round, off))
    add_limits(choices)
    if team:
        choices.model.add(sum(sending.teams for sending in choices.sendings) >= 1)
    cap = training_round.settings.prices.cap
    if cap is not None and Rule.BUDGET_CAP not in off:
        cost_limit(choices, aim_expressions(choices)[Aim.COST], cap)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.catch_sigint_signal = False
    solver.parameters.max_time_in_seconds = CHECK_SECONDS
    return bool(solver.solve(choices.model) == cp_model.INFEASIBLE)


def _who(demand: Lock | str) -> str:
    if isinstance(demand, Lock):
        return demand.who or demand.place or demand.crew or demand.kind.value
    return demand


def _rule(demand: Lock | str) -> Rule | None:
    if isinstance(demand, Lock):
        return Rule.LOCKS
    return Rule.BUDGET_CAP if demand == "cap" else None


def _words(demand: Lock | str) -> str:
    if demand == "cap":
        return "the cap on the cost is too low for the rest"
    if isinstance(demand, str):
        return "every district is to get its least number of teams"
    named = (("role", demand.role), ("at", demand.place), ("on", demand.date), ("crew", demand.crew))
    parts = [f"{word} {value}" for word, value in named if value is not None]
    reason = f" ({demand.why})" if demand.why else ""
    return f"the lock '{demand.do} {demand.kind}' {demand.who or ''} {' '.join(parts)}{reason}".replace("  ", " ")
