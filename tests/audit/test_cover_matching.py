"""The audit's own matching against networkx on random facilities."""

from __future__ import annotations

import random

import networkx as nx
import pytest

from roundplan.audit.matching import unfilled
from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, Role


def person(code: str, roles: tuple[Role, ...], **more: bool) -> Person:
    return Person(code=code, name=code, facility="F", roles=roles, cover_roles=roles, **more)


def random_facility(chance: random.Random) -> tuple[list[Role], list[Person]]:
    everybody = [
        person(f"p{k}", tuple(chance.sample(list(Role), chance.randint(0, 3)))) for k in range(chance.randint(0, 9))
    ]
    keep = list(MINIMUM_ROLES) + chance.choices(list(Role), k=chance.randint(0, 3))
    return keep, everybody


def largest_matching(keep: list[Role], people: list[Person]) -> int:
    graph = nx.Graph()
    seats = [("seat", index) for index in range(len(keep))]
    graph.add_nodes_from(seats)
    graph.add_edges_from(
        (seat, p.code) for seat, role in zip(seats, keep, strict=True) for p in people if role in p.cover_roles
    )
    return len(nx.bipartite.maximum_matching(graph, top_nodes=seats)) // 2


def test_open_roles_agree_with_a_maximum_matching_on_a_thousand_facilities():
    chance = random.Random(20260601)
    outcomes = set()
    for _ in range(1000):
        keep, people = random_facility(chance)
        left = unfilled(keep, people)
        assert len(keep) - len(left) == largest_matching(keep, people)
        outcomes.add(not left)
    assert outcomes == {True, False}


def test_two_seats_of_a_role_need_two_people():
    n = Role.ANAESTHETIST
    assert unfilled((n, n), [person("a", (n,))]) == (n,)
    assert unfilled((n, n), [person("a", (n,)), person("b", (n,))]) == ()


def test_a_head_count_is_no_matching():
    """Three people, but only one of them is a provider or assistant."""
    p, a, n = MINIMUM_ROLES
    assert len(unfilled((p, a, n), [person("a", (p, a)), person("b", (n,)), person("c", (n,))])) == 1


@pytest.mark.parametrize("more", [{"learner": True}, {}])
def test_learners_and_those_left_out_do_not_count(more):
    n = Role.ANAESTHETIST
    without = () if more else ("a",)
    assert unfilled((n,), [person("a", (n,), **more)], without) == (n,)
