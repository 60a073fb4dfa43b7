"""What a facility could send: one entry a venue and first date, with the most teams it can release there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

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
    own : int
        Most teams that it can send without any guest.
    days : tuple of date
        Dates on which its teams run simulations.
    starts : tuple of date
        Starts of sessions that it could attend.
    """

    facility: str
    venue: str
    first: date
    most: int
    own: int
    on_site: bool
    days: tuple[date, ...]
    starts: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class FacilityDemand:
    """All that one facility could send.

    Attributes
    ----------
    total, own : int
        Most teams in the round; most of them without any guest.
    together : tuple of (positions in visits, int)
        Visits that take people away on the same date, with the most teams that can be away.
    """

    total: int
    own: int
    visits: tuple[Visit, ...]
    together: tuple[tuple[tuple[int, ...], int], ...]


def facility_demand(facts: Facts, code: str, stopped: Callable[[], bool] = lambda: False) -> FacilityDemand:
    """Look at all visits that a facility could pay.

    Parameters
    ----------
    stopped : callable
        Asked now and then whether to give up; what was not looked at then counts as free to go.
    """
    return _Look(facts, code, stopped).demand()


class _Look:
    """The work of :func:`facility_demand`."""

    def __init__(self, facts: Facts, code: str, stopped: Callable[[], bool]) -> None:
        self.facts, self.stopped = facts, stopped
        self.facility = facts.round.facility(code)
        self.free, self.alone = Releases(facts), Releases(facts, guests=0)
        self._speakers: dict[date, bool] = {}

    def demand(self) -> FacilityDemand:
        wanted = self.facility.teams_wanted
        total = wanted if self.stopped() else self.free.in_all(self.facility)
        own = total if self.stopped() else min(total, self.alone.in_all(self.facility))
        visits = tuple(self._visits())
        return FacilityDemand(total, own, visits, tuple(self._together(visits, total)))

    def _visits(self) -> list[Visit]:
        facts, facility, found = self.facts, self.facility, []
        for (code, venue, first), modes in facts.modes.items():
            if code != facility.code:
                continue
            starts = tuple(s for s in facts.starts_of(venue, first) if facts.notice_clear(code, venue, s))
            days = tuple(day for day in modes[0].dates if facts.sims_on(first, day))
            if not starts or not all(self._spoken(day) for day in days):
                continue
            most = own = facility.teams_wanted
            if not self.stopped():
                most = self.free.by_modes(facility, modes)
                own = min(most, self.alone.by_modes(facility, modes)) if most else 0
            if most:
                found.append(Visit(code, venue, first, most, own, self.free.on_site(modes[0]), days, starts))
        return found

    def _spoken(self, day: date) -> bool:
        """Whether any trainer who speaks the facility's working language can be with a crew on a date."""
        facts = self.facts
        if not facts.on(Rule.CREW_STAFFED):
            return True
        if day not in self._speakers:
            language, default = facts.round.working_language(self.facility), facts.settings.round.language
            able = (t for t in facts.round.trainers if language in (t.languages or (default,)))
            self._speakers[day] = any(facts.trainer_free(t, day) for t in able)
        return self._speakers[day]

    def _together(self, visits: tuple[Visit, ...], total: int) -> list[tuple[tuple[int, ...], int]]:
        several = self.facts.settings.session.days_per_team > 1
        by_date: dict[date, list[int]] = defaultdict(list)
        for index, visit in enumerate(visits):
            if not visit.on_site:
                for day in self._modes(visit)[0].dates:
                    by_date[day].append(index)
        rows = []
        for day, together in by_date.items():
            if self.stopped():
                most = total
            elif several and len({visits[i].first for i in together}) > 1:
                most = self.free.on_date(self.facility, day)
            else:
                modes = (mode for i in together for mode in self._modes(visits[i]))
                most = self.free.by_modes(self.facility, modes)
            rows.append((tuple(together), min(most, total)))
        return rows

    def _modes(self, visit: Visit) -> tuple[Mode, ...]:
        return self.facts.modes[visit.facility, visit.venue, visit.first]
