"""Who covers each touched shift: as announced wherever that still holds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from roundplan.domain.plan import Cover
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.away import Absences, number_of
from roundplan.solver.assembly.naming import Need, cover_of, in_order, stretches
from roundplan.solver.facts import Facts


def named_as_before(absences: Absences, announced: Iterable[Cover]) -> tuple[Cover, ...]:
    """Return every cover of a plan; a stretch of shifts in which that fails is named anew, with as few
    other people as can be.

    Raises
    ------
    CoverNotNamed
        If a keep-team cannot be filled although its rule is in force.
    """
    before = {_key(cover): cover for cover in announced}
    found: list[Cover] = []
    for needs, runs in stretches(absences):
        known = [before.get((n.facility, n.key[0], n.key[1], n.kind, n.for_facility, n.team)) for n in needs]
        kept = [cover for cover in known if cover is not None]
        if len(kept) == len(needs) and _still_holds(absences.facts, needs, kept, runs):
            found += kept
        else:
            found += cover_of(absences, needs, runs, known)
    return in_order(found)


def _key(cover: Cover) -> tuple[object, ...]:
    return cover.facility, cover.date, cover.shift, cover.kind, cover.for_facility, cover.team


def _still_holds(facts: Facts, needs: Sequence[Need], covers: Sequence[Cover], runs: bool) -> bool:
    """Whether all who were named can still do it, nobody in too many shifts in a row."""
    shifts: dict[str, set[int]] = defaultdict(set)
    for need, cover in zip(needs, covers, strict=True):
        able = {person.code: person for person in need.people if not person.learner}
        names = [code for _, code in cover.named]
        if sorted(role for role, _ in cover.named) != sorted(need.roles) or len(set(names)) != len(names):
            return False
        if any(code not in able or role not in able[code].cover_roles for role, code in cover.named):
            return False
        for code in names:
            shifts[code].add(number_of(need.key))
    if not runs or not facts.on(Rule.COVER_RUN):
        return True
    limit = facts.round.cover_run(facts.round.facility(needs[0].facility))
    return not any({n + k for k in range(limit + 1)} <= numbers for numbers in shifts.values() for n in numbers)
