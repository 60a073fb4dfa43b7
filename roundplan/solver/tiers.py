"""What every search shares: models with limits and aims, the best plan so far, the tiers in order, each then held."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor

from roundplan.domain.plan import Status, Tier
from roundplan.domain.progress import Progress
from roundplan.domain.role import Include
from roundplan.domain.rules import Aim, AimDefinition, Rule
from roundplan.solver.aims import aim_expressions, cost_limit, coverage_expressions
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.outline import Outline
from roundplan.solver.parts import Linear, Scope, Var, Visit
from roundplan.solver.read_off import read_off
from roundplan.solver.solving import Clock, Limits, evaluate

Report = Callable[[Progress], None]
COVERAGE = (Aim.FIRST_TEAMS, Aim.MUST_PEOPLE, Aim.FURTHER_TEAMS)


@dataclass(slots=True)
class Model:
    """Choices with their limits and aims."""

    choices: Choices
    aims: dict[Aim, Linear]


@dataclass(slots=True)
class Found:
    """The best plan so far, the model it belongs to, and what is proven of each tier."""

    model: Model
    values: list[int] = field(default_factory=list)
    tiers: list[Tier] = field(default_factory=list)
    stopped: bool = False

    def value(self, var: Var) -> int:
        """Return a variable's value in the best solution."""
        value: int = self.values[var.index]
        return value

    def measure(self, aim: Aim) -> int:
        """Return a tier's value in the best solution."""
        return evaluate(self.model.aims[aim], self.values)

    def visits(self) -> frozenset[Visit]:
        """Return which facility sends teams where and when."""
        return visits_of(self.model.choices, self.values)

    def outline(self) -> Outline:
        """Return what the best solution stands for."""
        return read_off(self.model.choices, self.value)


def visits_of(choices: Choices, values: list[int]) -> frozenset[Visit]:
    """Return facility, venue and first date of the visits in a solution."""
    return frozenset((s.facility, s.venue, s.first) for s in choices.sendings if values[s.teams.index])


class Tiers:
    """Keeps the tiers of one search: what is held, what is found, who is told.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    limits : Limits
        Time, seed and workers.
    report : callable, optional
        Told of progress.
    accept : callable, optional
        Given the first plan as soon as there is one.
    """

    found: Found

    def __init__(
        self,
        facts: Facts,
        limits: Limits,
        report: Report | None = None,
        accept: Callable[[Found], None] | None = None,
    ) -> None:
        self.facts = facts
        self.accept = accept
        self.report = report
        self.clock = Clock(limits)
        self.held: list[tuple[AimDefinition, int]] = []

    def model(self, only: frozenset[Visit] | None) -> Model:
        """Return the model with the given visits (None = all), the earlier tiers held."""
        choices = Choices(self.facts, only=only)
        add_limits(choices)
        model = Model(choices, aim_expressions(choices))
        prices = self.facts.settings.prices
        if prices.cap is not None and self.facts.on(Rule.BUDGET_CAP):
            cost_limit(choices, model.aims[Aim.COST], prices.cap)
        for definition, limit in self.held:
            hold(model, definition, limit)
        return model

    def blend(self, model: Model) -> Linear:
        """Return coverage in one figure; used to find plans, never to report."""
        return blend(self.facts, model.aims)

    def close(self, definition: AimDefinition, bound: int | None) -> int:
        """Record a tier and hold what it reached; returns the limit that is held."""
        aim, value = definition.aim, self.found.measure(definition.aim)
        self.found.tiers.append(tier_of(aim, value, bound))
        self.tell(aim, value, bound, "tier done")
        slack = floor(Fraction(str(self.facts.settings.aims.give_up.get(aim.value, 0))) * abs(value))
        limit = value - slack if definition.maximise else value + slack
        self.held.append((definition, limit))
        hold(self.found.model, definition, limit)
        return limit

    def watch(self, aim: Aim, tier: Aim | None) -> Callable[[int, int], None]:
        """Return what reports each better solution of a tier."""

        def watching(value: int, bound: int) -> None:
            self.tell(aim, value if tier else None, bound if tier else None, "better plan")

        return watching

    def tell(self, aim: Aim, value: int | None, bound: int | None, note: str) -> None:
        """Report progress, if anybody listens; no measure is below nought, so neither is what bounds it."""
        if self.report is not None:
            bound = None if bound is None else max(bound, 0)
            self.report(Progress(self.clock.elapsed(), aim.value, value, bound, note))


def tier_of(aim: Aim, value: int, bound: int | None) -> Tier:
    """Return a tier with what its bound says of its value."""
    status = Status.NO_BOUND if bound is None else Status.OPTIMAL if bound == value else Status.FEASIBLE
    return Tier(aim=aim, value=value, bound=bound, status=status)


def blend(facts: Facts, aims: Mapping[Aim, Linear]) -> Linear:
    """Return coverage in one figure, in which a first team outweighs all people, a person all further teams."""
    most, people = scale(facts)
    return aims[Aim.FURTHER_TEAMS] + most * aims[Aim.MUST_PEOPLE] + most * people * aims[Aim.FIRST_TEAMS]


def scale(facts: Facts) -> tuple[int, int]:
    """Return what outweighs all further teams, and all people whom the manager named."""
    round_ = facts.round
    most = sum(round_.team_points(f, k) for f in round_.facilities for k in range(2, f.teams_wanted + 1))
    return most + 1, sum(person.include is Include.MUST for person in round_.people) + 1


def relaxation(facts: Facts) -> Model:
    """Return the relaxed model of the whole round with the coverage aims: its optimum bounds every plan."""
    choices = Choices(facts, Scope.OUTER)
    add_limits(choices)
    return Model(choices, coverage_expressions(choices))


def hold(model: Model, definition: AimDefinition, limit: int) -> None:
    """Keep a tier at least as good as a limit."""
    expression = model.aims[definition.aim]
    if not isinstance(expression, int):
        model.choices.model.add(expression >= limit if definition.maximise else expression <= limit)
