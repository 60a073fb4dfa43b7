"""The tables of a comparison, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roundplan.costs.budget import trained_people
from roundplan.domain.plan import Plan
from roundplan.domain.scenario import Scenario
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.people import missing_teams
from roundplan.handouts.speech import say, several
from roundplan.handouts.whatif import figures
from roundplan.handouts.whatif.figures import Row, Unit, Value
from roundplan.handouts.whatif.sayings import column_words, end_words, more_words, proof_words, proven_words
from roundplan.handouts.words import Money, list_words, number


def money_of(scenarios: Sequence[Scenario]) -> Money:
    """Return how the comparison writes money: in whole amounts of the currency of the round as entered."""
    settings = scenarios[0].training_round.settings.round
    return Money(settings.currency, settings.currency_digits)


def in_short(scenarios: Sequence[Scenario], money: Money) -> Table:
    """Return one row a plan: what was changed, what it reaches beside the round as entered, whether that is proven."""
    heads = (
        say("What is changed"),
        say("Teams"),
        say("Facilities"),
        say("People trained"),
        say("Cost"),
        say("Proven?"),
    )
    found = figures.plans(scenarios)
    rows = [_short_row(s, plan, found[0], money) for s, plan in zip(scenarios, found, strict=True)]
    return Table(say("Each plan beside the round as entered"), heads, rows, numbers=frozenset({1, 2, 3, 4}))


def _short_row(scenario: Scenario, plan: Plan | None, base: Plan | None, money: Money) -> tuple[Cell, ...]:
    said = column_words(scenario.changes)
    if plan is None:
        return said, "–", "–", "–", "–", end_words(scenario.solved.end) if scenario.solved is not None else ""
    counts = (len(plan.teams), figures.reached(plan), trained_people(plan))
    cost, cells = figures.cost(plan), [number(count, 0) for count in counts]
    if base is None or plan is base:
        return said, *cells, money(cost), proven_words(plan)
    before = (len(base.teams), figures.reached(base), trained_people(base))
    with_words = [(cell, more_words(n - m)) for cell, n, m in zip(cells, counts, before, strict=True)]
    return said, *with_words, (money(cost), _dearer(cost - figures.cost(base), money)), proven_words(plan)


def _dearer(difference: int, money: Money) -> str:
    if not difference:
        return say("as much")
    amount = money(abs(difference))
    return say("{amount} more", amount=amount) if difference > 0 else say("{amount} less", amount=amount)


def side_by_side(caption: str, scenarios: Sequence[Scenario], rows: Sequence[Row], money: Money, *, total: bool = False,
                 differences: bool = False) -> Table:  # fmt: skip
    """Return rows of figures, a column for each scenario; with ``differences`` each says what it gains or loses."""
    heads = ("", *(column_words(scenario.changes) for scenario in scenarios))
    written = [(row.label, *_cells(row, money, differences=differences)) for row in rows]
    return Table(caption, heads, written, numbers=frozenset(range(1, len(heads))), grid=True, total=total)


def _cells(row: Row, money: Money, *, differences: bool) -> Iterator[Cell]:
    first = row.values[0]
    for place, value in enumerate(row.values):
        text = figure_words(value, row.unit, money)
        if differences and place and value is not None and first is not None and value != first:
            yield text, (several("gains {number}", "gains {number}", value - first) if value > first
                         else several("loses {number}", "loses {number}", first - value))  # fmt: skip
        else:
            yield text


def figure_words(value: Value, unit: Unit, money: Money) -> str:
    """Write a figure; a dash where there is no plan."""
    if value is None:
        return "–"
    return money.bare(value) if unit is Unit.MONEY else number(value, 0)


def aims_table(scenarios: Sequence[Scenario], money: Money) -> Table:
    """Return the aims in order, each plan's value with how much better it could be."""
    heads = (say("Aim"), *(column_words(scenario.changes) for scenario in scenarios))
    written: list[tuple[Cell, ...]] = []
    for place, row in enumerate(figures.aims(scenarios)):
        cells: list[Cell] = []
        for plan, value in zip(figures.plans(scenarios), row.values, strict=True):
            text = figure_words(value, row.unit, money)
            cells.append((text, proof_words(plan.tiers[place], money.bare)) if plan is not None else text)
        written.append((row.label, *cells))
    caption = say("What each plan reaches, aim by aim, and how far any plan could come; cost in {currency}",
                  currency=money.currency)  # fmt: skip
    return Table(caption, heads, written, numbers=frozenset(range(1, len(heads))), grid=True)


def left_out_table(scenarios: Sequence[Scenario]) -> Table:
    """Return who lacks teams in which plans, why, and what it would take to train them."""
    found: dict[tuple[str, ...], list[str]] = {}
    compared = 0
    for scenario, plan in zip(scenarios, figures.plans(scenarios), strict=True):
        if plan is None:
            continue
        compared += 1
        for row in missing_teams(PlanIndex(plan, scenario.training_round)):
            found.setdefault(row, []).append(column_words(scenario.changes))
    rows = [
        (name, what, say("in every plan") if len(where) == compared else list_words(where), reason, helps)
        for (name, what, reason, helps), where in found.items()
    ]
    heads = (say("Facility"), say("What is missing"), say("Where"), say("Reason"), say("What could help"))
    return Table(say("Teams that were wanted and are left out, and what it would take"), heads, rows)
