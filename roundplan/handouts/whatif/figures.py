"""What each plan of a comparison comes to, as numbers by row and column."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from roundplan.costs.budget import trained_people
from roundplan.costs.pricing import total
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CoverKind, Plan
from roundplan.domain.role import Role
from roundplan.domain.rules import AIMS, Aim
from roundplan.domain.scenario import Scenario
from roundplan.handouts.report.people import HELPS
from roundplan.handouts.speech import say
from roundplan.handouts.terms import aim_sentence, cost_line, role_word
from roundplan.handouts.words import capital

Value = int | None
"""A figure of one column; None where there is no plan."""


class Unit(Enum):
    """What a figure counts."""

    NUMBER = "number"
    MONEY = "money"
    KILOMETRES = "kilometres"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of figures, a column for each scenario."""

    label: str
    values: tuple[Value, ...]
    unit: Unit = Unit.NUMBER


def plans(scenarios: Sequence[Scenario]) -> tuple[Plan | None, ...]:
    """Return the plan of each scenario."""
    return tuple(s.solved.plan if s.solved is not None else None for s in scenarios)


def _row(label: str, found: Sequence[Plan | None], figure: Callable[[Plan], int], unit: Unit = Unit.NUMBER) -> Row:
    return Row(label, tuple(None if plan is None else figure(plan) for plan in found), unit)


def reached(plan: Plan) -> int:
    """Return how many facilities send a team."""
    return len({team.facility for team in plan.teams})


def cost(plan: Plan) -> int:
    """Return the whole cost in minor units."""
    return total(plan.costs)


def aims(scenarios: Sequence[Scenario]) -> list[Row]:
    """Return the value of each aim."""
    found = plans(scenarios)
    rows = []
    for definition in AIMS:
        label = capital(aim_sentence(definition.sentence))
        unit = Unit.MONEY if definition.aim is Aim.COST else Unit.NUMBER
        rows.append(_row(label, found, lambda plan, aim=definition.aim: _value(plan, aim), unit))  # type: ignore[misc]
    return rows


def _value(plan: Plan, aim: Aim) -> int:
    return next((tier.value for tier in plan.tiers if tier.aim is aim), 0)


def by_role(scenarios: Sequence[Scenario]) -> list[Row]:
    """Return seats filled by role, then the people trained."""
    found = plans(scenarios)
    seats = [Counter(seat.role for team in plan.teams for seat in team.seats) if plan else Counter() for plan in found]
    rows = []
    for role in Role:
        if any(counts[role] for counts in seats):
            values = tuple(None if plan is None else counts[role] for plan, counts in zip(found, seats, strict=True))
            rows.append(Row(capital(role_word(role)), values))
    return [*rows, _row(say("People trained"), found, trained_people)]


def teams_by_facility(scenarios: Sequence[Scenario]) -> list[Row]:
    """Return the teams of each facility that wants any."""
    found = plans(scenarios)
    names = {f.code: f.name for s in scenarios for f in s.training_round.facilities}
    wanting = dict.fromkeys(f.code for s in scenarios for f in s.training_round.facilities if f.teams_wanted)
    return [
        _row(names[code], found, lambda plan, code=code: sum(t.facility == code for t in plan.teams))  # type: ignore[misc]
        for code in wanting
    ]


def effort(scenarios: Sequence[Scenario]) -> list[Row]:
    """Return what each plan takes of crews, trainers, staff and services."""
    found = plans(scenarios)
    return [
        _row(say("Sessions"), found, lambda plan: len(plan.sessions)),
        _row(say("Crews on the road"), found, lambda plan: len({trip.crew for trip in plan.trips})),
        _row(say("Crew days"), found, lambda plan: sum(len(trip.days) for trip in plan.trips)),
        _row(say("Kilometres of crews"), found, _kilometres, Unit.KILOMETRES),
        _row(say("Trainers' days"), found, _trainer_days),
        _row(say("Person-days of staff away from home"), found, _days_away),
        _row(say("Person-nights of staff away"), found, _nights),
        _row(say("Guests in teams"), found, lambda plan: sum(seat.guest for t in plan.teams for seat in t.seats)),
        _row(say("Shifts with cover named"), found, _shifts),
    ]


def _kilometres(plan: Plan) -> int:
    return round(sum(leg.drive.km for trip in plan.trips for day in trip.days for leg in day.legs))


def _trainer_days(plan: Plan) -> int:
    return sum(len(day.aboard) for trip in plan.trips for day in trip.days)


def _days_away(plan: Plan) -> int:
    outings = ((team, outing) for team in plan.teams for outing in team.outings if outing.drives)
    return sum(len(o.people) * len({*team.dates, *(drive.date for drive in o.drives)}) for team, o in outings)


def _nights(plan: Plan) -> int:
    return sum(len(o.people) * len(o.nights) for team in plan.teams for o in team.outings)


def _shifts(plan: Plan) -> int:
    return len({(c.facility, c.date, c.shift) for c in plan.cover if c.kind is CoverKind.OWN})


def costs(scenarios: Sequence[Scenario]) -> list[Row]:
    """Return the cost by line, the total last."""
    found = plans(scenarios)
    rows = []
    for line in CostLine:
        row = _row(capital(cost_line(line.value)), found, lambda plan, line=line: _of_line(plan, line), Unit.MONEY)  # type: ignore[misc]
        if any(row.values):
            rows.append(row)
    return [*rows, _row(say("In all"), found, cost, Unit.MONEY)]


def _of_line(plan: Plan, line: CostLine) -> int:
    return sum(entry.amount for entry in plan.costs if entry.line == line.value)


def what_helps(scenarios: Sequence[Scenario]) -> list[Row]:
    """Return by what could help most how many teams that were wanted are missing."""
    found = plans(scenarios)
    missing = [Counter() if plan is None else _missing(plan, s) for plan, s in zip(found, scenarios, strict=True)]
    total_of = Counter[str]()
    for counts in missing:
        total_of.update(counts)
    return [
        Row(help_, tuple(None if plan is None else counts[help_] for plan, counts in zip(found, missing, strict=True)))
        for help_, _ in sorted(total_of.items(), key=lambda entry: (-entry[1], entry[0]))
    ]


def _missing(plan: Plan, scenario: Scenario) -> Counter[str]:
    """Return the missing teams by what could help with the first reason found for each facility."""
    made, found = Counter(team.facility for team in plan.teams), Counter[str]()
    for facility in scenario.training_round.facilities:
        number = facility.teams_wanted - made[facility.code]
        if number > 0:
            first = made[facility.code] + 1
            rules = (r.rule for r in plan.reasons if r.who == facility.code and (r.team_number or 1) == first)
            rule = next(rules, None)
            found[say(HELPS[rule]) if rule in HELPS else say("no reason was worked out")] += number
    return found


def changed_rows(rows: Sequence[Row]) -> Iterator[Row]:
    """Yield the rows in which some plan differs from that of the round as entered."""
    for row in rows:
        if any(value is not None and value != row.values[0] for value in row.values[1:]):
            yield row
