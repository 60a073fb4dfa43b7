"""No plan beats the skeleton's bounds, at whatever step its columns are: random rounds, worked rounds, tiny rounds.

The best coverage of a round is that of the integrated model, solved to the end with first teams, must people and
further teams in one figure; that model is compared with trying everything here and in ``test_against_brute_force``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import pytest
import random_small_rounds
from binding_rounds import BINDING
from bound_rounds import WORKED
from brute_force import BruteForce
from ortools.sat.python import cp_model
from tiny_variants import VARIANTS

from roundplan.domain.rules import Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.aims import aim_expressions, cost_limit
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.skeleton.shape import Shape
from roundplan.solver.solving import evaluate
from roundplan.solver.tiers import COVERAGE, blend

SEEDS = range(200)
TINY = (0, 3, 13, 16, 27, 32, 33, 39, 45, 67, 69, 89, 92, 100, 103, 110, 114, 116, 120, 136, 142, 144, 149, 153, 154,
        158, 168, 171, 174, 175, 181, 182, 192, 195, 197, 204, 208, 215, 223, 225, 237, 243)  # fmt: skip
"""Seeds of tiny rounds in which somebody can be trained and everything is tried in a moment."""
WORK = 1.0
"""Deterministic work of each solve; what is not proven by then is still a plan, and no bound may lie below it."""


@dataclass(frozen=True)
class Reached:
    """What a plan of a round reaches, and whether nothing better exists; no values = proven that there is no plan."""

    values: dict[Aim, int] | None
    proven: bool


def best_coverage(training_round: TrainingRound, off: frozenset[Rule] = frozenset()) -> Reached:
    """Return the best coverage that the integrated model finds, some rules left out."""
    facts = Facts(training_round, off)
    choices = Choices(facts)
    add_limits(choices)
    aims = aim_expressions(choices)
    cap = training_round.settings.prices.cap
    if cap is not None and facts.on(Rule.BUDGET_CAP):
        cost_limit(choices, aims[Aim.COST], cap)
    choices.model.maximize(blend(facts, aims))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(choices.model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    if status == cp_model.INFEASIBLE:
        return Reached(None, proven=True)
    solution = list(solver.response_proto.solution)
    return Reached({aim: evaluate(aims[aim], solution) for aim in COVERAGE}, proven=status == cp_model.OPTIMAL)


@cache
def of_seed(seed: int) -> tuple[TrainingRound, Reached]:
    """Return a random round and its best coverage."""
    training_round = random_small_rounds.small_round(seed)
    return training_round, best_coverage(training_round)


def bounds_of(shape: Shape, first: int, steps: int | None = None) -> dict[Aim, list[int]]:
    """Return every bound that is computed on the way, for first teams, then for further ones with ``first`` held.

    Parameters
    ----------
    steps : int, optional
        Trips are priced so many times for each tier, then it stops.
    """
    found: dict[Aim, list[int]] = {Aim.FIRST_TEAMS: [], Aim.FURTHER_TEAMS: []}
    bound = shape.master.bound
    for aim, bounds in found.items():
        asked = [0]

        def stop(asked: list[int] = asked) -> bool:
            asked[0] += 1
            return steps is not None and asked[0] > steps

        def keep(duals: object, prices: object, bounds: list[int] = bounds) -> int:
            bounds.append(bound(duals, prices))  # type: ignore[arg-type]
            return bounds[-1]

        shape.master.bound = keep  # type: ignore[method-assign,assignment]
        bounds.append(shape.close(aim, None, stop).bound)
        shape.hold(Aim.FIRST_TEAMS, first)
    return found


def compare(training_round: TrainingRound, reached: Reached, off: frozenset[Rule] = frozenset()) -> dict[Aim, int]:
    """Assert that the bounds of all steps hold; return the lowest of each tier."""
    values = reached.values or dict.fromkeys(COVERAGE, 0)
    bounds = bounds_of(Shape(Facts(training_round, off), lambda: False), values[Aim.FIRST_TEAMS])
    lowest = {aim: min(found) for aim, found in bounds.items()}
    if reached.values is not None:
        assert lowest[Aim.FIRST_TEAMS] >= values[Aim.FIRST_TEAMS]
        assert lowest[Aim.FURTHER_TEAMS] >= values[Aim.FURTHER_TEAMS]
    return lowest


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_of_a_random_round_beats_its_bounds(seed: int) -> None:
    compare(*of_seed(seed))


def test_the_random_rounds_are_worth_the_comparison() -> None:
    found = [(training_round, reached) for training_round, reached in map(of_seed, SEEDS) if reached.values is not None]
    assert sum(reached.proven for _, reached in found) >= 180
    assert sum(bool(reached.values and reached.values[Aim.FIRST_TEAMS]) for _, reached in found) >= 90
    assert sum(bool(reached.values and reached.values[Aim.FURTHER_TEAMS]) for _, reached in found) >= 25
    assert len({r.settings.session.days for r, _ in found}) == 3
    met = [compare(r, reached)[Aim.FIRST_TEAMS] == (reached.values or {})[Aim.FIRST_TEAMS] for r, reached in found[:80]]
    assert sum(met) >= 30


@pytest.mark.parametrize("seed", SEEDS[::8])
@pytest.mark.parametrize("steps", [0, 1, 2])
def test_bounds_hold_when_stopped_early(seed: int, steps: int) -> None:
    training_round, reached = of_seed(seed)
    if reached.values is None:
        assert reached.proven
        return
    shape = Shape(Facts(training_round), lambda: False)
    bounds = bounds_of(shape, reached.values[Aim.FIRST_TEAMS], steps)
    assert all(1 <= len(found) <= steps + 2 for found in bounds.values())
    assert all(bound >= reached.values[aim] for aim, found in bounds.items() for bound in found)


@pytest.mark.parametrize("seed", SEEDS[1::8])
def test_bounds_hold_where_no_release_was_looked_at(seed: int) -> None:
    training_round, reached = of_seed(seed)
    if reached.values is None:
        assert reached.proven
        return
    bounds = bounds_of(Shape(Facts(training_round), lambda: True), reached.values[Aim.FIRST_TEAMS])
    assert all(bound >= reached.values[aim] for aim, found in bounds.items() for bound in found)


@pytest.mark.parametrize("name", WORKED)
def test_worked_rounds(name: str) -> None:
    factory, first, further = WORKED[name]
    training_round = factory()
    reached = best_coverage(training_round)
    assert reached.proven
    assert reached.values is not None
    assert (reached.values[Aim.FIRST_TEAMS], reached.values[Aim.FURTHER_TEAMS]) == (first, further)
    assert list(compare(training_round, reached).values()) == [first, further]


@pytest.mark.parametrize("name", sorted(VARIANTS)[::4])
def test_no_plan_of_a_tiny_variant_beats_its_bounds(name: str) -> None:
    training_round = VARIANTS[name]()
    compare(training_round, best_coverage(training_round))


@pytest.mark.parametrize("rule", [rule for rule in BINDING if rule is not Rule.CREW_IN_ONE_PLACE])
def test_no_plan_beats_the_bounds_where_a_rule_that_binds_is_left_out(rule: Rule) -> None:
    for factory in BINDING[rule]:
        training_round, off = factory(), frozenset({rule})
        compare(training_round, best_coverage(training_round, off), off)


def tried(training_round: TrainingRound) -> tuple[int, int]:
    """Return the points of first and further teams in the best plan, by trying everything."""
    brute = BruteForce(training_round)
    choices = sorted(
        ((brute.coverage(visits), visits) for visits in brute.skeletons()), key=lambda c: c[0], reverse=True
    )
    for (first, further), visits in choices:
        if any(brute._filled(settings, first, further, None) is not None for settings in brute._held(visits)):
            return first, further
    return 0, 0


@pytest.mark.parametrize("seed", TINY)
def test_no_plan_among_all_beats_the_bounds(seed: int) -> None:
    training_round = random_small_rounds.small_round(seed, tiny=True)
    first, further = tried(training_round)
    reached = best_coverage(training_round)
    assert reached.values is not None
    assert (reached.values[Aim.FIRST_TEAMS], reached.values[Aim.FURTHER_TEAMS]) == (first, further)
    compare(training_round, Reached({Aim.FIRST_TEAMS: first, Aim.FURTHER_TEAMS: further, Aim.MUST_PEOPLE: 0}, True))
