"""The solver's cover condition against a maximum matching of a reference library on 1,000 random facilities.

Source of the reference: networkx, ``bipartite.hopcroft_karp_matching`` (Hopcroft and Karp 1973).
"""

from __future__ import annotations

import random
from datetime import date
from types import SimpleNamespace

import networkx
from ortools.sat.python import cp_model

from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, Role, Shift
from roundplan.solver.limits.cover import _stay

SHIFT = (date(2027, 2, 1), Shift.DAY)


def _facility(draw: random.Random) -> tuple[tuple[Role, ...], tuple[Person, ...], set[str]]:
    roles = list(Role)
    extra = [draw.choice(roles) for _ in range(draw.randint(0, 2))]
    team = tuple(draw.sample(MINIMUM_ROLES, draw.randint(1, 3)) + extra)
    people = tuple(
        Person(code=f"P{n}", name=f"P{n}", facility="F", roles=(held[0],), cover_roles=tuple(held))
        for n in range(draw.randint(1, 9))
        if (held := draw.sample(roles, draw.randint(1, 3)))
    )
    away = {p.code for p in people if draw.random() < 0.3}
    return team, people, away


def _matching_fills(team: tuple[Role, ...], people: tuple[Person, ...], away: set[str]) -> bool:
    graph = networkx.Graph()
    seats = [(number, role) for number, role in enumerate(team)]
    graph.add_nodes_from(seats)
    graph.add_edges_from(
        (seat, p.code) for seat in seats for p in people if p.code not in away and seat[1] in p.cover_roles
    )
    found = networkx.bipartite.hopcroft_karp_matching(graph, top_nodes=seats)
    return sum(seat in found for seat in seats) == len(seats)


def _solver_allows(team: tuple[Role, ...], people: tuple[Person, ...], away: set[str]) -> bool:
    model = cp_model.CpModel()
    gone = {(p.code, SHIFT): model.new_bool_var(f"away[{p.code}]") for p in people}
    for p in people:
        model.add(gone[p.code, SHIFT] == (p.code in away))
    touched = model.new_bool_var("touched")
    model.add(touched == 1)
    _stay(SimpleNamespace(model=model, away=gone), team, people, SHIFT, touched, {})  # type: ignore[arg-type]
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    return solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)


def test_cover_condition_agrees_with_a_maximum_matching() -> None:
    draw = random.Random(20270201)
    verdicts = []
    for _ in range(1000):
        team, people, away = _facility(draw)
        expected = _matching_fills(team, people, away)
        assert _solver_allows(team, people, away) == expected, (team, people, away)
        verdicts.append(expected)
    assert 200 < sum(verdicts) < 800  # both answers occur often enough to mean something
