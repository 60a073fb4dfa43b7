"""The model of an opening: all limits, the rest of the plan as it stands, loss and points as expressions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from roundplan.domain.changes import Attended
from roundplan.domain.repair import RepairTask
from roundplan.domain.rules import Aim, Rule
from roundplan.solver.aims import aim_expressions, cost_limit
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Linear
from roundplan.solver.repair.aims import Points, loss, no_more_than
from roundplan.solver.repair.frames import Opening, told_in_time
from roundplan.solver.repair.identity import Identity
from roundplan.solver.repair.pins import Pin, pins
from roundplan.solver.repair.stored import Stored
from roundplan.solver.taken import NOTHING


@dataclass(slots=True)
class Model:
    """A part of the round to be decided again.

    Attributes
    ----------
    hint : list of int
        The stored plan, as far as it still can be: a value for each variable.
    open : list of Pin
        The choices that are not held as stored.
    """

    opening: Opening
    choices: Choices
    identity: Identity
    loss: Linear
    points: Linear
    aims: dict[Aim, Linear]
    hint: list[int]
    open: list[Pin]


def model_of(opening: Opening, stored: Stored, task: RepairTask, before: Mapping[str, Attended]) -> Model:
    """Return the model of an opening, in which all but what it leaves free stays as stored."""
    facts = stored.facts
    taken = NOTHING if opening.frame is None else stored.taken(opening.parts)
    choices = Choices(facts, only=opening.visits, frame=opening.frame, taken=taken)
    add_limits(choices)
    for kept in choices.kept.values():
        choices.model.add(kept == 1)
    teams = {team.code for part in opening.parts for team in part.teams}
    identity = Identity(choices, tuple(t for t in task.announced.teams if t.code in teams))
    no_more_than(choices, task.announced)
    _notice(choices, stored, task)
    aims = aim_expressions(choices)
    if facts.settings.prices.cap is not None and facts.on(Rule.BUDGET_CAP):
        cost_limit(choices, aims[Aim.COST], facts.settings.prices.cap - taken.cost)
    points = Points(choices, identity, task, dict(before)).all()
    named: dict[str, int] = {}
    left_open: list[Pin] = []
    for pin in pins(choices, stored, opening.parts):
        named[pin.var.name] = pin.value
        if opening.free(pin):
            left_open.append(pin)
        else:
            choices.model.add(pin.var == pin.value)
    return Model(opening, choices, identity, loss(choices, task), points, aims, choices.hint(named), left_open)


def without_locks(facts: Facts, opening: Opening, stored: Stored, task: RepairTask) -> tuple[Choices, list[Pin]]:
    """Return the choices of an opening with all limits but the locks, and what of them is past."""
    choices = Choices(facts, only=opening.visits, frame=opening.frame)
    add_limits(choices)
    Identity(choices, task.announced.teams)
    no_more_than(choices, task.announced)
    _notice(choices, stored, task)
    if facts.settings.prices.cap is not None and facts.on(Rule.BUDGET_CAP):
        cost_limit(choices, aim_expressions(choices)[Aim.COST], facts.settings.prices.cap)
    return choices, [pin for pin in pins(choices, stored, opening.parts) if not opening.free(pin)]


def _notice(choices: Choices, stored: Stored, task: RepairTask) -> None:
    """Send teams only to sessions that they may be told of: a date may be one of several sessions."""
    for sending in choices.sendings:
        starts = choices.facts.starts_of(sending.venue, sending.first)
        told = [s for s in starts if told_in_time(stored, task, sending.facility, sending.venue, s)]
        if len(told) < len(starts):
            sessions = (choices.session.get((sending.venue, start), 0) for start in told)
            choices.model.add(sending.used <= sum(sessions))
