"""How many teams a facility can release: at one visit, on one date, in the whole round; guests are free."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from ortools.sat.python import cp_model

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import ONE_DAY, Facts, ShiftKey

DAY, NIGHT = Shift.DAY, Shift.NIGHT


class Releases:
    """Upper limits of what facilities can send, each from a small exact model over the facility's named staff.

    Every figure is a relaxation: guests come from nowhere, and only the shifts that a visit is sure to touch count.

    Parameters
    ----------
    facts : Facts
        The round seen by the solver.
    guests : int, optional
        Most guests a team; None = as the round allows.
    """

    def __init__(self, facts: Facts, guests: int | None = None) -> None:
        self.facts = facts
        self._known: dict[object, int] = {}
        self._names: dict[tuple[int, Role], list[cp_model.IntVar]] = {}
        self._able: dict[tuple[str, date], tuple[Person, ...]] = {}
        teams = facts.settings.teams
        self.guests = 6 if not facts.on(Rule.GUEST_LIMIT) or teams.guests_pooled else teams.guests
        if guests is not None:
            self.guests = min(guests, self.guests)

    def by_modes(self, facility: Facility, modes: Iterable[Mode]) -> int:
        """Return the most teams that can be away on the same dates, each in one of the given ways.

        Teams that attend in several ways draw on everybody who can go in any of them, and are all away in the shifts
        that every way touches.
        """
        ways = {(mode.before, mode.after): mode for mode in modes}
        if len(ways) == 1 or (False, False) in ways:  # whoever can go at all can go on the day, and touches least
            return self._by_mode(facility, ways.get((False, False), next(iter(ways.values()))))
        able = {p.code: p for mode in ways.values() for p in self._travelling(facility, mode)}
        shifts = set.intersection(*(set(_touched(mode)) for mode in ways.values()))
        return self._most(facility, tuple(able.values()), tuple(sorted(shifts, key=_order)))

    def on_date(self, facility: Facility, day: date) -> int:
        """Return the most teams away on a date, whatever else is touched."""
        able = tuple(p for p in self._staff(facility) if self.facts.obstacle(p, day) is None)
        return self._most(facility, able, ((day, DAY),))

    def in_all(self, facility: Facility) -> int:
        """Return the most teams in the whole round, nobody trained twice and no cover asked for."""
        if not self.facts.on(Rule.ONCE_ONLY):
            return facility.teams_wanted
        firsts = {first for code, _, first in self.facts.modes if code == facility.code}
        able = tuple(p for p in self._staff(facility) if any(self.facts.can_sit(p, first) for first in firsts))
        return self._most(facility, able, ())

    def on_site(self, mode: Mode) -> bool:
        """Whether people seated count as cover at home while others of them are seated."""
        facility = self.facts.round.facility(mode.facility)
        return mode.own_site and self.facts.on_site_cover(facility) is not OnSiteCover.NO

    def _staff(self, facility: Facility) -> tuple[Person, ...]:
        return self.facts.round.staff_of(facility.code)

    def _able_on(self, facility: Facility, first: date) -> tuple[Person, ...]:
        key = (facility.code, first)
        if key not in self._able:
            self._able[key] = tuple(p for p in self._staff(facility) if self.facts.can_sit(p, first))
        return self._able[key]

    def _by_mode(self, facility: Facility, mode: Mode) -> int:
        key = (facility.code, mode.dates, mode.before, mode.after, mode.own_site, bool(mode.nights))
        if key not in self._known:
            self._known[key] = self._alike(facility, mode)
        return self._known[key]

    def _alike(self, facility: Facility, mode: Mode) -> int:
        """Return the most teams that go as in a mode; the venue does not matter unless it is their own."""
        able = self._travelling(facility, mode)
        if self.on_site(mode):
            # One team after another leaves the others as cover, so only a single team has to leave the keep-team.
            shifts = tuple((day, DAY) for day in mode.dates)
            counts = self.facts.on_site_cover(facility)
            watching = counts is OnSiteCover.OBSERVERS and self.facts.on(Rule.COVER_ON_SITE)
            if watching and not self._most(facility, able, shifts, 1):
                return 0
            return self._most(facility, able, ())
        return self._most(facility, able, _touched(mode))

    def _travelling(self, facility: Facility, mode: Mode) -> tuple[Person, ...]:
        """Return who can attend in a way."""
        return tuple(
            p for p in self._able_on(facility, mode.dates[0])
            if not (mode.before and self.facts.away_obstacle(p, mode.dates[0] - ONE_DAY))
            and not (mode.after and self.facts.away_obstacle(p, mode.dates[-1] + ONE_DAY))
        )  # fmt: skip

    def _most(
        self, facility: Facility, able: tuple[Person, ...], shifts: tuple[ShiftKey, ...], most: int | None = None
    ) -> int:
        facts = self.facts
        most = facility.teams_wanted if most is None else min(most, facility.teams_wanted)
        if not facts.on(Rule.COVER_KEPT):
            shifts = ()
        if not all(self._referral(facility, shift) for shift in shifts):
            return 0
        case = _case(facts, facility, able, shifts, most)
        if case not in self._known:
            self._known[case] = self._solve(case) if most and (able or self.guests > 2) else 0
        return self._known[case]

    def _referral(self, facility: Facility, shift: ShiftKey) -> bool:
        """Whether the site that takes the emergencies has its augmented keep-team with everybody home."""
        site, facts = facility.refers_to, self.facts
        if site is None or not facts.on(Rule.COVER_REFERRAL):
            return True
        key = ("referral", site, shift)
        if key not in self._known:
            keep = facts.round.keep_team(facts.round.facility(site), shift[1])
            team = (*keep, Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
            self._known[key] = matching_size(team, facts.present(site, shift)) == len(team)
        return bool(self._known[key])

    def _solve(self, case: Case) -> int:
        """Maximise the teams: seats filled by own people or guests, those who stay fill each keep-team in turn."""
        model = cp_model.CpModel()
        teams = model.new_int_var(0, case.most, "teams")
        usual = {role: case.usual.count(role) for role in dict.fromkeys(case.usual)}
        filled: dict[Role, list[cp_model.IntVar]] = {role: [] for role in usual}
        for sort, number in case.people:
            away = [model.new_int_var(0, number, "") for role in sort.roles if role in usual]
            for role, var in zip((role for role in sort.roles if role in usual), away, strict=True):
                filled[role].append(var)
            model.add(sum(away) <= number)
            self._stay(model, case, sort, number, away)
        for step, keep in enumerate(case.keep):
            for role in dict.fromkeys(keep):
                model.add(sum(self._names.pop((step, role), [])) >= keep.count(role))
        self._teams(model, case, teams, filled)
        model.maximize(teams)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.catch_sigint_signal = False
        solver.parameters.cp_model_presolve = False
        solver.parameters.max_deterministic_time = 2.0
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return 0  # short of cover with everybody at home
        if status == cp_model.UNKNOWN:
            return case.most
        return int(solver.best_objective_bound + 1e-6)

    def _stay(self, model: cp_model.CpModel, case: Case, sort: Sort, number: int, away: list[cp_model.IntVar]) -> None:
        """Let those of a sort who stay cover roles in turn, none of them in too many steps on end."""
        by_step: dict[int, list[cp_model.IntVar]] = {}
        for step, keep in enumerate(case.keep):
            if not sort.present[step]:
                continue
            for role in dict.fromkeys(keep):
                if role in sort.covers:
                    var = model.new_int_var(0, number, "")
                    by_step.setdefault(case.steps[step], []).append(var)
                    self._names.setdefault((step, role), []).append(var)
            if mine := by_step.get(case.steps[step]):
                model.add(sum(mine) + sum(away) <= number)
        for begin in case.steps:
            window = [v for s in range(begin, begin + case.run + 1) for v in by_step.get(s, ())]
            if len(window) > case.run:
                model.add(sum(window) + case.run * sum(away) <= case.run * number)

    def _teams(
        self, model: cp_model.CpModel, case: Case, teams: cp_model.IntVar, filled: dict[Role, list[cp_model.IntVar]]
    ) -> None:
        facts = self.facts
        guests = {role: model.new_int_var(0, 6 * case.most, "") for role in filled}
        for role, own in filled.items():
            model.add(sum(own) + guests[role] <= case.usual.count(role) * teams)
            if role in MINIMUM_ROLES and facts.on(Rule.TEAM_MINIMUM):
                model.add(sum(own) + guests[role] >= teams)
        if facts.on(Rule.TEAM_MIRRORS_HOME):
            least = len(case.usual) - facts.settings.teams.empty_seats
            everybody = [var for own in filled.values() for var in own]
            model.add(sum(everybody) + sum(guests.values()) >= least * teams)
        model.add(sum(guests.values()) <= self.guests * teams)


@dataclass(frozen=True, slots=True)
class Sort:
    """People who are alike: roles they can be seated in (none: cannot go), roles they cover, when they are present."""

    roles: tuple[Role, ...]
    covers: frozenset[Role]
    present: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Case:
    """All that a release hangs on; facilities and dates with equal cases release alike."""

    usual: tuple[Role, ...]
    keep: tuple[tuple[Role, ...], ...]
    steps: tuple[int, ...]
    run: int
    most: int
    people: tuple[tuple[Sort, int], ...]


def _case(facts: Facts, facility: Facility, able: tuple[Person, ...], shifts: tuple[ShiftKey, ...], most: int) -> Case:
    """Return the case of a facility whose ``able`` people may go while shifts are touched."""
    there = [{p.code for p in facts.present(facility.code, shift)} for shift in shifts]
    goes = {person.code for person in able}
    everybody = {p.code: p for shift in shifts for p in facts.present(facility.code, shift)} | {p.code: p for p in able}
    sorts = Counter(
        Sort(facts.roles_of(p) if code in goes else (), frozenset(p.cover_roles), tuple(code in t for t in there))
        for code, p in everybody.items()
    )
    steps = [_order(shift) for shift in shifts]
    return Case(
        facility.usual_team,
        tuple(facts.keep_team(facility.code, shift) for shift in shifts),
        tuple(step - steps[0] for step in steps),
        facts.round.cover_run(facility) if facts.on(Rule.COVER_RUN) else len(shifts),
        most,
        tuple(sorted(sorts.items(), key=lambda entry: (entry[0].roles, sorted(entry[0].covers), entry[0].present))),
    )


def matching_size(team: tuple[Role, ...], people: tuple[Person, ...]) -> int:
    """Return how many of the roles can be filled at once, one person a role."""
    holder: dict[int, int] = {}

    def fill(role: int, seen: set[int]) -> bool:
        for number, person in enumerate(people):
            if number not in seen and team[role] in person.cover_roles:
                seen.add(number)
                if number not in holder or fill(holder[number], seen):
                    holder[number] = role
                    return True
        return False

    return sum(fill(role, set()) for role in range(len(team)))


def _touched(mode: Mode) -> tuple[ShiftKey, ...]:
    """Return the shifts that a visit is sure to touch, in order."""
    first, last = mode.dates[0], mode.dates[-1]
    shifts: list[ShiftKey] = [(day, DAY) for day in mode.dates]
    if mode.nights:
        shifts += [(first + timedelta(k), NIGHT) for k in range(len(mode.dates) - 1)]
    if mode.before:
        shifts += [(first - ONE_DAY, DAY), (first - ONE_DAY, NIGHT)]
    if mode.after:
        shifts.append((last, NIGHT))
    return tuple(sorted(shifts, key=_order))


def _order(shift: ShiftKey) -> int:
    return 2 * shift[0].toordinal() + (shift[1] is NIGHT)
