"""Why a facility could send no further team from a date: the first thing in the way, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from roundplan.domain.counts import counted
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.presence import has_roster, seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, Include, OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.away import number_of
from roundplan.solver.assembly.filling import can_fill, fills, turns_possible
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
    """

    stage: int
    rule: Rule | None
    words: str


NO_OBSTACLE = Obstacle(POSSIBLE, None, "")


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
            return Obstacle(JOINT, Rule.TEAM_MINIMUM, "too few people are left for three different minimum seats")
        options = self._options(can_sit)
        if not options:
            words = f"fewer people can be seated than its usual team of {len(self.facility.usual_team)} needs"
            return Obstacle(USUAL, Rule.TEAM_MIRRORS_HOME, words)
        found = [self._cover(seats, can_sit, mode) for seats in options]
        return (
            min(found, key=lambda o: o is not None) or self._referral(mode) or self._run(options, mode) or NO_OBSTACLE
        )

    def _nobody(self, role: Role, first: date) -> Obstacle:
        """Say why nobody can be seated in a role."""
        able = [p for p in self.staff if role in p.roles]
        free = [p for p in able if p.code not in self.seated]
        if not able:
            return Obstacle(SEAT, Rule.TEAM_MINIMUM, f"it has no {role.value} by the staff table")
        if not free:
            words = f"{_all_of(able, role)} {_have(able)} a seat in the round already"
            return Obstacle(SEAT, Rule.ONCE_ONLY, words)
        why = [seat_obstacle(self.facts.round, p, first) or "not available" for p in free]
        if all(p.include is Include.NO for p in free):
            return Obstacle(SEAT, Rule.INCLUDE, f"{_rest_of(able, free, role)} {_are(free)} marked 'no'")
        rule = Rule.ONCE_ONLY if set(why) == {"trained too recently"} else Rule.STAFF_AVAILABLE
        return Obstacle(SEAT, rule, f"{_rest_of(able, free, role)} {_are(free)} {' or '.join(dict.fromkeys(why))}")

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
        words = f"somebody would have to cover more than {counted(limit, 'shift')} in a row"
        return Obstacle(RUN, Rule.COVER_RUN, words)

    def _cover(self, seats: Sequence[Role], can_sit: Sequence[Person], mode: Mode) -> Obstacle | None:
        counts = self.facts.on_site_cover(self.facility) if mode.own_site else OnSiteCover.NO
        for key in self._shifts(mode):
            people = self.facts.present(self.facility.code, key)
            keep = self.facts.keep_team(self.facility.code, key)
            if not can_fill(keep, people):
                words = f"{self._missing(keep, people)} even with everybody at home"
                return Obstacle(COVER, Rule.COVER_KEPT, words)
            if counts is OnSiteCover.INTERRUPTIBLE or fills(seats, keep, can_sit, people):
                continue
            return self._short(seats, keep, can_sit, people, key)
        return None

    def _short(
        self, seats: Sequence[Role], keep: Sequence[Role], can_sit: Sequence[Person], people: Sequence[Person],
        key: ShiftKey,
    ) -> Obstacle:  # fmt: skip
        """Name the role that cannot both be seated and stay."""
        by = "by day" if key[1] is Shift.DAY else "by night"
        bare = self.facts.round.keep_team(self.facility, key[1])
        if len(keep) > len(bare) and fills(seats, bare, can_sit, people):
            words = f"{by} it has no roster, and with the spare people asked for too few would stay"
            return Obstacle(COVER, Rule.ROSTER_KNOWN, words)
        for role in dict.fromkeys((*keep, *seats)):
            stay, sit = keep.count(role), seats.count(role)
            able = {p.code for p in people if role in p.cover_roles} | {p.code for p in can_sit if role in p.roles}
            if stay and sit and len(able) < stay + sit:
                return Obstacle(COVER, Rule.COVER_KEPT, f"{self._all_there(len(able), role)} must stay {by}")
        unknown = (
            "" if has_roster(self.facts.round, self.facility.code, *key) else ", with all present as no roster is known"
        )
        return Obstacle(COVER, Rule.COVER_KEPT, f"too few people would stay {by} for the emergency team{unknown}")

    def _all_there(self, able: int, role: Role) -> str:
        """Name everybody there for a role; the only one of the staff, or the only one there at the time."""
        if able > 1:
            return f"everyone who is there and authorised as {role.value}"
        alone = sum(role in p.roles for p in self.staff) <= 1
        return f"its only {role.value}" if alone else f"the only {role.value} who is there"

    @staticmethod
    def _missing(keep: Sequence[Role], people: Sequence[Person]) -> str:
        for role in dict.fromkeys(keep):
            if sum(role in p.cover_roles for p in people) < list(keep).count(role):
                return f"nobody can cover as {role.value}"
        return "the emergency team is not complete"

    def _referral(self, mode: Mode) -> Obstacle | None:
        site = self.facility.refers_to
        if site is None:
            return None
        more = (Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
        for key in self._shifts(mode):
            roles = (*self.facts.round.keep_team(self.facts.round.facility(site), key[1]), *more)
            if not can_fill(roles, self.facts.present(site, key)):
                words = f"{self.facts.round.name_of(site)}, which takes its emergencies, has too few people present"
                return Obstacle(REFERRAL, Rule.COVER_REFERRAL, words)
        return None


def _all_of(people: Sequence[Person], role: Role) -> str:
    return (
        f"its only {role.value}" if len(people) == 1 else f"all {len(people)} of its people authorised as {role.value}"
    )


def _rest_of(able: Sequence[Person], free: Sequence[Person], role: Role) -> str:
    """Name those without a seat, and how many of the same role have one."""
    seated = len(able) - len(free)
    if not seated:
        return _all_of(free, role)
    have, others = "has" if seated == 1 else "have", "the other" if len(free) == 1 else f"the other {len(free)}"
    return (
        f"{seated} of its {len(able)} people authorised as {role.value} {have} a seat in the round already and {others}"
    )


def _are(people: Sequence[Person]) -> str:
    return "is" if len(people) == 1 else "are"


def _have(people: Sequence[Person]) -> str:
    return "has" if len(people) == 1 else "have"
