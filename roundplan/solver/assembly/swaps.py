"""Day duties that seated people have to swap."""

from __future__ import annotations

from roundplan.domain.plan import Swap
from roundplan.domain.presence import has_day_duty
from roundplan.domain.role import Shift
from roundplan.solver.assembly.away import Absences


def swaps_of(absences: Absences) -> tuple[Swap, ...]:
    """Return each seat on a day duty, once a person and date."""
    found = {
        (day, sitter.person.code)
        for sitter in absences.sitters
        for day in sitter.team.dates
        if has_day_duty(absences.facts.round, sitter.person.code, day)
    }
    return tuple(Swap(person=code, date=day, shift=Shift.DAY) for day, code in sorted(found))
