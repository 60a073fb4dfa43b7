"""How many teams a facility can send on a date and still fill its keep-team: a matching of people and roles."""

from __future__ import annotations

from collections.abc import Collection

from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, Role


def can_send(
    teams: int, sitters: Collection[Person], keep: Collection[Role], there: Collection[Person], guests: int = 0
) -> bool:
    """Return whether some people can sit in so many minimum teams while others fill the keep-team.

    Parameters
    ----------
    guests : int
        Seats that may stay open, for guests: at most one a team.
    """
    seats = [frozenset(p.code for p in sitters if role in p.roles) for _ in range(teams) for role in MINIMUM_ROLES]
    posts = [frozenset(p.code for p in there if role in p.cover_roles) for role in keep]
    holder: dict[str, int] = {}
    tasks = posts + seats

    def place(task: int, tried: set[str]) -> bool:
        for code in sorted(tasks[task] - tried):
            tried.add(code)
            if code not in holder or place(holder[code], tried):
                holder[code] = task
                return True
        return False

    placed = [place(task, set()) for task in range(len(tasks))]
    return all(placed[: len(posts)]) and placed[len(posts) :].count(False) <= guests


def most_teams(
    most: int, sitters: Collection[Person], keep: Collection[Role], there: Collection[Person], guests_a_team: int = 0
) -> int:
    """Return the most teams, up to ``most``, that :func:`can_send` allows."""
    teams = 0
    while teams < most and can_send(teams + 1, sitters, keep, there, guests_a_team * (teams + 1)):
        teams += 1
    return teams
