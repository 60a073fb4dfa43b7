"""A plan's cost against its budget, by session and by trained person."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from roundplan.costs.pricing import total
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CostEntry, Plan
from roundplan.domain.training_round import TrainingRound


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetComparison:
    """One cost line beside the money set aside for it, in minor units.

    Attributes
    ----------
    planned : int
        What the plan costs on this line.
    budgeted : int or None
        What the budget sets aside; None where it has no row for the line.
    """

    line: CostLine
    planned: int
    budgeted: int | None
    note: str = ""

    @property
    def left(self) -> int | None:
        """What remains of the budget line; negative where it is overspent, None without a row."""
        return None if self.budgeted is None else self.budgeted - self.planned


def against_budget(entries: Iterable[CostEntry], training_round: TrainingRound) -> tuple[BudgetComparison, ...]:
    """Return every cost line that is planned or budgeted, in the order of the cost lines."""
    planned = dict.fromkeys(CostLine, 0)
    touched = set()
    for entry in entries:
        planned[CostLine(entry.line)] += entry.amount
        touched.add(CostLine(entry.line))
    rows = {row.line: row for row in training_round.budget}
    return tuple(
        BudgetComparison(
            line=line,
            planned=planned[line],
            budgeted=rows[line].amount if line in rows else None,
            note=rows[line].note if line in rows else "",
        )
        for line in CostLine
        if line in touched or line in rows
    )


def over_cap(entries: Iterable[CostEntry], training_round: TrainingRound) -> int:
    """Return by how much the total exceeds the cap, in minor units; 0 within it or without one."""
    cap = training_round.settings.prices.cap
    return 0 if cap is None else max(0, total(entries) - cap)


def session_costs(entries: Iterable[CostEntry]) -> dict[str, int]:
    """Return what each session costs by itself: its entries alone, without trips, supplies and contingency."""
    costs: dict[str, int] = {}
    for entry in entries:
        if entry.session is not None:
            costs[entry.session] = costs.get(entry.session, 0) + entry.amount
    return costs


def trained_people(plan: Plan) -> int:
    """Return the number of different people seated in the plan."""
    return len({seat.person for team in plan.teams for seat in team.seats})


def cost_per_session(entries: Iterable[CostEntry], plan: Plan) -> int | None:
    """Return the whole cost divided by the sessions, rounded to minor units; None without a session."""
    return _share(total(entries), len(plan.sessions))


def cost_per_trained_person(entries: Iterable[CostEntry], plan: Plan) -> int | None:
    """Return the whole cost divided by the people trained, rounded to minor units; None where nobody is."""
    return _share(total(entries), trained_people(plan))


def _share(amount: int, parts: int) -> int | None:
    return round(Fraction(amount, parts)) if parts else None
