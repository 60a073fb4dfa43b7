"""Rules on cover at the own facility: cover-kept, cover-run, roster-known."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, day_words, roles_words, shift_words
from roundplan.audit.matching import unfilled
from roundplan.audit.standby import standby_cover
from roundplan.audit.timing import ShiftKey, shift_number
from roundplan.domain.counts import counted
from roundplan.domain.person import Person
from roundplan.domain.plan import Cover, CoverKind
from roundplan.domain.presence import has_roster
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import Rule


def spare_roles(book: Book, facility: str, key: ShiftKey) -> tuple[Role, ...]:
    """Return the roles that stand in the keep-team once more where a touched shift has no roster."""
    spare = book.settings.cover.spare_without_roster
    return () if not spare or has_roster(book.round, facility, *key) else MINIMUM_ROLES * spare


def keep_team(book: Book, facility: str, key: ShiftKey) -> tuple[Role, ...]:
    """Return the keep-team of a shift."""
    return book.round.keep_team(book.round.facility(facility), key[1])


def named_in(covers: Sequence[Cover]) -> list[tuple[Role, str]]:
    """Return role and person of all covers of one purpose, once each."""
    return list(dict.fromkeys(pair for cover in covers for pair in cover.named))


def faults(
    book: Book,
    named: Sequence[tuple[Role, str]],
    roles: Sequence[Role],
    at_hand: Sequence[Person],
    seated: Collection[str],
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield in plain words, with people, what is wrong with a named keep-team.

    Parameters
    ----------
    roles : sequence of Role
        What must be filled.
    at_hand : sequence of Person
        People present and not away.
    seated : collection of str
        People who simulate meanwhile.
    """
    free = {person.code for person in at_hand}
    missing = Counter(roles) - Counter(role for role, _ in named)
    if missing:
        open_roles = unfilled(roles, at_hand, seated)
        could = "nobody there could do it" if open_roles else "others there could"
        yield f"names nobody as {roles_words(missing.elements())} ({could})", ()
    for code, times in Counter(code for _, code in named).items():
        if times > 1:
            yield f"names {book.who(code)} for {times} roles at once", (code,)
        if code not in free:
            yield f"names {book.who(code)}, who is not present or is away then", (code,)
        elif code in seated:
            yield f"names {book.who(code)}, who simulates meanwhile", (code,)
    for role, code in named:
        person = book.round.person(code)
        if role not in person.cover_roles or person.learner:
            yield f"names {book.who(code)} as {role.value}, who cannot cover that role", (code,)


def cover_kept(book: Book) -> Iterator[Breach]:
    """In each touched shift the named people fill the keep-team."""
    covers: dict[tuple[str, ShiftKey], list[Cover]] = defaultdict(list)
    for cover in book.plan.cover:
        if cover.kind is CoverKind.OWN:
            covers[cover.facility, (cover.date, cover.shift)].append(cover)
    for facility, shifts in book.touched.items():
        for key, gone in shifts.items():
            roles = keep_team(book, facility, key)
            named = named_in(covers[facility, key])
            for words, people in faults(book, named, roles, book.at_hand(facility, key), ()):
                reason = f"{book.names(sorted(gone))} being away or in the session"
                full = f"cover of {book.who(facility)} {shift_words(*key)} ({reason}) {words}"
                yield Breach(Rule.COVER_KEPT, full, people, facility, key[0])
    yield from standby_cover(book)


def roster_known(book: Book) -> Iterator[Breach]:
    """Without a roster, the spare asked for is named too and the seats are marked provisional."""
    for facility, shifts in book.touched.items():
        for key in shifts:
            spare = spare_roles(book, facility, key)
            if not spare:
                continue
            named = named_in(
                [
                    c
                    for c in book.plan.cover
                    if c.kind is CoverKind.OWN and c.facility == facility and (c.date, c.shift) == key
                ]
            )
            missing = Counter(keep_team(book, facility, key) + spare) - Counter(role for role, _ in named)
            if missing:
                words = (
                    f"{book.who(facility)} has no roster {shift_words(*key)}, so spare people are asked for;"
                    f" nobody is named as {roles_words(missing.elements())}"
                )
                yield Breach(Rule.ROSTER_KNOWN, words, (), facility, key[0])
    yield from _provisional(book)


def _provisional(book: Book) -> Iterator[Breach]:
    for attendee in book.attendees:
        if attendee.seat.provisional:
            continue
        facility = attendee.person.facility
        stretches = (*book.as_away(attendee), *book.seated(attendee.team))
        keys = sorted({key for stretch in stretches for key in stretch.shifts(book.settings.cover)})
        unknown = [key for key in keys if not has_roster(book.round, facility, *key)]
        if unknown:
            words = (
                f"the seat of {book.who(attendee.person.code)} in {attendee.team.code} is not marked provisional,"
                f" but {book.who(facility)} has no roster {shift_words(*unknown[0])}"
            )
            yield Breach(Rule.ROSTER_KNOWN, words, (attendee.person.code,), facility, unknown[0][0])


def cover_run(book: Book) -> Iterator[Breach]:
    """Nobody is named for more touched shifts in a row than the limit."""
    shifts: dict[tuple[str, str], dict[int, ShiftKey]] = defaultdict(dict)
    for cover in book.plan.cover:
        key = (cover.date, cover.shift)
        if cover.kind is not CoverKind.REFERRAL and key in book.touched.get(cover.facility, {}):
            for _, code in cover.named:
                shifts[cover.facility, code][shift_number(key)] = key
    for (facility, code), numbered in shifts.items():
        limit = book.round.cover_run(book.round.facility(facility))
        run = 0
        for number in sorted(numbered):
            run = run + 1 if number - 1 in numbered else 1
            if run > limit and number + 1 not in numbered:
                first, last = numbered[number - run + 1], numbered[number]
                words = (
                    f"{book.who(code)} is named as cover of {book.who(facility)} for {counted(run, 'shift')} in a row,"
                    f" from {day_words(first[0])} ({first[1]}) to {day_words(last[0])} ({last[1]});"
                    f" the limit is {limit}"
                )
                yield Breach(Rule.COVER_RUN, words, (code,), facility, first[0])
