"""The later tiers' bounds as tasks: facilities one by one, then a programme for each tier."""

from __future__ import annotations

import pickle
import time
from collections.abc import Mapping
from dataclasses import dataclass
from math import floor

from roundplan.domain.plan import Search
from roundplan.domain.rules import Aim
from roundplan.solver.assembly import assemble
from roundplan.solver.assembly.measures import plan_values
from roundplan.solver.facts import Facts
from roundplan.solver.later_bounds.crew_prices import CrewPrices
from roundplan.solver.later_bounds.later_master import Earlier, Goal, LaterMaster, least
from roundplan.solver.later_bounds.least_realism import least_realism
from roundplan.solver.later_bounds.least_total import Held, Least, least_total
from roundplan.solver.later_bounds.supply_prices import SupplyPrices, supply_prices
from roundplan.solver.later_bounds.team_prices import TeamPrice, minutes, money, seats_spared
from roundplan.solver.outline import Outline
from roundplan.solver.pieces.piece import shared_facts
from roundplan.solver.pieces.workshop import Workshop
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.pricing import Trip
from roundplan.solver.skeleton.shape import Shape
from roundplan.solver.skeleton.terrain import Terrain
from roundplan.supplies.orders import shortages
from roundplan.tasks import Shared, stopping

FACILITY_CHARGE, TIER_CHARGE = 0.3, 2.0
"""Deterministic work that one facility, and one tier's programme, count for."""
FACILITY_SHARE = 0.5
"""Share of the time that is left which facilities may take."""
ROUNDS = 200
"""Most times that trips are priced for a tier."""
FINE = 10**7
"""A plan's cost is counted in units so large that it comes to no more than this many: what is lost is rounded off."""


@dataclass(frozen=True, slots=True)
class Question:
    """What a worker is asked: how little a tier can come to.

    Attributes
    ----------
    demand : Demand
        Without its facts.
    value : int
        What the plan has.
    bought : tuple of str
        Items of which the plan buys packs.
    seconds : float or None
        Time for the answer; None = until it is closed.
    """

    aim: Aim
    demand: Demand
    trips: tuple[Trip, ...]
    least: Mapping[str, Least]
    earlier: Earlier
    value: int
    bought: tuple[str, ...]
    seconds: float | None


class LaterBounds:
    """Bounds the later tiers of a plan in pieces, in the workers.

    Parameters
    ----------
    shape : Shape
        What facilities could send, and the trips that the programmes start from.
    """

    def __init__(self, workshop: Workshop, shape: Shape) -> None:
        self.workshop, self.demand, self.trips = workshop, shape.demand, tuple(shape.master.trips)

    def run(self, outline: Outline) -> dict[Aim, tuple[int, int]]:
        """Return by tier the value of a plan and the bound of all plans at least as good in the tiers before."""
        workshop, facts = self.workshop, self.workshop.facts
        plan = assemble(outline, facts, (), Search(mode="", seed=0, workers=0))
        values = plan_values(plan, facts)
        held = Held(values[Aim.FIRST_TEAMS], values[Aim.FURTHER_TEAMS])
        asked = sorted(self.demand.total.items())
        used = workshop.used()
        answers = workshop.run(FACILITY, asked, FACILITY_CHARGE, used + FACILITY_SHARE * (1 - used))
        figures: dict[str, Least] = {
            code: (0,) * (most + 1) if answer is None else answer
            for (code, most), answer in zip(asked, answers, strict=True)
        }
        items = {item.code for item in facts.round.items}
        bought = tuple(sorted(line.item for line in shortages(plan, facts.round) if line.packs and line.item in items))
        questions = [self._question(aim, figures, values, held, bought) for aim in (Aim.COST, Aim.BURDEN, Aim.REALISM)]
        bounds = {q.aim: without_crews(facts, self.demand, q) for q in questions[:2]}
        bounds[Aim.REALISM] = least_total(facts, figures, held)
        for question, bound in zip(questions, workshop.run(TIER, questions, TIER_CHARGE), strict=True):
            bounds[question.aim] = max(bounds[question.aim], bound or 0)
        return {aim: (values[aim], bound) for aim, bound in bounds.items()}

    def _question(
        self, aim: Aim, figures: Mapping[str, Least], values: Mapping[Aim, int], held: Held, bought: tuple[str, ...]
    ) -> Question:
        earlier = Earlier(held, values[Aim.REALISM], values[Aim.BURDEN] if aim is Aim.COST else None)
        limits = self.workshop.limits
        seconds = None if limits.reproducible else 0.6 * self.workshop.clock.left()
        demand = self.demand.without_facts()
        return Question(aim, demand, self.trips, figures, earlier, values[aim], bought, seconds)


FACILITY = "roundplan.solver.later_bounds.bounding:of_facility"
TIER = "roundplan.solver.later_bounds.bounding:of_tier"


def of_facility(payload: bytes, shared: Shared) -> bytes:
    """Return the least realism of one facility by number of teams, in a worker."""
    code, most = pickle.loads(payload)
    return pickle.dumps(least_realism(shared_facts(shared), code, most))


def of_tier(payload: bytes, shared: Shared) -> bytes:
    """Return the bound of one tier, in a worker."""
    return pickle.dumps(answer(shared_facts(shared), pickle.loads(payload)))


@dataclass(frozen=True, slots=True)
class _Figures:
    """What visits come to in a tier, in units of ``scale``, and what is counted apart."""

    visits: list[TeamPrice]
    supplies: SupplyPrices = SupplyPrices()
    scale: int = 1

    @property
    def apart(self) -> int:
        """What is at hand, as a figure below nought."""
        return floor(-self.supplies.at_hand)


def _figures(facts: Facts, demand: Demand, question: Question) -> _Figures:
    if question.aim is not Aim.COST:
        return _Figures(minutes(facts, demand))
    supplies, scale = supply_prices(facts, question.bought), max(question.value // FINE, 1)
    return _Figures(money(facts, demand, supplies, scale), supplies, scale)


def answer(facts: Facts, question: Question) -> int:
    """Return how little a tier can come to in plans at least as good in the tiers before."""
    begun = time.monotonic()
    demand, terrain = question.demand.with_facts(facts), Terrain(facts)
    figures = _figures(facts, demand, question)
    goal = Goal(question.value)
    if question.aim is Aim.BURDEN:
        goal = Goal(question.value, figures.visits)
    elif question.aim is Aim.COST:
        crews = CrewPrices(terrain, figures.supplies, figures.scale)
        goal = Goal(question.value // figures.scale, figures.visits, crews)
    master = LaterMaster(terrain, demand, question.least, question.earlier, minutes(facts, demand), goal)
    master.add_trips(question.trips)

    def stop() -> bool:
        late = question.seconds is not None and time.monotonic() - begun > question.seconds
        return late or stopping()

    if question.seconds is not None:
        master.programme.limit_seconds(max(question.seconds - (time.monotonic() - begun), 0.1))
    return max(figures.scale * least(master, stop, ROUNDS) + figures.apart, 0)


def without_crews(facts: Facts, demand: Demand, question: Question) -> int:
    """Return what burden or cost come to at least where every facility has its cheapest visit: no crews are needed."""
    figures = _figures(facts, demand, question)
    cheapest: dict[str, int] = {}
    for visit, price in zip(demand.visits, figures.visits, strict=True):
        seats = len(facts.round.facility(visit.facility).usual_team)
        empty, guests = seats_spared(facts, seats)
        figure = min(price.of(seats, e, g) for e in {0, empty} for g in {0, guests})
        cheapest[visit.facility] = min(figure, cheapest.get(visit.facility, figure))
    by_teams = {
        code: tuple(None if r is None else teams * cheapest.get(code, 0) for teams, r in enumerate(points))
        for code, points in question.least.items()
    }
    return max(figures.scale * least_total(facts, by_teams, question.earlier.coverage) + figures.apart, 0)
