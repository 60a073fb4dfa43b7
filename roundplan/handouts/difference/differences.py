"""All that differs between two versions of a plan, asked for by reader."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from roundplan.handouts.difference.change import Change
from roundplan.handouts.difference.facility import facility_changes
from roundplan.handouts.difference.matching import Matched
from roundplan.handouts.difference.road import crew_changes, trainer_changes
from roundplan.handouts.difference.session import session_changes
from roundplan.handouts.plan_index import PlanIndex


@dataclass(frozen=True)
class Differences:
    """What differs between an earlier and a later plan of a round; each question is worked out once.

    Differences in the tables that no part of the plan shows (a name spelt anew, a telephone number) are none of them.
    """

    matched: Matched

    @cached_property
    def _found(self) -> dict[tuple[str, str], tuple[Change, ...]]:
        return {}

    def of_facility(self, code: str) -> tuple[Change, ...]:
        """Return what a facility has to be told: its teams, its people's seats, who stays, what is held there."""
        key = ("facility", code)
        if key not in self._found:
            self._found[key] = tuple(facility_changes(self.matched, code))
        return self._found[key]

    def of_district(self, name: str) -> tuple[Change, ...]:
        """Return what a district's facilities have to be told, facility by facility (``Change.facility``)."""
        rounds = (self.matched.after.training_round, self.matched.before.training_round)
        codes = dict.fromkeys(f.code for r in rounds for f in r.facilities if f.district == name)
        return tuple(change for code in codes for change in self.of_facility(code))

    def of_trainer(self, code: str) -> tuple[Change, ...]:
        """Return what a trainer has to be told: dates with a crew, sessions, leads, who comes."""
        key = ("trainer", code)
        if key not in self._found:
            self._found[key] = tuple(trainer_changes(self.matched, code))
        return self._found[key]

    def of_crew(self, code: str) -> tuple[Change, ...]:
        """Return what a crew has to be told: dates of its trips, drives, sessions, who is aboard, what to load."""
        key = ("crew", code)
        if key not in self._found:
            self._found[key] = tuple(crew_changes(self.matched, code))
        return self._found[key]

    def of_session(self, code: str) -> tuple[Change, ...]:
        """Return what is different about a session of the later plan: date, place, hours, who comes, slots."""
        key = ("session", code)
        if key not in self._found:
            pair = next(pair for pair in self.matched.sessions if pair[1] is not None and pair[1].code == code)
            self._found[key] = tuple(session_changes(self.matched, *pair))
        return self._found[key]

    @property
    def facilities(self) -> tuple[str, ...]:
        """Codes of the facilities that have something to be told, in the order of their table."""
        rounds = (self.matched.after.training_round, self.matched.before.training_round)
        return tuple(
            code for code in dict.fromkeys(f.code for r in rounds for f in r.facilities) if self.of_facility(code)
        )

    @property
    def trainers(self) -> tuple[str, ...]:
        """Codes of the trainers who have something to be told, in the order of their table."""
        rounds = (self.matched.after.training_round, self.matched.before.training_round)
        return tuple(
            code for code in dict.fromkeys(t.code for r in rounds for t in r.trainers) if self.of_trainer(code)
        )

    @property
    def crews(self) -> tuple[str, ...]:
        """Codes of the crews that have something to be told, in the order of their table."""
        rounds = (self.matched.after.training_round, self.matched.before.training_round)
        return tuple(code for code in dict.fromkeys(c.code for r in rounds for c in r.crews) if self.of_crew(code))


def differences(before: PlanIndex, after: PlanIndex) -> Differences:
    """Return what differs between an earlier and a later plan of a round, each with the tables it came from."""
    return Differences(Matched(before, after))
