"""What is past as locks, for a plan made anew: what was held stays, teams of what was cancelled are free again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.closing.done import Done, Standing
from roundplan.domain.decision import Do, Lock, LockKind


def past_locks(done: Done, today: date) -> tuple[Lock, ...]:
    """Return the locks that follow from sessions that are over, or have begun.

    A session keeps its venue, dates, crews and seats as they were announced, whoever sat there in the end; the audit
    of what was planned stays whole. One that was cancelled is forbidden at its venue on its dates instead, so that its
    teams are free to be planned on later ones.

    Parameters
    ----------
    today : date
        Sessions whose first date is before it are past.
    """
    return tuple(lock for key, s in done.sessions.items() if s.dates[0] < today for lock in _locks(done, key))


def _locks(done: Done, key: str) -> Iterator[Lock]:
    session = done.sessions[key]
    if done.standing(key) is Standing.CANCELLED:
        cause = next((cause.value for cause in done.causes(key) if cause is not None), "cause not said")
        for day in session.dates:
            yield Lock(do=Do.FORBID, kind=LockKind.SESSION, date=day, place=session.venue, why=f"cancelled: {cause}")
        return
    for day in session.dates:
        for crew in session.crews:
            yield Lock(do=Do.KEEP, kind=LockKind.SESSION, date=day, place=session.venue, crew=crew, why="past")
    for team in done.teams_of[key]:
        for seat in team.seats:
            for day in team.dates:
                yield Lock(
                    do=Do.KEEP,
                    kind=LockKind.SEAT,
                    who=seat.person,
                    role=seat.role,
                    date=day,
                    place=session.venue,
                    why="past",
                )
