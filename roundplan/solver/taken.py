"""What parts of a plan already take: people, shifts, trainers, beds, stock. Another part works round it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from roundplan.domain.role import Shift
from roundplan.solver.facts import ONE_DAY, ShiftKey
from roundplan.solver.parts import Counts


@dataclass(frozen=True, slots=True)
class Taken:
    """What one part of a plan takes, or several together.

    Attributes
    ----------
    seated : frozenset of str
        People with a seat.
    away, touched : frozenset
        (person, shift) and (facility, shift).
    teams : mapping of facility to int
        Teams sent.
    sessions : frozenset of (venue, date)
        Venues in use.
    aboard, working, nights : frozenset of (trainer, date)
        Trainers with a crew; with a session or a leg; away from home in the night.
    beds : mapping of (site, date) to int
        People who lodge.
    uses : tuple of (date, Counts)
        What sessions use up, by their first date.
    trips : int
        Trips made.
    crews : frozenset of str
        Crews that go out.
    out : frozenset of (crew, date)
        Dates on which they are out.
    locks : frozenset of int
        Positions of the locks that are kept.
    cost : int
        Minor units, contingency left out.
    """

    seated: frozenset[str] = frozenset()
    away: frozenset[tuple[str, ShiftKey]] = frozenset()
    touched: frozenset[tuple[str, ShiftKey]] = frozenset()
    teams: Mapping[str, int] = field(default_factory=dict)
    sessions: frozenset[tuple[str, date]] = frozenset()
    aboard: frozenset[tuple[str, date]] = frozenset()
    working: frozenset[tuple[str, date]] = frozenset()
    nights: frozenset[tuple[str, date]] = frozenset()
    beds: Mapping[tuple[str, date], int] = field(default_factory=dict)
    uses: tuple[tuple[date, Counts], ...] = ()
    trips: int = 0
    crews: frozenset[str] = frozenset()
    out: frozenset[tuple[str, date]] = frozenset()
    locks: frozenset[int] = frozenset()
    cost: int = 0


def together(parts: Iterable[Taken]) -> Taken:
    """Return what several parts take."""
    found = list(parts)
    teams: Counter[str] = Counter()
    beds: Counter[tuple[str, date]] = Counter()
    for part in found:
        teams.update(part.teams)
        beds.update(part.beds)
    return Taken(
        seated=frozenset().union(*(p.seated for p in found)),
        away=frozenset().union(*(p.away for p in found)),
        touched=frozenset().union(*(p.touched for p in found)),
        teams=dict(teams),
        sessions=frozenset().union(*(p.sessions for p in found)),
        aboard=frozenset().union(*(p.aboard for p in found)),
        working=frozenset().union(*(p.working for p in found)),
        nights=frozenset().union(*(p.nights for p in found)),
        beds=dict(beds),
        uses=tuple(use for p in found for use in p.uses),
        trips=sum(p.trips for p in found),
        crews=frozenset().union(*(p.crews for p in found)),
        out=frozenset().union(*(p.out for p in found)),
        locks=frozenset().union(*(p.locks for p in found)),
        cost=sum(p.cost for p in found),
    )


def scope_shifts(first: date, last: date) -> tuple[ShiftKey, ...]:
    """Return the shifts near a span of dates."""
    count = (last - first).days + 9
    return tuple((first - 4 * ONE_DAY + k * ONE_DAY, shift) for k in range(count) for shift in Shift)


NOTHING = Taken()
"""Nothing taken."""
