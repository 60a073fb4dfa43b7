"""A plan that is searched for in pieces, and what it comes to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from roundplan.domain.plan import Tier
from roundplan.domain.role import Include
from roundplan.domain.rules import Aim
from roundplan.solver.facts import Facts
from roundplan.solver.outline import Outline
from roundplan.solver.parts import Visit
from roundplan.solver.pieces.tours import Tour, merged
from roundplan.solver.taken import Taken, together


@dataclass(slots=True)
class Pieced:
    """The best plan so far, in tours, and what is proven of each tier."""

    facts: Facts
    tours: list[Tour] = field(default_factory=list)
    tiers: list[Tier] = field(default_factory=list)
    stopped: bool = False

    def outline(self) -> Outline:
        """Return what the tours stand for together."""
        return merged(self.tours)

    def taken(self, without: Iterable[Tour] = ()) -> Taken:
        """Return what all tours but some take."""
        left_out = {id(tour) for tour in without}
        return together(tour.taken for tour in self.tours if id(tour) not in left_out)

    def measure(self, aim: Aim) -> int:
        """Return a coverage tier's value."""
        return coverage_of(self.facts, self.taken())[aim]


def coverage_of(facts: Facts, taken: Taken) -> dict[Aim, int]:
    """Return the coverage tiers of what is taken."""
    round_ = facts.round
    first = further = 0
    for facility in round_.facilities:
        teams = taken.teams.get(facility.code, 0)
        first += round_.weight(facility) * (teams > 0)
        further += sum(round_.team_points(facility, k) for k in range(2, teams + 1))
    must = sum(p.include is Include.MUST and p.code in taken.seated for p in round_.people)
    return {Aim.FIRST_TEAMS: first, Aim.MUST_PEOPLE: must, Aim.FURTHER_TEAMS: further}


def earlier_half(visits: frozenset[Visit]) -> frozenset[Visit]:
    """Return the visits to the earlier half of the sessions; none where there is one session only."""
    sessions = sorted({visit[1:] for visit in visits}, key=lambda session: (session[1], session[0]))
    kept = set(sessions[: len(sessions) // 2])
    return frozenset(visit for visit in visits if visit[1:] in kept)
