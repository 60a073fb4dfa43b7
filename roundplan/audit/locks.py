"""Rule locks: what is pinned occurs, what is forbidden does not."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, day_words
from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.rules import Rule

_NAMED = (LockKind.PERSON, LockKind.FACILITY)


def locks(book: Book) -> Iterator[Breach]:
    """Every lock holds."""
    for number, lock in enumerate(book.round.locks, start=1):
        found = list(_occurrences(book, lock))
        keep = lock.do is Do.KEEP
        if keep != bool(found):
            because = f" ({lock.why})" if lock.why else ""
            outcome = "which the plan does not have" if keep else f"which the plan has: {', '.join(found)}"
            words = f"lock {number}{because} says {'keep' if keep else 'forbid'} {_subject(book, lock)}, {outcome}"
            people = (lock.who,) if lock.who and lock.kind in (LockKind.SEAT, LockKind.PERSON) else ()
            yield Breach(Rule.LOCKS, words, people, lock.place, lock.date)


def _subject(book: Book, lock: Lock) -> str:
    parts = [f"{'the' if lock.kind in _NAMED else 'a'} {lock.kind.value}"]
    if lock.who:
        parts.append(book.who(lock.who) if lock.kind in _NAMED else f"of {book.who(lock.who)}")
    if lock.role:
        parts.append(f"as {lock.role.value}")
    if lock.place:
        parts.append(f"at {book.who(lock.place)}")
    if lock.date:
        parts.append(f"on {day_words(lock.date)}")
    if lock.crew:
        parts.append(f"by crew {lock.crew}")
    return " ".join(parts)


def _occurrences(book: Book, lock: Lock) -> Iterator[str]:
    """Yield, in words, all that a lock speaks of and the plan has."""
    if lock.kind is LockKind.SESSION:
        for session in book.plan.sessions:
            if (
                lock.place in (None, session.venue)
                and (lock.date is None or lock.date in session.dates)
                and (lock.crew is None or lock.crew in session.crews)
            ):
                yield session.code
        return
    if lock.kind in (LockKind.VISIT, LockKind.FACILITY):
        for team in book.plan.teams:
            session = book.sessions[team.session]
            anywhere = lock.kind is LockKind.FACILITY
            dated = anywhere or lock.date is None or lock.date in team.dates
            if team.facility == lock.who and dated and (anywhere or lock.place in (None, session.venue)):
                yield team.code
        return
    yield from _of_person(book, lock)


def _of_person(book: Book, lock: Lock) -> Iterator[str]:
    for attendee in book.attendees:
        if attendee.person.code != lock.who or (lock.date is not None and lock.date not in attendee.team.dates):
            continue
        in_role = lock.role in (None, attendee.seat.role) and lock.place in (None, attendee.session.venue)
        if lock.kind is LockKind.PERSON or in_role:
            yield attendee.team.code
    if lock.kind is LockKind.PERSON:
        for row, _ in book.aboard.get(lock.who or "", ()):
            if lock.date in (None, row.day.date):
                yield f"{row.trip.code} on {day_words(row.day.date)}"
