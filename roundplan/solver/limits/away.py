"""Who is away in which shift, and which shifts of a facility are touched."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from roundplan.domain.role import Role, Shift
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY, ShiftKey
from roundplan.solver.parts import Var
from roundplan.solver.taken import scope_shifts

DAY, NIGHT = Shift.DAY, Shift.NIGHT


def make_flags(choices: Choices) -> None:
    """Make, for each facility and first date, the flags of what else than the session's day shifts is touched.

    ``eve`` the day shift before, ``pre`` the night before, ``between`` the nights between, ``post`` the night after,
    ``morrow`` the day shift after the last date; ``after`` the journey home on the day after.
    """
    modes: dict[tuple[str, date], list[tuple[Var, Mode]]] = defaultdict(list)
    for sending in choices.sendings:
        modes[sending.facility, sending.first].append((sending.used, sending.mode))
    for guesting in choices.guestings:
        modes[guesting.facility, guesting.first].append((guesting.used, guesting.mode))
    for key, entries in modes.items():
        goes = choices.flag(f"goes[{key[0]},{key[1]}]")
        choices.goes[key] = goes
        choices.model.add_max_equality(goes, [used for used, _ in entries])
        for used, mode in entries:
            for name in _always(choices, mode):
                flag = _flag(choices, key, name)
                choices.model.add_implication(used, flag)
            for name in _perhaps(choices, mode):
                _flag(choices, key, name)
        for flag in choices.flags[key].values():
            choices.model.add_implication(flag, goes)


def _flag(choices: Choices, key: tuple[str, date], name: str) -> Var:
    flags = choices.flags[key]
    if name not in flags:
        flags[name] = choices.flag(f"{name}[{key[0]},{key[1]}]")
    return flags[name]


def _always(choices: Choices, mode: Mode) -> Iterator[str]:
    if mode.before:
        yield "eve"
        yield "pre"
    if mode.nights and len(mode.dates) > 1:
        yield "between"
    if mode.after:
        yield "post"
        yield "after"
        back = mode.back[0]
        if max(back.earliest, 7 * 3600) + back.seconds > choices.facts.settings.cover.day_from:
            yield "morrow"


def _perhaps(choices: Choices, mode: Mode) -> Iterator[str]:
    cover, facts = choices.facts.settings.cover, choices.facts
    longest = max((p.seconds for p in mode.out), default=0)
    early = facts.starts[0] - longest < cover.day_from or any(p.latest < cover.day_from for p in mode.out)
    if early and not mode.before:
        yield "pre"
    if early and len(mode.dates) > 1:
        yield "between"
    latest = max(facts.day_table.values(), default=0) + max((p.seconds for p in mode.back), default=0)
    late = latest > cover.night_from or any(p.earliest + p.seconds > cover.night_from for p in mode.back)
    if late and not mode.after:
        yield "post"


def away_and_touched(choices: Choices) -> None:
    """Say for each person and shift whether they are away, and for each facility and shift whether it is touched."""
    literals: dict[tuple[str, ShiftKey], list[Var]] = defaultdict(list)
    for key, goes in choices.goes.items():
        for shift, flag in shifts_of(choices, key):
            literals[key[0], shift].append(goes if flag is None else flag)
            _away_by_cohort(choices, key, shift, flag)
    _trainers_who_are_staff(choices, literals)
    _taken(choices, literals)
    for (code, shift), found in literals.items():
        touched = choices.flag(f"touched[{code},{shift[0]},{shift[1]}]")
        choices.model.add_max_equality(touched, found)
        choices.touched[code, shift] = touched


def _taken(choices: Choices, literals: dict[tuple[str, ShiftKey], list[Var]]) -> None:
    """State what is away and touched outside the model, as far as it bears on the facilities in it."""
    taken, facts = choices.taken, choices.facts
    firsts = [first for _, first in choices.goes]
    if not firsts:
        return
    shifts = set(scope_shifts(min(firsts), max(firsts)))
    inside = {code for code, _ in choices.goes}
    beside = inside | {site for code in inside if (site := facts.round.facility(code).refers_to) is not None}
    one = choices.model.new_constant(1)
    for code, shift in taken.touched:
        if shift in shifts and code in inside:
            literals[code, shift].append(one)
        elif shift in shifts and facts.round.facility(code).refers_to in inside:
            choices.touched_outside[code, shift] = one
    for person, shift in taken.away:
        if shift in shifts and facts.round.person(person).facility in beside:
            choices.model.add(_away(choices, person, shift) == 1)


def shifts_of(choices: Choices, key: tuple[str, date]) -> Iterator[tuple[ShiftKey, Var | None]]:
    """Yield the shifts that a cohort may touch, each with its flag (None = always)."""
    flags, first = choices.flags[key], key[1]
    days = choices.facts.settings.session.days_per_team
    last = first + (days - 1) * ONE_DAY
    for k in range(days):
        yield (first + k * ONE_DAY, DAY), None
        if k < days - 1 and "between" in flags:
            yield (first + k * ONE_DAY, NIGHT), flags["between"]
    if "eve" in flags:
        yield (first - ONE_DAY, DAY), flags["eve"]
    if "pre" in flags:
        yield (first - ONE_DAY, NIGHT), flags["pre"]
    if "post" in flags:
        yield (last, NIGHT), flags["post"]
    if "morrow" in flags:
        yield (last + ONE_DAY, DAY), flags["morrow"]


def _away(choices: Choices, person: str, shift: ShiftKey) -> Var:
    key = (person, shift)
    if key not in choices.away:
        choices.away[key] = choices.flag(f"away[{person},{shift[0]},{shift[1]}]")
    return choices.away[key]


def _away_by_cohort(choices: Choices, key: tuple[str, date], shift: ShiftKey, flag: Var | None) -> None:
    for person in choices.facts.round.staff_of(key[0]):
        seats = [
            table[person.code, key[1], role]
            for table in (choices.seat, choices.guest)
            for role in Role
            if (person.code, key[1], role) in table
        ]
        if not seats:
            continue
        away = _away(choices, person.code, shift)
        if flag is None:
            choices.model.add(sum(seats) <= away)
        else:
            choices.model.add(sum(seats) + flag - 1 <= away)


def _trainers_who_are_staff(choices: Choices, literals: dict[tuple[str, ShiftKey], list[Var]]) -> None:
    """Trainers who are staff are away on their dates with a crew and in the nights before and after."""
    facts, model = choices.facts, choices.model
    days = facts.settings.session.days_per_team
    for trainer in facts.round.trainers:
        if trainer.person is None:
            continue
        person = facts.round.person(trainer.person)
        for (code, _, day), aboard in choices.aboard.items():
            if code != trainer.code:
                continue
            for shift in shifts_of_trainer(day):
                model.add_implication(aboard, _away(choices, person.code, shift))
                literals[person.facility, shift].append(aboard)
            for (who, first), seat in _all_seats(choices):
                if who == person.code and first - ONE_DAY <= day <= first + days * ONE_DAY:
                    model.add_implication(seat, ~aboard)


def shifts_of_trainer(day: date) -> tuple[ShiftKey, ...]:
    """Return the shifts from which a date with a crew takes a trainer who is staff."""
    return (day - ONE_DAY, NIGHT), (day, DAY), (day, NIGHT)


def _all_seats(choices: Choices) -> list[tuple[tuple[str, date], Var]]:
    """Return every seat variable with its person and first date."""
    tables = (choices.seat, choices.guest, choices.home_guest)
    found = [((code, first), var) for table in tables for (code, first, _), var in table.items()]
    return found + [((code, first), var) for (code, first, _, _), var in choices.site_seat.items()]
