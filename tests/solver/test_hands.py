"""Where teams of one facility differ: the model admits just the people who can be dealt into lawful teams.

Whether they can is found by trying every deal, with the rules of a team written anew. BETA sends two teams, to one hall
or to two; AAAA and GAMA, before and after it by code, lend guests.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from random import Random
from typing import Any

import pytest
from ortools.sat.python import cp_model
from rounds import A, N, P, crew, day, facility, hall, place, road, settings, staff, tiny_round

from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.supply import Case
from roundplan.solver.choices import Choices
from roundplan.solver.dealing import Cohort, Share, TeamsNotDealt, deal
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.outline import OutlineSeat

S, C = Role.SCRUB, Role.CIRCULATING
LETTERS = {P: "P", A: "A", N: "N", S: "S", C: "C"}
HALLS = ("HERE", "THERE")
LENDERS = ("AAAA", "GAMA")
OWN = "own"


def case(code: str, *more: Role) -> Case:
    """Return a case that needs some roles beyond the minimum."""
    return Case(code=code, name=code, stop_rule="on the stop word", roles=(*MINIMUM_ROLES, *more))


@dataclass(frozen=True)
class Rules:
    """What a team must be."""

    usual: tuple[Role, ...]
    guests: int = 0
    pooled: bool = False
    empty: int = 1
    cases: tuple[Case, ...] = ()

    def facts(self) -> Facts:
        """Return the round under these rules."""
        teams: dict[str, Any] = {"guests": self.guests, "guests_pooled": self.pooled, "empty_seats": self.empty}
        homes = ("BETA", *LENDERS)
        letters = "".join(letter * 6 for letter in LETTERS.values())
        return Facts(
            tiny_round(
                facilities=(
                    facility("BETA", 0.3, 0.6, usual_team=self.usual, teams_wanted=2),
                    *(facility(code, 0.3, 0.9, teams_wanted=0) for code in LENDERS),
                ),
                people=tuple(person for code in homes for person in staff(code, letters)),
                places=(place("BASE", 0.0, 0.0), hall("HERE", 0.3, 0.3), hall("THERE", 0.0, 0.3)),
                roads=tuple(road(start, end, 0.5, 30) for start in ("BASE", *homes) for end in HALLS),
                crews=(crew("CREW1"), crew("CREW2")),
                cases=self.cases,
                settings=settings(teams=teams, round={"last_day": day(0)}),
            )
        )

    def lawful(self, team: Counter[tuple[Role, str]]) -> bool:
        """Whether people by role and home make a team of BETA."""
        filled, usual = Counter[Role](), Counter(self.usual)
        for (role, _), count in team.items():
            filled[role] += count
        if any(filled[role] > usual[role] for role in LETTERS) or not all(filled[role] for role in MINIMUM_ROLES):
            return False
        if sum(usual.values()) - sum(filled.values()) > self.empty:
            return False
        runs = [all(filled[r] or r in MINIMUM_ROLES for r in one.roles) for one in self.cases]
        if self.cases and sum(runs) < 2:  # two simulations
            return False
        visitors = sum(count for (_, home), count in team.items() if home != OWN)
        if not self.pooled:
            return visitors <= self.guests and 2 * visitors <= sum(filled.values())
        homes = Counter[str]()
        for (role, home), count in team.items():
            homes["BETA" if home == OWN else home] += count if role in MINIMUM_ROLES else 0
        return min(homes, key=lambda code: (-homes[code], code)) == "BETA"


RULES = {
    "two guests in four": Rules((P, A, N, S), guests=2),
    "two guests in three": Rules((P, A, N), guests=2),
    "pooled, three minimum seats": Rules((P, A, N), pooled=True),
    "pooled, four minimum seats": Rules((P, P, A, N), pooled=True),
    "two seats empty, cases that need one of them": Rules(
        (P, A, N, S, C), empty=2, cases=(case("PLAIN"), case("SCRUB", S), case("CIRC", C))
    ),
}


@dataclass(frozen=True)
class Situation:
    """Two teams by hall, people by role and home; of the own ones how many go to each hall."""

    halls: tuple[str, str]
    own: dict[Role, int]
    heads: dict[str, int]
    guests: dict[tuple[str, Role, str], int]


def situations(rules: Rules, seed: str) -> Iterator[Situation]:
    """Yield invented people of two teams: of two hands drawn at random only the totals are told."""
    rng = Random(seed)
    usual, gaps = Counter(rules.usual), 3 * rules.empty
    for _ in range(17):
        halls = rng.choice((("HERE", "HERE"), HALLS))
        own, heads, guests = Counter[Role](), Counter[str](), Counter[tuple[str, Role, str]]()
        for at in halls:
            for role in usual.elements():
                home = rng.choices((OWN, *LENDERS, None), (5, 1.5, 1.5, 0 if role in MINIMUM_ROLES else gaps))[0]
                if rules.guests == 0 and not rules.pooled and home in LENDERS:
                    home = OWN
                if home == OWN:
                    own[role] += 1
                    heads[at] += 1
                elif home is not None:
                    guests[at, role, home] += 1
        yield Situation(halls, dict(own), {at: heads[at] for at in halls}, dict(guests))


def can_be_dealt(rules: Rules, asked: Situation) -> bool:
    """Try every way to deal the people into the two teams."""
    groups = [(role, OWN, count, (0, 1)) for role, count in asked.own.items()]
    for (at, role, home), count in asked.guests.items():
        groups.append((role, home, count, tuple(i for i in (0, 1) if asked.halls[i] == at)))
    ways = [
        [(role, home, n, count - n) for n in range(count + 1) if (0 in at or not n) and (1 in at or n == count)]
        for role, home, count, at in groups
    ]
    for deal_out in product(*ways):
        teams = (Counter[tuple[Role, str]](), Counter[tuple[Role, str]]())
        for role, home, first, second in deal_out:
            teams[0][role, home] += first
            teams[1][role, home] += second
        heads = Counter[str]()
        for at, team in zip(asked.halls, teams, strict=True):
            heads[at] += sum(count for (_, home), count in team.items() if home == OWN)
        if all(map(rules.lawful, teams)) and dict(heads) == asked.heads:
            return True
    return False


def admitted(choices: Choices, asked: Situation) -> bool:
    """Whether the model has a solution in which just these people come."""
    model = choices.model.clone()
    for sending in choices.sendings:
        model.add(sending.teams == asked.halls.count(sending.venue))
        model.add(sending.people == asked.heads.get(sending.venue, 0))
    for (home, venue, _, role), count in choices.lent.items():
        model.add(count == asked.guests.get((venue, role, home), 0))
    for role in LETTERS:
        model.add(sum(var for (_, _, r), var in choices.seat.items() if r is role) == asked.own.get(role, 0))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.cp_model_probing_level = 0
    return solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)


def cohort(facts: Facts, asked: Situation) -> Cohort:
    """Return the situation as the dealer is given it."""
    mode = facts.modes["BETA", "HERE", day(0)][0]
    own = {role: tuple(f"BETA-{LETTERS[role]}{n + 1}" for n in range(count)) for role, count in asked.own.items()}
    guests: dict[str, list[OutlineSeat]] = {}
    for (at, role, home), count in asked.guests.items():
        seats = (OutlineSeat(f"{home}-{LETTERS[role]}{n + 1}", role, mode) for n in range(count))
        guests.setdefault(at, []).extend(seats)
    shares = tuple(Share(at, asked.halls.count(at), heads) for at, heads in asked.heads.items())
    return Cohort("BETA", day(0), shares, own, guests)


@pytest.mark.parametrize("name", RULES)
def test_the_model_admits_what_can_be_dealt_into_lawful_teams_and_nothing_else(name: str) -> None:
    rules = RULES[name]
    facts = rules.facts()
    choices = Choices(facts, only=frozenset(("BETA", venue, day(0)) for venue in HALLS))
    add_limits(choices)
    seen = Counter[bool]()
    for asked in situations(rules, name):
        possible = can_be_dealt(rules, asked)
        seen[possible] += 1
        assert admitted(choices, asked) == possible, asked
        if possible:
            hands = [hand for share in deal(cohort(facts, asked), facts) for hand in share]
            for hand in hands:
                homes = (facts.round.person(seat.person).facility for seat in hand)
                held = Counter((s.role, OWN if h == "BETA" else h) for s, h in zip(hand, homes, strict=True))
                assert rules.lawful(held)
        else:
            with pytest.raises(TeamsNotDealt):
                deal(cohort(facts, asked), facts)
    assert min(seen[True], seen[False]) >= 3
