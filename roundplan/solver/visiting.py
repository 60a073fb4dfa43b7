"""Who could attend where from which date: looked at one visit at a time, or all of them."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta
from typing import TYPE_CHECKING

from roundplan.domain.facility import Facility
from roundplan.solver.attendance import Mode

if TYPE_CHECKING:
    from roundplan.solver.facts import Facts

Visit = tuple[str, str, date]
"""Facility, venue and the first date attended."""


class Visiting:
    """The visits of a round; each is looked at once, when it is asked for."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self._firsts: dict[str, tuple[date, ...]] = {}
        self._modes: dict[Visit, tuple[Mode, ...]] = {}

    def everywhere(self) -> dict[Visit, tuple[Mode, ...]]:
        """Return every visit that is possible, with the ways to attend."""
        keys = [
            (facility.code, venue.code, first)
            for venue in self.facts.venues
            for facility in self.facts.round.facilities
            for first in self.firsts(venue.code)
        ]
        return {key: found for key in keys if (found := self.modes(*key))}

    def of(self, facility: str) -> dict[Visit, tuple[Mode, ...]]:
        """Return the visits that a facility can pay, with the ways to attend."""
        keys = ((facility, venue.code, first) for venue in self.facts.venues for first in self.firsts(venue.code))
        return {key: found for key in keys if (found := self.modes(*key))}

    def firsts(self, venue: str) -> tuple[date, ...]:
        """Return the first dates that a team could attend from at a venue, notice and roads left aside."""
        if venue not in self._firsts:
            facts, session = self.facts, self.facts.settings.session
            slack = session.days - session.days_per_team
            found = {s + timedelta(days=k) for s in facts.session_starts[venue] for k in range(slack + 1)}
            self._firsts[venue] = tuple(sorted(found))
        return self._firsts[venue]

    def modes(self, facility: str, venue: str, first: date) -> tuple[Mode, ...]:
        """Return the ways in which a facility's teams can attend at a venue from a date."""
        key = (facility, venue, first)
        if key not in self._modes:
            self._modes[key] = self._found(*key)
        return self._modes[key]

    def in_order(self, visits: Collection[Visit]) -> list[Visit]:
        """Return those visits that are possible, in the order in which all would stand."""
        facts = self.facts
        places = {venue.code: number for number, venue in enumerate(facts.venues)}
        homes = {facility.code: number for number, facility in enumerate(facts.round.facilities)}
        known = (v for v in visits if v[1] in places and v[2] in self.firsts(v[1]) and self.modes(*v))
        return sorted(known, key=lambda v: (places[v[1]], homes[v[0]], v[2]))

    def _found(self, code: str, venue: str, first: date) -> tuple[Mode, ...]:
        facts = self.facts
        if not any(facts.notice_clear(code, venue, start) for start in facts.starts_of(venue, first)):
            return ()
        facility = facts.round.facility(code)
        modes = facts.attendance.modes(facility, facts.round.site(venue), first)
        return modes if modes and _sends(facility, modes[0].dates) else ()


def _sends(facility: Facility, dates: tuple[date, ...]) -> bool:
    return not facility.course_days or all(day in facility.course_days for day in dates)
