"""What the manager pinned or forbade."""

from __future__ import annotations

from datetime import date

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.limits.people import seated
from roundplan.solver.parts import Linear, Var


def locks(choices: Choices) -> None:
    """State every lock: a kept thing occurs at least once, a forbidden one never."""
    if not choices.facts.on(Rule.LOCKS):
        return
    for number, lock in enumerate(choices.facts.round.locks):
        found = matching(choices, lock)
        if lock.do is Do.KEEP and choices.frame is not None:  # another part of the plan may keep it
            if number not in choices.taken.locks:
                choices.kept[number] = choices.flag(f"kept[{number}]")
                choices.model.add(choices.kept[number] <= sum(found))
        elif lock.do is Do.KEEP:
            choices.model.add(sum(found) >= 1)
        else:
            for var in found:
                choices.model.add(var == 0)


def matching(choices: Choices, lock: Lock) -> list[Linear]:
    """Return what a lock speaks of, as variables; any of them that is 1 lets it occur."""
    if lock.kind is LockKind.SESSION:
        return list(_sessions(choices, lock))
    if lock.kind is LockKind.VISIT:
        return [
            s.used for s in choices.sendings if s.facility == lock.who and _when_where(choices, lock, s.first, s.venue)
        ]
    if lock.kind is LockKind.FACILITY:
        return [s.used for s in choices.sendings if s.facility == lock.who]
    if lock.kind is LockKind.PERSON:
        return list(_person(choices, lock))
    return list(_seats(choices, lock))


def _when_where(choices: Choices, lock: Lock, first: date, venue: str) -> bool:
    days = choices.facts.settings.session.days_per_team
    dates = [first + k * ONE_DAY for k in range(days)]
    return (lock.date is None or lock.date in dates) and lock.place in (None, venue)


def _sessions(choices: Choices, lock: Lock) -> list[Var]:
    return [
        var
        for (crew, venue, start), var in choices.hold.items()
        if lock.place in (None, venue)
        and lock.crew in (None, crew)
        and (lock.date is None or lock.date in choices.facts.session_dates(start))
    ]


def _person(choices: Choices, lock: Lock) -> list[Var]:
    who = str(lock.who)
    if any(t.code == who for t in choices.facts.round.trainers):
        return [v for (t, _, day), v in choices.aboard.items() if t == who and lock.date in (None, day)]
    if lock.date is None:
        return seated(choices, who)
    return _seats(choices, lock)


def _seats(choices: Choices, lock: Lock) -> list[Var]:
    """Return a person's seats on the date and in the role; where a place is given, both together."""
    days = choices.facts.settings.session.days_per_team
    found: list[Var] = []
    tables = [((c, f, r), v) for t in (choices.seat, choices.guest, choices.home_guest) for (c, f, r), v in t.items()]
    tables += [((c, f, r), v) for (c, f, r, _), v in choices.site_seat.items()]
    for (code, first, role), var in tables:
        on_date = lock.date is None or first <= lock.date < first + days * ONE_DAY
        if code == lock.who and on_date and lock.role in (None, role):
            found.append(var if lock.place is None else _at_place(choices, lock, code, first, var))
    return found


def _at_place(choices: Choices, lock: Lock, code: str, first: date, var: Var) -> Var:
    """Return whether a seat is taken and its facility's people are at the place (guests and own teams alike)."""
    home = choices.facts.round.person(code).facility
    at_place = [s.used for s in choices.sendings if (s.facility, s.venue, s.first) == (home, lock.place, first)]
    at_place += [g.used for g in choices.guestings if (g.facility, g.venue, g.first) == (home, lock.place, first)]
    both = choices.flag(f"locked_seat[{code},{first},{lock.place}]")
    choices.model.add_implication(both, var)
    choices.model.add(both <= sum(at_place))
    for there in at_place:
        choices.model.add(both >= var + there - 1)
    return both
