"""What facilities could send: one entry a facility, venue and first date, with the most teams it can release there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.role import MINIMUM_ROLES
from roundplan.domain.rules import Rule
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Facts
from roundplan.solver.skeleton.releases import Releases


@dataclass(frozen=True, slots=True)
class Visit:
    """Teams that a facility could send to one session.

    Attributes
    ----------
    first : date
        First date attended.
    most : int
        Most teams it can release for it, guests free.
    days : tuple of date
        Dates on which its teams run simulations.
    starts : tuple of date
        Starts of sessions that it could attend.
    """

    facility: str
    venue: str
    first: date
    most: int
    on_site: bool
    days: tuple[date, ...]
    starts: tuple[date, ...]


class Demand:
    """All visits, and the limits that hold for a facility as a whole.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    stopped : callable
        Asked now and then whether to give up; what was not looked at then counts as free to go.
    """

    def __init__(self, facts: Facts, stopped: Callable[[], bool] = lambda: False) -> None:
        self.facts = facts
        self.releases = Releases(facts)
        self.stopped = stopped
        self._speakers: dict[tuple[str, date], bool] = {}
        self.visits = tuple(self._visits())
        codes = {visit.facility for visit in self.visits}
        self.facilities = tuple(f for f in facts.round.facilities if f.code in codes)
        self.total = {f.code: self._total(f.code) for f in self.facilities}
        self.by_facility: dict[str, list[int]] = defaultdict(list)
        for index, visit in enumerate(self.visits):
            self.by_facility[visit.facility].append(index)

    def _visits(self) -> list[Visit]:
        facts, found = self.facts, []
        for (code, venue, first), modes in facts.modes.items():
            facility = facts.round.facility(code)
            starts = tuple(s for s in facts.starts_of(venue, first) if facts.notice_clear(code, venue, s))
            if not facility.teams_wanted or not starts or self._forbidden(code, venue, first):
                continue
            most = facility.teams_wanted if self.stopped() else self.releases.by_modes(facility, modes)
            if most:
                days = tuple(day for day in modes[0].dates if facts.sims_on(first, day))
                if not all(self._spoken(facts.round.working_language(facility), day) for day in days):
                    continue
                found.append(Visit(code, venue, first, most, self.releases.on_site(modes[0]), days, starts))
        return found

    def _spoken(self, language: str, day: date) -> bool:
        """Whether any trainer who speaks a language can be with a crew on a date."""
        facts = self.facts
        if not facts.on(Rule.CREW_STAFFED):
            return True
        if (language, day) not in self._speakers:
            default = facts.settings.round.language
            able = (t for t in facts.round.trainers if language in (t.languages or (default,)))
            self._speakers[language, day] = any(facts.trainer_free(t, day) for t in able)
        return self._speakers[language, day]

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

    def _total(self, code: str) -> int:
        facility = self.facts.round.facility(code)
        return facility.teams_wanted if self.stopped() else self.releases.in_all(facility)

    def away_together(self) -> list[tuple[list[int], int]]:
        """Return sets of visits that take people away on the same date, with the most teams that can."""
        facts, rows = self.facts, []
        several = facts.settings.session.days_per_team > 1
        for facility in self.facilities:
            by_date: dict[date, list[int]] = defaultdict(list)
            for index in self.by_facility[facility.code]:
                if not self.visits[index].on_site:
                    for day in self._modes(index)[0].dates:
                        by_date[day].append(index)
            for day, together in by_date.items():
                if several and len({self.visits[i].first for i in together}) > 1:
                    most = self.releases.on_date(facility, day)
                else:
                    most = self.releases.by_modes(facility, (mode for i in together for mode in self._modes(i)))
                rows.append((together, min(most, self.total[facility.code])))
        return rows

    def _modes(self, index: int) -> tuple[Mode, ...]:
        return self.facts.modes[self.key(index)]

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
