"""Why a facility could send no further team from a date: the first thing in the way, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.presence import has_roster, seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, Include, OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.domain.saying import Saying, phrase, saying
from roundplan.solver.assembly.away import number_of
from roundplan.solver.assembly.filling import can_fill, fills, turns_possible
from roundplan.solver.assembly.obstacle_words import (
    all_seated,
    missing_at_home,
    must_stay,
    no_roster,
    rest_kept,
    too_few_stay,
)
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Facts, ShiftKey

SEAT, JOINT, USUAL, COVER, REFERRAL, RUN, POSSIBLE = range(7)
"""How far a date gets: a role without anybody, too few people in all, usual seats, cover, the referral
site, nobody named too often in a row, all."""


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What stands in the way on a date.

    Attributes
    ----------
    stage : int
        How far the date gets; the most is no obstacle.
    said : Saying or None
        What stands in the way; None for no obstacle.
    """

    stage: int
    rule: Rule | None
    said: Saying | None


NO_OBSTACLE = Obstacle(POSSIBLE, None, None)


class Diagnosis:
    """Looks for what keeps a facility from one more team.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    facility : Facility
        Whose team.
    seated : frozenset of str
        People who sit in a team already.
    """

    def __init__(self, facts: Facts, facility: Facility, seated: frozenset[str]) -> None:
        self.facts, self.facility, self.seated = facts, facility, seated
        self.staff = facts.round.staff_of(facility.code)
        self._known: dict[tuple[object, ...], Obstacle] = {}

    def on(self, mode: Mode) -> Obstacle:
        """Return what stands in the way of one team in one mode."""
        key = (mode.dates, mode.touched_dates, mode.nights, mode.own_site)
        if key not in self._known:
            self._known[key] = self._obstacle(mode)
        return self._known[key]

    def _obstacle(self, mode: Mode) -> Obstacle:
        can_sit = [p for p in self.staff if p.code not in self.seated and self.facts.can_sit(p, mode.dates[0])]
        for role in MINIMUM_ROLES:
            if not any(role in p.roles for p in can_sit):
                return self._nobody(role, mode.dates[0])
        if not fills(MINIMUM_ROLES, [], can_sit, []):
            said = saying("too few people are left for three different minimum seats")
            return Obstacle(JOINT, Rule.TEAM_MINIMUM, said)
        options = self._options(can_sit)
        if not options:
            usual = len(self.facility.usual_team)
            said = saying("fewer people can be seated than its usual team of {number} needs", number=usual)
            return Obstacle(USUAL, Rule.TEAM_MIRRORS_HOME, said)
        found = [self._cover(seats, can_sit, mode) for seats in options]
        return (
            min(found, key=lambda o: o is not None) or self._referral(mode) or self._run(options, mode) or NO_OBSTACLE
        )

    def _nobody(self, role: Role, first: date) -> Obstacle:
        """Say why nobody can be seated in a role."""
        able = [p for p in self.staff if role in p.roles]
        free = [p for p in able if p.code not in self.seated]
        if not able:
            return Obstacle(SEAT, Rule.TEAM_MINIMUM, saying("it has no {role} by the staff table", role=role))
        if not free:
            return Obstacle(SEAT, Rule.ONCE_ONLY, all_seated(len(able), role))
        why = [seat_obstacle(self.facts.round, p, first) or phrase("not available") for p in free]
        if all(p.include is Include.NO for p in free):
            return Obstacle(SEAT, Rule.INCLUDE, rest_kept(len(able), len(free), role, [phrase("marked 'no'")]))
        rule = Rule.ONCE_ONLY if set(why) == {"trained too recently"} else Rule.STAFF_AVAILABLE
        return Obstacle(SEAT, rule, rest_kept(len(able), len(free), role, list(dict.fromkeys(why))))

    def _options(self, can_sit: Sequence[Person]) -> list[tuple[Role, ...]]:
        """Return the seats of each team that can be filled with as many usual ones empty as may be."""
        usual = self.facility.usual_team
        spare = [i for i, role in enumerate(usual) if role not in MINIMUM_ROLES or role in usual[:i]]
        most = min(self.facts.settings.teams.empty_seats, len(spare))
        options = (tuple(r for i, r in enumerate(usual) if i not in left) for left in combinations(spare, most))
        return [seats for seats in dict.fromkeys(options) if fills(seats, [], can_sit, [])]

    def _shifts(self, mode: Mode) -> Iterator[ShiftKey]:
        for day in mode.touched_dates:
            yield day, Shift.DAY
        for night in mode.nights:
            yield night, Shift.NIGHT

    def _run(self, options: Sequence[tuple[Role, ...]], mode: Mode) -> Obstacle | None:
        """Say so if somebody would have to be named as cover for too many shifts in a row."""
        limit = self.facts.round.cover_run(self.facility)
        shifts = sorted(self._shifts(mode), key=number_of)
        counts = self.facts.on_site_cover(self.facility) if mode.own_site else OnSiteCover.NO
        if not self.facts.on(Rule.COVER_RUN) or counts is OnSiteCover.INTERRUPTIBLE or len(shifts) <= limit:
            return None
        can_sit = [p for p in self.staff if p.code not in self.seated and self.facts.can_sit(p, mode.dates[0])]
        can_go = [p for p in can_sit if not any(self.facts.away_obstacle(p, day) for day in mode.touched_dates)]
        there = {key: self.facts.present(self.facility.code, key) for key in shifts}
        keep = {key: self.facts.keep_team(self.facility.code, key) for key in shifts}
        if any(turns_possible(seats, can_go, keep, there, limit) for seats in options):
            return None
        said = saying("somebody would have to cover more than {number} shifts in a row", number=limit)
        if limit == 1:
            said = saying("somebody would have to cover more than 1 shift in a row")
        return Obstacle(RUN, Rule.COVER_RUN, said)

    def _cover(self, seats: Sequence[Role], can_sit: Sequence[Person], mode: Mode) -> Obstacle | None:
        counts = self.facts.on_site_cover(self.facility) if mode.own_site else OnSiteCover.NO
        for key in self._shifts(mode):
            people = self.facts.present(self.facility.code, key)
            keep = self.facts.keep_team(self.facility.code, key)
            if not can_fill(keep, people):
                return Obstacle(COVER, Rule.COVER_KEPT, missing_at_home(keep, people))
            if counts is OnSiteCover.INTERRUPTIBLE or fills(seats, keep, can_sit, people):
                continue
            return self._short(seats, keep, can_sit, people, key)
        return None

    def _short(
        self, seats: Sequence[Role], keep: Sequence[Role], can_sit: Sequence[Person], people: Sequence[Person],
        key: ShiftKey,
    ) -> Obstacle:  # fmt: skip
        """Name the role that cannot both be seated and stay."""
        bare = self.facts.round.keep_team(self.facility, key[1])
        if len(keep) > len(bare) and fills(seats, bare, can_sit, people):
            return Obstacle(COVER, Rule.ROSTER_KNOWN, no_roster(key[1]))
        for role in dict.fromkeys((*keep, *seats)):
            stay, sit = keep.count(role), seats.count(role)
            able = {p.code for p in people if role in p.cover_roles} | {p.code for p in can_sit if role in p.roles}
            if stay and sit and len(able) < stay + sit:
                alone = sum(role in p.roles for p in self.staff) <= 1
                return Obstacle(COVER, Rule.COVER_KEPT, must_stay(len(able), role, key[1], alone=alone))
        known = has_roster(self.facts.round, self.facility.code, *key)
        return Obstacle(COVER, Rule.COVER_KEPT, too_few_stay(key[1], roster=known))

    def _referral(self, mode: Mode) -> Obstacle | None:
        site = self.facility.refers_to
        if site is None:
            return None
        more = (Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
        for key in self._shifts(mode):
            roles = (*self.facts.round.keep_team(self.facts.round.facility(site), key[1]), *more)
            if not can_fill(roles, self.facts.present(site, key)):
                name = self.facts.round.name_of(site)
                said = saying("{site}, which takes its emergencies, has too few people present", site=name)
                return Obstacle(REFERRAL, Rule.COVER_REFERRAL, said)
        return None
