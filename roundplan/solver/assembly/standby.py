"""Finds a standby for each seat of the minimum, where there is one."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from roundplan.domain.decision import Do, LockKind
from roundplan.domain.person import Person
from roundplan.domain.plan import Team
from roundplan.domain.presence import seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, Include, OnSiteCover, Role
from roundplan.solver.assembly.away import Absences, Sitter
from roundplan.solver.assembly.filling import can_fill

KEEPS_HOME = frozenset(
    {"on leave", "on night duty that date", "on night duty the night before", "lent to another facility"}
)


def with_standbys(absences: Absences, announced: Iterable[Team] = ()) -> tuple[Team, ...]:
    """Return the plan's teams with standbys named.

    Parameters
    ----------
    announced : iterable of Team
        Teams whose standbys stay wherever they still can.
    """
    before = {(team.code, seat.person, seat.role): seat.standby for team in announced for seat in team.seats}
    finder = _Finder(absences, before)
    chosen = {
        (sitter.team.code, sitter.person.code, sitter.seat.role): finder.standby(sitter)
        for sitter in absences.sitters
        if sitter.seat.role in MINIMUM_ROLES
    }
    return tuple(
        replace(
            team,
            seats=tuple(replace(seat, standby=chosen.get((team.code, seat.person, seat.role))) for seat in team.seats),
        )
        for team in absences.plan.teams
    )


class _Finder:
    """Chooses standbys one after another, each as seldom asked as possible."""

    def __init__(self, absences: Absences, before: Mapping[tuple[str, str, Role], str | None]) -> None:
        self.absences, self.facts, self.before = absences, absences.facts, before
        self.asked: Counter[str] = Counter()
        self.kept_out = {
            (lock.who, lock.date)
            for lock in absences.facts.round.locks
            if lock.do is Do.FORBID and lock.kind is LockKind.PERSON
        }
        self.busy: dict[str, set[date]] = defaultdict(set)
        self.sessions: dict[str, set[str]] = defaultdict(set)
        for sitter in absences.sitters:
            self.busy[sitter.person.code] |= sitter.dates
            self.sessions[sitter.person.code].add(sitter.team.session)
        for person, dates in absences.teaching.items():
            self.busy[person] |= dates

    def standby(self, sitter: Sitter) -> str | None:
        """Return who could take the seat; people never seated and asked least come first."""
        able = [p for p in self.facts.round.staff_of(sitter.person.facility) if self._able(p, sitter)]
        able.sort(
            key=lambda p: (
                p.code != self.before.get((sitter.team.code, sitter.person.code, sitter.seat.role)),
                bool(self.sessions[p.code]),
                self.asked[p.code],
                p.roles.index(sitter.seat.role),
                p.code,
            )
        )
        found = next((p.code for p in able if self._cover_holds(p, sitter)), None)
        if found is not None:
            self.asked[found] += 1
        return found

    def _able(self, person: Person, sitter: Sitter) -> bool:
        taken = sitter.team.session in self.sessions[person.code] or self.busy[person.code] & sitter.dates
        if sitter.seat.role not in person.roles or person.include is Include.NO or taken:
            return False
        if any((person.code, day) in self.kept_out for day in (None, *sitter.team.dates)):
            return False
        for day in sitter.dates:
            words = seat_obstacle(self.facts.round, person, day)
            if words is not None and (day in sitter.team.dates or words in KEEPS_HOME):
                return False
        return True

    def _cover_holds(self, person: Person, sitter: Sitter) -> bool:
        keys = sitter.away if sitter.counts is OnSiteCover.NO else sitter.seated
        without = {person.code, sitter.person.code}
        facility = person.facility
        return all(
            can_fill(self.facts.keep_team(facility, key), self.absences.stays(facility, key), without) for key in keys
        )
