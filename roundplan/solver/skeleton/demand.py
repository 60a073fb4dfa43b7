"""What all facilities could send, and the locks and people that bear on several of them."""

from __future__ import annotations

import copy
from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import date
from itertools import combinations

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.role import MINIMUM_ROLES
from roundplan.domain.rules import Rule
from roundplan.solver.facts import Facts
from roundplan.solver.skeleton.facility_demand import FacilityDemand, Visit, facility_demand

Asked = Sequence[FacilityDemand | None]
"""What was found of facilities; None where nobody had the time to look."""


class Demand:
    """All visits, and the limits that hold for a facility as a whole.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    stopped : callable
        Asked now and then whether to give up; what was not looked at then counts as free to go.
    each : callable, optional
        Looks at facilities, given their codes, side by side; None = one after another, here.
    """

    def __init__(
        self,
        facts: Facts,
        stopped: Callable[[], bool] = lambda: False,
        each: Callable[[list[str]], Asked] | None = None,
    ) -> None:
        self.facts = facts
        codes = [f.code for f in facts.round.facilities if f.teams_wanted]
        found = each(codes) if each is not None else [facility_demand(facts, code, stopped) for code in codes]
        asked = {
            code: known or facility_demand(facts, code, lambda: True) for code, known in zip(codes, found, strict=True)
        }
        self.visits: tuple[Visit, ...] = ()
        self._together: list[tuple[list[int], int]] = []
        self.by_facility: dict[str, list[int]] = defaultdict(list)
        self.total: dict[str, int] = {}
        self.own: dict[str, int] = {}
        visits: list[Visit] = []
        for code, entry in asked.items():
            place = {}
            for index, visit in enumerate(entry.visits):
                if not self._forbidden(code, visit.venue, visit.first):
                    place[index] = len(visits)
                    self.by_facility[code].append(len(visits))
                    visits.append(visit)
            if place:
                self.total[code], self.own[code] = entry.total, entry.own
            for together, most in entry.together:
                if here := [place[index] for index in together if index in place]:
                    self._together.append((here, most))
        self.visits = tuple(visits)
        self.facilities = tuple(f for f in facts.round.facilities if f.code in self.total)

    def without_facts(self) -> Demand:
        """Return a copy to send to a worker, which gives it its facts again."""
        bare = copy.copy(self)
        del bare.facts
        return bare

    def with_facts(self, facts: Facts) -> Demand:
        """Return a copy with the facts that were left out."""
        whole = copy.copy(self)
        whole.facts = facts
        return whole

    def _locks(self, do: Do, *kinds: LockKind) -> list[Lock]:
        held = self.facts.round.locks if self.facts.on(Rule.LOCKS) else ()
        return [lock for lock in held if lock.do is do and lock.kind in kinds]

    def _forbidden(self, code: str, venue: str, first: date) -> bool:
        locks = self._locks(Do.FORBID, LockKind.VISIT, LockKind.FACILITY)
        return any(self._speaks_of(lock, code, venue, first) for lock in locks)

    def _speaks_of(self, lock: Lock, code: str, venue: str, first: date) -> bool:
        """Whether a lock on a visit, or on a facility as a whole, means this visit."""
        if lock.who != code or lock.kind is LockKind.FACILITY:
            return lock.who == code
        days = (lock.date - first).days if lock.date is not None else 0
        return lock.place in (None, venue) and 0 <= days < self.facts.settings.session.days_per_team

    def visits_kept(self) -> list[list[int]]:
        """Return for each lock that keeps a visit or a facility the visits of which one must be paid."""
        return [
            [index for index in range(len(self.visits)) if self._speaks_of(lock, *self.key(index))]
            for lock in self._locks(Do.KEEP, LockKind.VISIT, LockKind.FACILITY)
        ]

    def sessions_kept(self) -> list[list[tuple[str, date]]]:
        """Return for each lock that keeps a session the venues and starts of which one must be held, by any crew."""
        facts, found = self.facts, []
        for lock in self._locks(Do.KEEP, LockKind.SESSION):
            dates = facts.dates if lock.date is None else (lock.date,)
            found.append([
                (venue, start)
                for venue, starts in facts.session_starts.items() if lock.place in (None, venue)
                for start in starts if set(dates) & set(facts.session_dates(start))
            ])  # fmt: skip
        return found

    def away_together(self) -> list[tuple[list[int], int]]:
        """Return sets of visits that take people away on the same date, with the most teams that can."""
        return self._together

    def key(self, index: int) -> tuple[str, str, date]:
        """Return facility, venue and first date of a visit."""
        visit = self.visits[index]
        return visit.facility, visit.venue, visit.first

    def people_in_all(self) -> list[tuple[int, int]]:
        """Return for each set of minimum roles (seats a team, seats that all people of the round can fill)."""
        facts = self.facts
        rows: list[tuple[int, int]] = []
        if not (facts.on(Rule.TEAM_MINIMUM) and facts.on(Rule.ONCE_ONLY)):
            return rows
        days = facts.settings.session.days_per_team
        firsts = sorted({visit.first for visit in self.visits})
        free = [
            p for p in facts.round.people
            if any(all(facts.obstacle(p, first + k * (facts.dates[1] - facts.dates[0])) is None for k in range(days))
                   for first in firsts)
        ] if len(facts.dates) > 1 else list(facts.round.people)  # fmt: skip
        for size in range(1, len(MINIMUM_ROLES) + 1):
            for group in combinations(MINIMUM_ROLES, size):
                able = [p for p in free if set(group) & set(facts.roles_of(p))]
                rows.append((size, sum(2 if p.second_seat else 1 for p in able)))
        return rows
