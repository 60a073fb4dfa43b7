"""Whether people can fill roles at once, one person a role: a bipartite matching by augmenting paths."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from roundplan.domain.person import Person
from roundplan.domain.role import Role


def unfilled(roles: Sequence[Role], people: Iterable[Person], without: Collection[str] = ()) -> tuple[Role, ...]:
    """Return the roles left open by the best assignment of people to roles; empty if all are filled.

    Parameters
    ----------
    roles : sequence of Role
        A role written twice needs two people.
    people : iterable of Person
        Each fills one of their ``cover_roles`` at most.
    without : collection of str
        Codes of people who do not count.
    """
    able = [person for person in people if person.code not in without and not person.learner]
    holder: dict[str, int] = {}

    def place(index: int, tried: set[str]) -> bool:
        for person in able:
            if roles[index] in person.cover_roles and person.code not in tried:
                tried.add(person.code)
                held = holder.get(person.code)
                if held is None or place(held, tried):
                    holder[person.code] = index
                    return True
        return False

    return tuple(role for index, role in enumerate(roles) if not place(index, set()))
