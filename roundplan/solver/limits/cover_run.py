"""Turns of cover: nobody is named for too many shifts in a row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations

from roundplan.domain.facility import Facility
from roundplan.domain.role import OnSiteCover, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY, ShiftKey
from roundplan.solver.parts import Linear, Var

DAY, NIGHT = Shift.DAY, Shift.NIGHT


def cover_run(choices: Choices) -> None:
    """Name the cover wherever a run of touched shifts could ask too much of one person."""
    facts = choices.facts
    if not facts.on(Rule.COVER_RUN) or not facts.on(Rule.COVER_KEPT):
        return
    for facility in facts.round.facilities:
        limit = facts.round.cover_run(facility)
        shifts = sorted((s for code, s in choices.touched if code == facility.code), key=_order)
        windows = list(_windows(shifts, limit + 1))
        named = {shift for window in windows for shift in window}
        table = {shift: _names(choices, facility, shift) for shift in sorted(named, key=_order)}
        for window in windows:
            for person in dict.fromkeys(p for shift in window for p in table[shift]):
                run = [v for shift in window for v in table[shift].get(person, ())]
                if len(run) > limit:
                    choices.model.add(sum(run) <= limit)


def runs_need_people(choices: Choices) -> None:
    """Whoever lodges leaves a run of touched shifts; those who stay must be enough to take turns.

    Follows from naming the cover, but needs no names: over a window of one shift more than the limit,
    those who can fill a set of roles take at most ``limit`` shifts each.
    """
    facts = choices.facts
    if not facts.on(Rule.COVER_RUN) or not facts.on(Rule.COVER_KEPT):
        return
    days = facts.settings.session.days_per_team
    for (code, first), flags in choices.flags.items():
        facility = facts.round.facility(code)
        limit = facts.round.cover_run(facility)
        last = first + (days - 1) * ONE_DAY
        before = [(first - ONE_DAY, DAY), (first - ONE_DAY, NIGHT), (first, DAY)]
        after = [(last, DAY), (last, NIGHT), (last + ONE_DAY, DAY)]
        windows = [("eve", before), ("morrow", after)] if limit == 2 else []
        windows += [("pre", before[1:]), ("post", after[:2])] if limit == 1 else []
        for name, window in windows:
            if name in flags:
                _turns(choices, code, window, limit, flags[name], first)


def _turns(choices: Choices, code: str, window: list[ShiftKey], limit: int, flag: Var, first: date) -> None:
    facts = choices.facts
    teams = {shift: facts.keep_team(code, shift) for shift in window}
    there = {shift: {p.code for p in facts.present(code, shift)} for shift in window}
    roles = sorted({role for team in teams.values() for role in team})
    for size in range(1, len(roles) + 1):
        for group in combinations(roles, size):
            demand = sum(role in group for team in teams.values() for role in team)
            able = {
                p.code: p for shift in window for p in facts.present(code, shift) if set(p.cover_roles) & set(group)
            }
            turns = {who: min(limit, sum(who in there[shift] for shift in window)) for who in able}
            gone = [turns[who] * choices.away[who, (first, DAY)] for who in able if (who, (first, DAY)) in choices.away]
            slack = sum(turns.values()) - demand
            if slack < 0:
                choices.model.add(flag == 0)
                return
            if gone:
                choices.model.add(sum(gone) <= slack).only_enforce_if(flag)


def _order(shift: ShiftKey) -> int:
    return 2 * shift[0].toordinal() + (shift[1] is NIGHT)


def _windows(shifts: list[ShiftKey], length: int) -> Iterator[list[ShiftKey]]:
    for i in range(len(shifts) - length + 1):
        if _order(shifts[i + length - 1]) - _order(shifts[i]) == length - 1:
            yield shifts[i : i + length]


def _names(choices: Choices, facility: Facility, shift: ShiftKey) -> dict[str, list[Var]]:
    """Name one person for each role of the keep-team of a shift; return the variables by person."""
    facts, model = choices.facts, choices.model
    team = facts.keep_team(facility.code, shift)
    by_person: dict[str, list[Var]] = defaultdict(list)
    touched = choices.touched[facility.code, shift]
    for role in sorted(set(team)):
        names = []
        for person in facts.present(facility.code, shift):
            if role in person.cover_roles:
                var = choices.flag(f"covers[{person.code},{shift[0]},{shift[1]},{role}]")
                names.append(var)
                by_person[person.code].append(var)
        model.add(sum(names) == team.count(role) * touched)
    for code, names in by_person.items():
        away = choices.away.get((code, shift))
        seated = [
            v for (who, first, _, _), v in choices.site_seat.items() if who == code and _during(choices, first, shift)
        ]
        gone: Linear = (0 if away is None else away) + (sum(seated) if _observers(choices, facility) else 0)
        model.add(sum(names) + gone <= 1)
    return by_person


def _observers(choices: Choices, facility: Facility) -> bool:
    return choices.facts.on_site_cover(facility) is OnSiteCover.OBSERVERS and choices.facts.on(Rule.COVER_ON_SITE)


def _during(choices: Choices, first: date, shift: ShiftKey) -> bool:
    days = choices.facts.settings.session.days_per_team
    return shift[1] is DAY and timedelta(0) <= shift[0] - first < timedelta(days=days)
