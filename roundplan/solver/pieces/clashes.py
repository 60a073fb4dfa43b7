"""Whether two pieces that were planned side by side, each as if the other stayed as it was, go together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta

from roundplan.domain.rules import Rule
from roundplan.domain.supply import ItemKind
from roundplan.solver.facts import Facts
from roundplan.solver.limits.kit import can_be_bought
from roundplan.solver.taken import Taken

STAFF_APART = timedelta(days=8)
"""Dates so far apart never meet in the shifts that one visit looks at (four dates before it and after)."""
TRAINERS_APART = timedelta(days=14)
"""Dates so far apart never meet in a trainer's row of nights or days."""


Dates = dict[str, set[date]]


class Clashes:
    """Tells whether changes to a plan made side by side could break a rule together."""

    def __init__(self, facts: Facts, most_teams: Mapping[str, int]) -> None:
        self.facts, self.most_teams = facts, most_teams
        self.short = self._short_dates()
        self.capped = facts.settings.prices.cap is not None and facts.on(Rule.BUDGET_CAP)

    def _short_dates(self) -> frozenset[date]:
        """Return the dates for which some consumable can no longer be bought."""
        facts = self.facts
        if not facts.on(Rule.KIT_ENOUGH):
            return frozenset()
        items = [item for item in facts.round.items if item.kind is ItemKind.CONSUMABLE]
        return frozenset(day for day in facts.dates if any(not can_be_bought(facts, item, day) for item in items))

    def between(self, a: Taken, b: Taken) -> bool:
        """Whether two changes clash; each may be what was planned or what was there before."""
        if self.capped or a.seated & b.seated or a.sessions & b.sessions or a.out & b.out:
            return True
        if any(key in b.beds for key in a.beds):
            return True
        if any(abs(x - y) < TRAINERS_APART for t, x in a.aboard for u, y in b.aboard if t == u):
            return True
        if self.short and self._draws(a) and self._draws(b):
            return True
        return self._staff(a, b)

    def too_many(self, whole: Taken) -> bool:
        """Whether a plan sends more teams of a facility than are wanted and can be sent."""
        return any(teams > self.most_teams.get(code, 0) for code, teams in whole.teams.items())

    def _draws(self, taken: Taken) -> bool:
        return any(start in self.short for start, _ in taken.uses)

    def _staff(self, a: Taken, b: Taken) -> bool:
        """Whether shifts of one facility, or of one and the site that takes its emergencies, are near each other."""
        mine, others = self._dates(a), self._dates(b)
        return (
            self._near(mine, others)
            or self._near(self._referred(mine), others)
            or self._near(mine, self._referred(others))
        )

    def _dates(self, taken: Taken) -> Dates:
        found: Dates = defaultdict(set)
        for code, (day, _) in taken.touched:
            found[code].add(day)
        return found

    def _referred(self, dates: Dates) -> Dates:
        """Return the dates by the site that takes the emergencies."""
        found: Dates = defaultdict(set)
        for code, days in dates.items():
            if site := self.facts.round.facility(code).refers_to:
                found[site] |= days
        return found

    def _near(self, mine: Dates, others: Dates) -> bool:
        return any(
            abs(x - y) <= STAFF_APART for place, days in mine.items() for x in days for y in others.get(place, ())
        )
