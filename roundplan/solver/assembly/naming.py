"""Names who covers each touched shift, exactly: keep-teams, own teams at home, referral sites."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from roundplan.domain.person import Person
from roundplan.domain.plan import Cover, CoverKind, Team
from roundplan.domain.role import OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.away import Absences, number_of
from roundplan.solver.assembly.exact import settle
from roundplan.solver.facts import ShiftKey

MORE_AT_REFERRAL = (Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
OPEN = 10_000
ANOTHER = 100
"""Penalties of naming: a role that stays open, and somebody else than before."""
RULE_OF = {
    CoverKind.OWN: Rule.COVER_KEPT,
    CoverKind.SLOT: Rule.COVER_ON_SITE,
    CoverKind.REFERRAL: Rule.COVER_REFERRAL,
}


class CoverNotNamed(RuntimeError):
    """No naming of cover exists although the search promised one.

    Attributes
    ----------
    facility : str
    shifts : tuple of (date, Shift)
    """

    def __init__(self, facility: str, shifts: Sequence[ShiftKey]) -> None:
        self.facility, self.shifts = facility, tuple(shifts)
        listed = ", ".join(f"{day.isoformat()} {shift.value}" for day, shift in shifts)
        super().__init__(f"no cover can be named at {facility} for {listed}")


@dataclass(frozen=True, slots=True)
class Need:
    """A keep-team to be named from the people who can do it."""

    facility: str
    key: ShiftKey
    kind: CoverKind
    roles: tuple[Role, ...]
    people: tuple[Person, ...]
    for_facility: str | None = None
    team: str | None = None


def name_cover(absences: Absences) -> tuple[Cover, ...]:
    """Return every cover of the plan, named.

    Raises
    ------
    CoverNotNamed
        If a keep-team cannot be filled although its rule is in force.
    """
    return in_order(cover for needs, runs in stretches(absences) for cover in cover_of(absences, needs, runs))


def stretches(absences: Absences) -> Iterator[tuple[list[Need], bool]]:
    """Yield what is to be named together: needs in consecutive shifts, and whether runs of cover are limited there."""
    for facility in absences.touched:
        for run in _runs([*_own(absences, facility), *_slots(absences, facility)]):
            yield run, True
    for need in _referrals(absences):
        yield [need], False


def in_order(covers: Iterable[Cover]) -> tuple[Cover, ...]:
    """Return covers by facility, shift and kind."""
    order = list(CoverKind)
    return tuple(
        sorted(
            covers,
            key=lambda c: (
                c.facility,
                number_of((c.date, c.shift)),
                order.index(c.kind),
                c.for_facility or "",
                c.team or "",
            ),
        )
    )


def _own(absences: Absences, facility: str) -> Iterator[Need]:
    for key in absences.touched[facility]:
        roles = absences.facts.keep_team(facility, key)
        yield Need(facility, key, CoverKind.OWN, roles, absences.stays(facility, key))


def _slots(absences: Absences, facility: str) -> Iterator[Need]:
    """Yield, for each team seated at home under ``observers``, the keep-team without those who simulate with it."""
    seated: dict[str, tuple[Team, set[ShiftKey]]] = {}
    for sitter in absences.sitters:
        if sitter.person.facility == facility and sitter.counts is OnSiteCover.OBSERVERS:
            seated.setdefault(sitter.team.code, (sitter.team, set()))[1].update(sitter.seated)
    for code, (team, keys) in sorted(seated.items()):
        for key in sorted(keys, key=number_of):
            busy = absences.seated_with(team, key)
            people = tuple(p for p in absences.stays(facility, key) if p.code not in busy)
            yield Need(facility, key, CoverKind.SLOT, absences.facts.keep_team(facility, key), people, team=code)


def _referrals(absences: Absences) -> Iterator[Need]:
    facts = absences.facts
    for code, shifts in absences.touched.items():
        site = facts.round.facility(code).refers_to
        if site is None:
            continue
        for key, gone in shifts.items():
            if key[1] is Shift.NIGHT and not any(key in absences.away.get(person, ()) for person in gone):
                continue
            roles = facts.round.keep_team(facts.round.facility(site), key[1]) + MORE_AT_REFERRAL
            yield Need(site, key, CoverKind.REFERRAL, roles, absences.stays(site, key), for_facility=code)


def _runs(needs: Sequence[Need]) -> Iterator[list[Need]]:
    """Yield needs in stretches of consecutive shifts, which runs of cover never pass."""
    run: list[Need] = []
    for need in sorted(needs, key=lambda n: (number_of(n.key), n.kind is CoverKind.SLOT, n.team or "")):
        if run and number_of(need.key) - number_of(run[-1].key) > 1:
            yield run
            run = []
        run.append(need)
    if run:
        yield run


def cover_of(absences: Absences, needs: Sequence[Need], runs: bool, before: Sequence[Cover | None] = ()) -> list[Cover]:
    """Name one stretch of needs.

    Parameters
    ----------
    before : sequence of Cover or None
        For each need who was named before, if it was there: as many of them as can stay named do.

    Raises
    ------
    CoverNotNamed
        If a keep-team cannot be filled although its rule is in force.
    """
    facility = needs[0].facility
    search = _Search(absences, needs)
    search.keep(before)
    if runs and absences.facts.on(Rule.COVER_RUN):
        search.limit_runs(absences.facts.round.cover_run(absences.facts.round.facility(facility)))
    solver = settle(search.finish())
    if solver is None:
        raise CoverNotNamed(facility, list(dict.fromkeys(need.key for need in needs)))
    return [_cover(need, search.names[index], solver) for index, need in enumerate(needs)]


def _cover(need: Need, names: dict[tuple[Role, str], cp_model.IntVar], solver: cp_model.CpSolver) -> Cover:
    left = [pair for pair, var in names.items() if solver.boolean_value(var)]
    named = []
    for role in need.roles:
        pair = next((pair for pair in left if pair[0] is role), None)
        if pair is not None:
            left.remove(pair)
            named.append(pair)
    return Cover(
        facility=need.facility, date=need.key[0], shift=need.key[1], kind=need.kind, named=tuple(named),
        for_facility=need.for_facility, team=need.team,
    )  # fmt: skip


@dataclass(slots=True)
class _Search:
    """The model of one stretch of shifts."""

    absences: Absences
    needs: Sequence[Need]
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    names: list[dict[tuple[Role, str], cp_model.IntVar]] = field(default_factory=list)
    used: dict[tuple[str, int], list[cp_model.IntVar]] = field(default_factory=lambda: defaultdict(list))
    penalties: list[cp_model.LinearExprT] = field(default_factory=list)

    def __post_init__(self) -> None:
        sitting = {sitter.person.code for sitter in self.absences.sitters}
        for need in self.needs:
            names = self._need(need, sitting)
            self.names.append(names)
            for (_, code), var in names.items():
                self.used[code, number_of(need.key)].append(var)

    def _need(self, need: Need, sitting: set[str]) -> dict[tuple[Role, str], cp_model.IntVar]:
        """Fill each role; all of them where the rule is in force. Main roles and people never seated come first."""
        names: dict[tuple[Role, str], cp_model.IntVar] = {}
        by_person: dict[str, list[cp_model.IntVar]] = defaultdict(list)
        for role in dict.fromkeys(need.roles):
            for person in need.people:
                if role not in person.cover_roles or person.learner:
                    continue
                var = self.model.new_bool_var(f"covers[{person.code},{need.key},{role}]")
                names[role, person.code] = var
                by_person[person.code].append(var)
                self.penalties.append((2 * person.cover_roles.index(role) + (person.code in sitting)) * var)
            held = sum(var for (r, _), var in names.items() if r is role)
            left = self.model.new_int_var(0, need.roles.count(role), f"open[{need.key},{role}]")
            self.model.add(held + left == need.roles.count(role))
            if self.absences.facts.on(RULE_OF[need.kind]):
                self.model.add(left == 0)
            self.penalties.append(OPEN * left)
        for held_by in by_person.values():
            self.model.add_at_most_one(held_by)
        return names

    def keep(self, before: Sequence[Cover | None]) -> None:
        """Name whoever was named before, in the role in which they were, before anybody else."""
        for names, cover in zip(self.names, before, strict=False):
            if cover is not None:
                self.penalties += [ANOTHER * var for pair, var in names.items() if pair not in cover.named]

    def limit_runs(self, limit: int) -> None:
        """Name nobody in more consecutive shifts than the limit."""
        numbers = sorted({number for _, number in self.used})
        windows = [range(n, n + limit + 1) for n in numbers if all(n + k in numbers for k in range(limit + 1))]
        for code in sorted({code for code, _ in self.used}):
            for window in windows:
                busy = [self._busy(code, number) for number in window if (code, number) in self.used]
                if len(busy) > limit:
                    self.model.add(sum(busy) <= limit)

    def _busy(self, code: str, number: int) -> cp_model.IntVar:
        found = self.used[code, number]
        if len(found) == 1:
            return found[0]
        busy = self.model.new_bool_var(f"busy[{code},{number}]")
        self.model.add_max_equality(busy, found)
        return busy

    def finish(self) -> cp_model.CpModel:
        """Set the aim and return the model."""
        self.model.minimize(sum(self.penalties))
        return self.model
