"""Why no plan exists: an irreducible set of the manager's own demands, and the rules that stand against them."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from roundplan.domain.decision import Lock
from roundplan.domain.plan import Reason
from roundplan.domain.rules import RULE_SENTENCES, Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.aims import aim_expressions, cost_limit
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Scope
from roundplan.solver.solving import new_solver

SHARE = 0.5
"""Share of the time or work given to a search that may go into saying why there is no plan."""
CHECK_WORK = 10.0
"""Most deterministic work of one check."""
BUILT = 25_000
"""Variables of a model whose making counts as one unit of work: about as long as a unit of the solver's."""
STRUCTURE = frozenset({Rule.TEAM_MINIMUM, Rule.CREW_IN_ONE_PLACE, Rule.SLOT_ORDER, Rule.LOCKS})
"""Rules without which there is no plan to speak of; they are not offered as the cause."""
NOT_TRIED = "time"
"""What a reason speaks of that says what there was no time for."""


def contradiction(training_round: TrainingRound, off: frozenset[Rule] = frozenset()) -> tuple[Reason, ...]:
    """Return an irreducible set of demands that no plan can meet together, then the rules each alone would free them.

    Without locks, floor and cap a round without any team is always possible, so the cause lies among these. Each is
    left out in turn and stays out if there is no plan without it either; leaving out any that remains gives a plan.
    What there was no time to try is said in a reason of its own. The same round gives the same reasons every time.
    """
    search = training_round.settings.search
    work = SHARE * (search.work_limit if search.reproducible else search.seconds)
    reasons = _irreducible(training_round, _Checks(off, work, team=False), tuple(Rule))
    return reasons or (Reason(who="", rule=None, words="no plan obeys all rules at once"),)


def no_team(
    training_round: TrainingRound, off: frozenset[Rule], given: float, suspects: Sequence[Rule] = ()
) -> tuple[Reason, ...]:
    """Return why not even one team is possible: the demands in the way, then the rules each alone would free one.

    Parameters
    ----------
    given : float
        Seconds or work that the search was given, of which a share is used here.
    suspects : sequence of Rule
        Rules to try first.
    """
    return _irreducible(training_round, _Checks(off, SHARE * given, team=True), (*suspects, *Rule))


def _irreducible(training_round: TrainingRound, checks: _Checks, rules: Sequence[Rule]) -> tuple[Reason, ...]:
    kept, reduced = [*_demands(training_round)], True
    for demand in tuple(kept):
        fewer = [d for d in kept if d is not demand]
        impossible = checks.impossible(_with(training_round, fewer))
        reduced &= impossible is not None
        if impossible:
            kept = fewer
    reasons = [Reason(who=who_of(d), rule=_rule(d), words=words_of(d)) for d in kept]
    if not reduced:
        words = "was too short to try each demand by itself: one of those above may not be needed"
        reasons.append(Reason(who=NOT_TRIED, rule=None, words=words))
    named = {reason.rule for reason in reasons}
    others = [rule for rule in rules if rule not in named]
    return (*reasons, *_rules_against(_with(training_round, kept), checks, others))


def _rules_against(training_round: TrainingRound, checks: _Checks, rules: Sequence[Rule]) -> Iterator[Reason]:
    """Yield the rules each of which, left out alone, allows a plan, then those that there was no time to try."""
    untried = []
    for rule in dict.fromkeys(rules):
        if rule in STRUCTURE | checks.off:
            continue
        impossible = checks.impossible(training_round, rule)
        if impossible is None:
            untried.append(rule)
        elif not impossible:
            yield Reason(who=rule.value, rule=rule, words=f"stands in the way: {RULE_SENTENCES[rule]}")
    if untried:
        words = f"was too short to try these rules, which may stand against it too: {', '.join(sorted(untried))}"
        yield Reason(who=NOT_TRIED, rule=None, words=words)


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


def who_of(demand: Lock | str) -> str:
    """Return whom or what a demand is about."""
    if isinstance(demand, Lock):
        return demand.who or demand.place or demand.crew or demand.kind.value
    return demand


def _rule(demand: Lock | str) -> Rule | None:
    if isinstance(demand, Lock):
        return Rule.LOCKS
    return Rule.BUDGET_CAP if demand == "cap" else None


def words_of(demand: Lock | str) -> str:
    """Return a demand in plain words."""
    if demand == "cap":
        return "the cap on the cost is too low for the rest"
    if isinstance(demand, str):
        return "every district is to get its least number of teams"
    named = (("role", demand.role), ("at", demand.place), ("on", demand.date), ("crew", demand.crew))
    parts = [f"{word} {value}" for word, value in named if value is not None]
    reason = f" ({demand.why})" if demand.why else ""
    return f"the lock '{demand.do} {demand.kind}' {demand.who or ''} {' '.join(parts)}{reason}".replace("  ", " ")


@dataclass(slots=True)
class _Checks:
    """Asks whether there is a plan for as long as work is left.

    Attributes
    ----------
    off : frozenset of Rule
        Rules that are left out anyhow.
    left : float
        Deterministic work that is left, so that the answers do not hang on the machine.
    team : bool
        Whether the plan is to have a team.
    """

    off: frozenset[Rule]
    left: float
    team: bool

    def impossible(self, training_round: TrainingRound, without: Rule | None = None) -> bool | None:
        """Whether it is proven that there is no plan, one rule left out; None where neither is proven in time."""
        off = self.off if without is None else self.off | {without}
        for scope in (Scope.OUTER, Scope.WHOLE):
            if self.left <= 0:
                return None
            status = self._solve(training_round, off, scope)
            if status == cp_model.INFEASIBLE:
                return True
        return False if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None

    def _solve(self, training_round: TrainingRound, off: frozenset[Rule], scope: Scope) -> object:
        choices = Choices(Facts(training_round, off), scope)
        add_limits(choices)
        if self.team:
            choices.model.add(sum(sending.teams for sending in choices.sendings) >= 1)
        cap = training_round.settings.prices.cap
        if cap is not None and Rule.BUDGET_CAP not in off and scope is Scope.WHOLE:
            cost_limit(choices, aim_expressions(choices)[Aim.COST], cap)
        self.left -= len(choices.model.proto.variables) / BUILT
        solver = new_solver(seed=1, workers=1)
        solver.parameters.max_deterministic_time = max(min(self.left, CHECK_WORK), 0.1)
        status = solver.solve(choices.model)
        self.left -= solver.response_proto.deterministic_time
        return status
