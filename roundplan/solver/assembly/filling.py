"""Whether people can fill roles, one person a role; over several shifts nobody too often in a row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from ortools.sat.python import cp_model

from roundplan.domain.person import Person
from roundplan.domain.role import Role
from roundplan.solver.assembly.away import number_of
from roundplan.solver.assembly.exact import settle
from roundplan.solver.facts import ShiftKey


def can_fill(roles: Sequence[Role], people: Sequence[Person], without: Collection[str] = ()) -> bool:
    """Whether people can fill all roles of a keep-team at once, those in ``without`` left out."""
    return fills([], roles, [], [p for p in people if p.code not in without])


def fills(seats: Sequence[Role], keep: Sequence[Role], can_sit: Sequence[Person], staying: Sequence[Person]) -> bool:
    """Whether people can take the seats while others fill the keep-team, one person one thing."""
    sitters = {p.code: set(p.roles) for p in can_sit}
    stayers = {p.code: set(p.cover_roles) for p in staying if not p.learner}
    tasks = [(role, sitters) for role in seats] + [(role, stayers) for role in keep]
    holder: dict[str, int] = {}

    def place(index: int, tried: set[str]) -> bool:
        role, able = tasks[index]
        for code in (c for c, roles in able.items() if role in roles and c not in tried):
            tried.add(code)
            if code not in holder or place(holder[code], tried):
                holder[code] = index
                return True
        return False

    return all(place(index, set()) for index in range(len(tasks)))


def turns_possible(
    seats: Sequence[Role], can_sit: Sequence[Person], keep: Mapping[ShiftKey, Sequence[Role]],
    there: Mapping[ShiftKey, Sequence[Person]], limit: int,
) -> bool:  # fmt: skip
    """Whether one team can be away in all shifts while others cover, nobody in more than ``limit`` shifts in a row."""
    model = cp_model.CpModel()
    tasks: dict[str, list[cp_model.IntVar]] = defaultdict(list)
    for role in dict.fromkeys(seats):
        able = [(p.code, model.new_bool_var(f"sits[{p.code},{role}]")) for p in can_sit if role in p.roles]
        model.add(sum(var for _, var in able) == seats.count(role))
        for code, var in able:
            tasks[code].append(var)
    numbers = {number_of(key): key for key in keep}
    named: dict[tuple[str, int], list[cp_model.IntVar]] = defaultdict(list)
    for number, key in numbers.items():
        for role in dict.fromkeys(keep[key]):
            stay = [p for p in there[key] if role in p.cover_roles and not p.learner]
            names = [(p.code, model.new_bool_var(f"covers[{p.code},{number},{role}]")) for p in stay]
            model.add(sum(var for _, var in names) == list(keep[key]).count(role))
            for code, var in names:
                named[code, number].append(var)
    for (code, _), names_of in named.items():
        model.add(sum(names_of) + sum(tasks[code]) <= 1)
    for sits in tasks.values():
        model.add(sum(sits) <= 1)
    for first in numbers:
        window = range(first, first + limit + 1)
        if all(number in numbers for number in window):
            for code in {c for c, n in named if n in window}:
                model.add(sum(var for number in window for var in named.get((code, number), ())) <= limit)
    return settle(model) is not None
