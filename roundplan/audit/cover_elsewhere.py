"""Rules on cover during on-site sessions and at the referral site: cover-on-site, cover-referral."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, shift_words
from roundplan.audit.cover import faults, keep_team, named_in, spare_roles
from roundplan.audit.timing import ShiftKey
from roundplan.domain.plan import Cover, CoverKind, Session, Team
from roundplan.domain.role import OnSiteCover, Role, Shift
from roundplan.domain.rules import Rule


def cover_on_site(book: Book) -> Iterator[Breach]:
    """While own people simulate at home under ``observers``, others who do not fill the keep-team."""
    covers: dict[tuple[str, str, ShiftKey], list[Cover]] = defaultdict(list)
    for cover in book.plan.cover:
        if cover.kind is CoverKind.SLOT and cover.team is not None:
            covers[cover.facility, cover.team, (cover.date, cover.shift)].append(cover)
    own = {(a.person.facility, a.team.code): a.team for a in book.attendees if a.counts is OnSiteCover.OBSERVERS}
    for (facility, code), team in own.items():
        session = book.sessions[team.session]
        keys = sorted({key for stretch in book.seated(team) for key in stretch.shifts(book.settings.cover)})
        for key in keys:
            seated = seated_with(book, session, team, key)
            roles = keep_team(book, facility, key) + spare_roles(book, facility, key)
            named = named_in(covers[facility, code, key])
            for words, people in faults(book, named, roles, book.at_hand(facility, key), seated):
                full = f"cover of {book.who(facility)} while {code} simulates {shift_words(*key)} {words}"
                yield Breach(Rule.COVER_ON_SITE, full, people, facility, key[0])


def seated_with(book: Book, session: Session, team: Team, key: ShiftKey) -> frozenset[str]:
    """Return everybody who simulates in the session at a time when the team does, in one shift."""
    times = [s for s in book.seated(team) if key in set(s.shifts(book.settings.cover))]
    found = {seat.person for seat in team.seats}
    for other in book.teams_at(session):
        if any(mine.meets(theirs) for mine in times for theirs in book.seated(other)):
            found |= {seat.person for seat in other.seats}
    return frozenset(found)


def cover_referral(book: Book) -> Iterator[Breach]:
    """The site that takes a facility's emergencies has its keep-team and one more anaesthetist and provider."""
    covers: dict[tuple[str, str | None, ShiftKey], list[Cover]] = defaultdict(list)
    for cover in book.plan.cover:
        if cover.kind is CoverKind.REFERRAL:
            covers[cover.facility, cover.for_facility, (cover.date, cover.shift)].append(cover)
    for code, shifts in book.touched.items():
        site = book.round.facility(code).refers_to
        if site is None:
            continue
        for key, gone in shifts.items():
            if key[1] is Shift.NIGHT and not any(key in book.away_shifts.get(person, ()) for person in gone):
                continue
            roles = (*keep_team(book, site, key), Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
            named = named_in(covers[site, code, key])
            for words, people in faults(book, named, roles, book.at_hand(site, key), ()):
                full = f"cover at {book.who(site)} for {book.who(code)} {shift_words(*key)} {words}"
                yield Breach(Rule.COVER_REFERRAL, full, people, site, key[0])
