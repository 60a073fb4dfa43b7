"""Turns of cover: nobody is named for too many shifts in a row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import combinations

from roundplan.domain.facility import Facility
from roundplan.domain.role import OnSiteCover, Shift
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY, ShiftKey
from roundplan.solver.limits.cover import home_guests, seated_with
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
                run = [table[shift][person] for shift in window if person in table[shift]]
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


def _names(choices: Choices, facility: Facility, shift: ShiftKey) -> dict[str, Linear]:
    """Name the cover of a shift, for each team that simulates at home meanwhile anew; return who is named at all."""
    needs = [_need(choices, facility, shift, "shift", choices.touched[facility.code, shift], {})]
    if shift[1] is DAY and _observers(choices, facility):
        for name, seats, seated in _seated_at_home(choices, facility, shift[0]):
            needs.append(_need(choices, facility, shift, name, seats, seated))
    named: dict[str, list[Linear]] = defaultdict(list)
    for need in needs:
        for person, covers in need.items():
            named[person].append(covers)
    return {person: _at_all(choices, person, shift, covers) for person, covers in named.items()}


def _at_all(choices: Choices, person: str, shift: ShiftKey, covers: list[Linear]) -> Linear:
    if len(covers) == 1:
        return covers[0]
    named = choices.flag(f"named[{person},{shift[0]},{shift[1]}]")
    for times in covers:
        choices.model.add(named >= times)
    return named


def _need(
    choices: Choices, facility: Facility, shift: ShiftKey, name: str, needed: Var, seated: dict[str, Linear]
) -> dict[str, Linear]:
    """Name one person for each role of the keep-team, nobody away or seated; return how often each is named."""
    facts, model = choices.facts, choices.model
    team = facts.keep_team(facility.code, shift)
    by_person: dict[str, list[Var]] = defaultdict(list)
    for role in sorted(set(team)):
        names = []
        for person in facts.present(facility.code, shift):
            if role in person.cover_roles:
                var = choices.flag(f"covers[{person.code},{shift[0]},{shift[1]},{name},{role}]")
                names.append(var)
                by_person[person.code].append(var)
        model.add(sum(names) == team.count(role) * needed)
    for code, names in by_person.items():
        away = choices.away.get((code, shift))
        model.add(sum(names) + (0 if away is None else away) + seated.get(code, 0) <= 1)
    return {code: sum(names) for code, names in by_person.items()}


def _observers(choices: Choices, facility: Facility) -> bool:
    return choices.facts.on_site_cover(facility) is OnSiteCover.OBSERVERS and choices.facts.on(Rule.COVER_ON_SITE)


def _seated_at_home(choices: Choices, facility: Facility, day: date) -> Iterator[tuple[str, Var, dict[str, Linear]]]:
    """Yield for each own team, and for the guests in other teams, whether they simulate at home and who is seated."""
    for k in range(choices.facts.settings.session.days_per_team):
        first = day - k * ONE_DAY
        lent = home_guests(choices, facility, first)
        for i, team in enumerate(choices.site_team.get((facility.code, first), ())):
            yield f"{first},{i}", team, seated_with(choices, facility, first, i)
        goes = choices.goes.get((facility.code, first))
        if lent and goes is not None:
            yield f"{first},guests", goes, lent
