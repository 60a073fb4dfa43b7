"""Which team, session and trip of one plan is which of another: by what they are, as codes may have moved on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from roundplan.domain.plan import Seat, Session, Team, Trip
from roundplan.domain.role import Role
from roundplan.handouts.plan_index import PlanIndex

T = TypeVar("T")


@dataclass(frozen=True)
class Matched:
    """Two plans of a round, the earlier and the later, matched part by part."""

    before: PlanIndex
    after: PlanIndex

    @cached_property
    def teams(self) -> tuple[tuple[Team | None, Team | None], ...]:
        """Teams of both plans, in the order of the later one, those that are gone last."""
        return paired(self.before.teams_in_order, self.after.teams_in_order, self._teams_alike)

    @cached_property
    def sessions(self) -> tuple[tuple[Session | None, Session | None], ...]:
        """Sessions of both plans, in the order of the later one, those that are gone last."""
        return paired(self.before.sessions_in_order, self.after.sessions_in_order, self._sessions_alike)

    @cached_property
    def trips(self) -> tuple[tuple[Trip | None, Trip | None], ...]:
        """Trips of both plans, in the order of the later one, those that are gone last."""
        return paired(self.before.plan.trips, self.after.plan.trips, self._trips_alike)

    @cached_property
    def later_team(self) -> dict[str, str]:
        """Code in the later plan by code in the earlier one, of teams that are in both."""
        return {old.code: new.code for old, new in self.teams if old is not None and new is not None}

    @cached_property
    def later_session(self) -> dict[str, str]:
        """Code in the later plan by code in the earlier one, of sessions that are in both."""
        return {old.code: new.code for old, new in self.sessions if old is not None and new is not None}

    def _teams_alike(self, old: Team, new: Team) -> int:
        if old.facility != new.facility:
            return 0
        people = {(seat.role, seat.person) for seat in old.seats} & {(seat.role, seat.person) for seat in new.seats}
        place = self.before.sessions[old.session].venue == self.after.sessions[new.session].venue
        return 1 + 4 * len(people) + 3 * (old.dates == new.dates) + 2 * place + (old.number == new.number)

    def _sessions_alike(self, old: Session, new: Session) -> int:
        teams = {self.later_team.get(team.code) for team in self.before.teams_of_session(old.code)}
        shared = teams & {team.code for team in self.after.teams_of_session(new.code)}
        place, days = old.venue == new.venue, old.dates == new.dates
        if not shared and not (place and days):
            return 0
        return 2 * len(shared) + 4 * place + 4 * days + len({*old.crews} & {*new.crews})

    def _trips_alike(self, old: Trip, new: Trip) -> int:
        if old.crew != new.crew:
            return 0
        taught = {self.later_session.get(code) for day in old.days for code in day.sessions}
        shared = taught & {code for day in new.days for code in day.sessions}
        return 2 * len(shared) + len({day.date for day in old.days} & {day.date for day in new.days})


def paired(old: Sequence[T], new: Sequence[T], alike: Callable[[T, T], int]) -> tuple[tuple[T | None, T | None], ...]:
    """Pair the parts of two plans, the most alike first; parts that are not alike at all (0) stay single."""
    likeness = ((alike(a, b), i, j) for i, a in enumerate(old) for j, b in enumerate(new))
    partner: dict[int, int] = {}
    for score, i, j in sorted(likeness, key=lambda found: (-found[0], found[1], found[2])):
        if score > 0 and i not in partner.values() and j not in partner:
            partner[j] = i
    kept: list[tuple[T | None, T | None]] = [
        (old[partner[j]] if j in partner else None, part) for j, part in enumerate(new)
    ]
    return (*kept, *((part, None) for i, part in enumerate(old) if i not in partner.values()))


def by_role(old: Iterable[tuple[Role, T]], new: Iterable[tuple[Role, T]]) -> Iterator[tuple[Role, T | None, T | None]]:
    """Yield, role by role, who is there no longer beside who is there instead; whoever stays is left out."""
    left, come = Counter(iter(old)), Counter(iter(new))  # of a mapping, count its keys
    stay = left & come
    for role in dict.fromkeys(role for role, _ in (*come, *left)):
        gone = [who for (r, who), n in (left - stay).items() if r is role for _ in range(n)]
        fresh = [who for (r, who), n in (come - stay).items() if r is role for _ in range(n)]
        for place in range(max(len(gone), len(fresh))):
            yield (
                role,
                gone[place] if place < len(gone) else None,
                fresh[place] if place < len(fresh) else None,
            )


def seat_pairs(old: Sequence[Seat], new: Sequence[Seat]) -> Iterator[tuple[Role, Seat | None, Seat | None]]:
    """Yield the seats of two versions of a team side by side, those whose holder stays too."""
    earlier = {(seat.role, seat.person): seat for seat in old}
    later = {(seat.role, seat.person): seat for seat in new}
    yield from ((role, earlier[role, who], later[role, who]) for role, who in later if (role, who) in earlier)
    for role, left, come in by_role(earlier, later):
        yield role, earlier[role, left] if left else None, later[role, come] if come else None
