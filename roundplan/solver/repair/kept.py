"""Which locks a written plan, or a part of it, keeps or breaks."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.plan import Plan, Team
from roundplan.solver.facts import Facts


def kept_locks(facts: Facts, plan: Plan, teams: Collection[str], trips: Collection[str]) -> Iterator[int]:
    """Yield the positions of the locks that keep something which some teams and trips of a plan already do."""
    for number, lock in enumerate(facts.round.locks):
        if lock.do is Do.KEEP and occurs(facts, plan, lock, teams, trips):
            yield number


def occurs(facts: Facts, plan: Plan, lock: Lock, teams: Collection[str], trips: Collection[str]) -> bool:
    """Whether what a lock speaks of occurs in some teams and trips of a plan."""
    return any(True for _ in matches(facts, plan, lock, teams, trips))


def matches(
    facts: Facts, plan: Plan, lock: Lock, teams: Collection[str], trips: Collection[str]
) -> Iterator[tuple[str, str]]:
    """Yield where it occurs: ``("team", code)`` or ``("trip", code)``."""
    if lock.kind is LockKind.SESSION:
        yield from _sessions(plan, lock, trips)
    elif lock.kind is LockKind.PERSON and any(t.code == lock.who for t in facts.round.trainers):
        for trip in (t for t in plan.trips if t.code in trips):
            for day in trip.days:
                if lock.date in (None, day.date) and any(entry.trainer == lock.who for entry in day.aboard):
                    yield "trip", trip.code
    else:
        yield from _teams(plan, lock, teams)


def _sessions(plan: Plan, lock: Lock, trips: Collection[str]) -> Iterator[tuple[str, str]]:
    sessions = {s.code: s for s in plan.sessions}
    for trip in (t for t in plan.trips if t.code in trips and lock.crew in (None, t.crew)):
        for code in dict.fromkeys(code for day in trip.days for code in day.sessions):
            session = sessions[code]
            if lock.place in (None, session.venue) and (lock.date is None or lock.date in session.dates):
                yield "trip", trip.code


def _teams(plan: Plan, lock: Lock, teams: Collection[str]) -> Iterator[tuple[str, str]]:
    venues = {s.code: s.venue for s in plan.sessions}
    for team in (t for t in plan.teams if t.code in teams):
        here = _when_where(lock, team.dates, venues[team.session])
        if _speaks_of(lock, team, here):
            yield "team", team.code


def _speaks_of(lock: Lock, team: Team, here: bool) -> bool:
    """Whether a team is what a lock speaks of; ``here`` tells whether it attends when and where the lock says."""
    if lock.kind is LockKind.FACILITY:
        return team.facility == lock.who
    if lock.kind is LockKind.VISIT:
        return here and team.facility == lock.who
    if lock.kind is LockKind.PERSON:
        return (here or lock.date is None) and any(seat.person == lock.who for seat in team.seats)
    return here and any(seat.person == lock.who and lock.role in (None, seat.role) for seat in team.seats)


def _when_where(lock: Lock, dates: tuple[date, ...], venue: str) -> bool:
    return (lock.date is None or lock.date in dates) and lock.place in (None, venue)
