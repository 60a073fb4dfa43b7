"""Teams that could be added to a repaired plan: nobody else's seat, day, place, crew or trainer would change.

A session may start when it does and end later; times of day are no points.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from roundplan.domain.plan import Plan
from roundplan.domain.repair import Gain, RepairTask
from roundplan.domain.rules import Rule
from roundplan.solver.aims import coverage_expressions
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Visit
from roundplan.solver.repair.frames import Frames
from roundplan.solver.repair.hurt import Hurt
from roundplan.solver.repair.pins import Kind, pins
from roundplan.solver.repair.stored import Part, Stored
from roundplan.solver.solving import Clock, evaluate, solve
from roundplan.solver.tiers import blend
from roundplan.travel.distance import geodesic_km

SHARE, MOST = 0.1, 1.0
"""Share of the time left, and most seconds or work, after which no further part is looked at."""
COMING = 6
"""Facilities offered to a session: the nearest that lack teams."""


def gains_of(facts: Facts, task: RepairTask, plan: Plan, clock: Clock) -> tuple[Gain, ...]:
    """Return teams that sessions of the plan still have room for, while time is left; each facility at one session.

    A plan with a cap on its cost is left alone: a team more would be weighed against all others.
    """
    if facts.shares_days or (facts.settings.prices.cap is not None and facts.on(Rule.BUDGET_CAP)):
        return ()
    stored = Stored(facts, plan)
    found: dict[str, Gain] = {}
    until = clock.left() - min(SHARE * clock.left(), MOST)
    for part in stored.parts:
        if clock.left() <= until or clock.interrupted or part.dates[-1] < task.today:
            continue
        for gain in _in_part(stored, part, task, clock):
            if gain.facility not in found:
                found[gain.facility] = gain
    return tuple(found[code] for code in sorted(found))


def _in_part(stored: Stored, part: Part, task: RepairTask, clock: Clock) -> Iterator[Gain]:
    facts = stored.facts
    sent = Counter(team.facility for team in stored.plan.teams)
    lacking = [f.code for f in facts.round.facilities if f.teams_wanted > sent[f.code]]
    visits = frozenset(_could_come(stored, part, task, lacking))
    if not visits:
        return
    frames = Frames(stored, task, Hurt())
    frame = frames.frame((part,), part.visits | visits)
    choices = Choices(facts, frame=frame, taken=stored.taken((part,)))
    add_limits(choices)
    new = {(code, first) for code, _, first in visits} - part.cohorts
    named: dict[str, int] = {}
    for pin in pins(choices, stored, (part,)):
        named[pin.var.name] = pin.value
        fresh = pin.kind in (Kind.VISIT, Kind.SEAT) and (pin.who, pin.day) in new
        later = pin.kind is Kind.CLOCK and pin.day > task.today and not pin.var.name.startswith("start")
        if not fresh and not later:
            choices.model.add(pin.var == pin.value)
    aim = blend(facts, coverage_expressions(choices))
    if isinstance(aim, int):
        return
    answer = solve(choices.model, aim, True, clock, min(SHARE * clock.left(), MOST), choices.hint(named))
    if answer.values is None:
        return
    for sending in choices.sendings:
        if (sending.facility, sending.first) in new and evaluate(sending.teams, answer.values):
            number = sent[sending.facility] + 1
            facility = facts.round.facility(sending.facility)
            points = facts.round.team_points(facility, number) if number > 1 else facts.round.weight(facility)
            yield Gain(sending.facility, number, sending.venue, sending.mode.dates, points)


def _could_come(stored: Stored, part: Part, task: RepairTask, lacking: list[str]) -> Iterator[Visit]:
    """Yield visits of facilities that lack teams to the sessions of a part, the nearest to each first."""
    facts, session = stored.facts, stored.facts.settings.session
    known: set[tuple[str, date]] = set(part.cohorts)
    for held in part.sessions:
        if held.dates[0] <= task.today:
            continue
        site = facts.round.site(held.venue)
        order = sorted(lacking, key=lambda code: (geodesic_km(facts.round.facility(code), site), code))
        for first in held.dates[: session.days - session.days_per_team + 1]:
            able = (c for c in order if (c, first) not in known and facts.visiting.modes(c, held.venue, first))
            for code, _ in zip(able, range(COMING), strict=False):
                yield code, held.venue, first
