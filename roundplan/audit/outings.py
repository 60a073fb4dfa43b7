"""Rule participant-travel: how each facility's people reach the session and get home."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words, day_words, duration_words
from roundplan.audit.drives import drive_words, time_faults
from roundplan.audit.lodging import beds_short, lodging_for
from roundplan.audit.timing import ONE_DAY
from roundplan.domain.clock import HOUR
from roundplan.domain.counts import counted
from roundplan.domain.plan import Drive, Outing, Session, Team
from roundplan.domain.rules import Rule

EVE_ARRIVAL = 17 * HOUR
MORROW_DEPARTURE = 7 * HOUR


def participant_travel(book: Book) -> Iterator[Breach]:
    """Everybody travels once, within the limits, in time, with a bed where nights are spent."""
    rule = Rule.PARTICIPANT_TRAVEL
    for team in book.plan.teams:
        for words in _members(book, team):
            yield Breach(rule, f"{team.code} of {book.who(team.facility)}: {words}", (), team.facility, team.dates[0])
        for outing in team.outings:
            for words in _outing(book, team, outing):
                full = f"{team.code}, people of {book.who(outing.facility)}: {words}"
                yield Breach(rule, full, outing.people, outing.facility, team.dates[0])
    for words, site, night in beds_short(book, participants=True):
        yield Breach(rule, words, (), site, night)


def _members(book: Book, team: Team) -> Iterator[str]:
    seated = {seat.person for seat in team.seats}
    listed = Counter(code for outing in team.outings for code in outing.people)
    for code in sorted(seated - set(listed)):
        yield f"{book.who(code)} is seated but travels in no outing"
    for code in sorted(set(listed) - seated):
        yield f"{book.who(code)} travels but is not seated"
    for code, times in listed.items():
        if times > 1:
            yield f"{book.who(code)} stands in outings {times} times"
    for outing in team.outings:
        for code in outing.people:
            if book.round.person(code).facility != outing.facility:
                yield f"{book.who(code)} travels from {book.who(outing.facility)}, which is not their own facility"


def _outing(book: Book, team: Team, outing: Outing) -> Iterator[str]:
    session = book.sessions[team.session]
    if book.near(session.venue, outing.facility):
        if outing.drives or outing.nights:
            yield f"need no drive and no night for {book.who(session.venue)}, which is at home or near it"
        return
    for drive in outing.drives:
        for words in time_faults(book, drive):
            yield f"{drive_words(book, drive)}, {words}"
    drives = tuple(sorted(outing.drives, key=lambda d: (d.date, d.depart)))
    if drives != outing.drives:
        yield "the drives are not in the order of time"
    wanted = 2 if outing.nights else 2 * len(team.dates)
    if len(drives) != wanted:
        kind = "lodging" if outing.nights else "going home each day"
        yield f"have {counted(len(drives), 'drive')}; {kind} takes {wanted}"
        return
    if outing.nights:
        yield from _lodged(book, team, outing, drives[0], drives[1])
    else:
        yield from _daily(book, session, team, drives, outing.facility)


def _daily(book: Book, session: Session, team: Team, drives: tuple[Drive, ...], home: str) -> Iterator[str]:
    limit = book.settings.travel.day_limit
    for day, out, back in zip(book.days_of(session, team), drives[::2], drives[1::2], strict=True):
        if (out.date, back.date) != (day.date, day.date):
            yield f"do not travel out and back on {day_words(day.date)}"
            continue
        yield from _ends(book, out, home, {session.venue})
        yield from _ends(book, back, home, {session.venue}, back=True)
        yield from _in_time(out.arrive, back.depart, day.start, day.end)
        for drive in (out, back):
            if drive.drive_seconds > limit * HOUR:
                yield (
                    f"drive {duration_words(drive.drive_seconds)} one way on {day_words(day.date)}"
                    f" without lodging; the limit is {limit:g} h"
                )


def _in_time(arrive: int | None, depart: int | None, start: int, end: int) -> Iterator[str]:
    if arrive is not None and arrive > start:
        yield f"arrive at {clock_words(arrive)}, after the start at {clock_words(start)}"
    if depart is not None and depart < end:
        yield f"leave at {clock_words(depart)}, before the end at {clock_words(end)}"


def _ends(book: Book, drive: Drive, home: str, there: set[str], *, back: bool = False) -> Iterator[str]:
    start, end = (drive.end, drive.start) if back else (drive.start, drive.end)
    if start != home or end not in there:
        yield f"{drive_words(book, drive)} does not join {book.who(home)} and {book.names(sorted(there))}"


def _lodged(book: Book, team: Team, outing: Outing, out: Drive, back: Drive) -> Iterator[str]:
    session = book.sessions[team.session]
    first, last = book.days_of(session, team)[0], book.days_of(session, team)[-1]
    site = lodging_for(book, session.venue)
    before, after = out.date == first.date - ONE_DAY, back.date == last.date + ONE_DAY
    if not before and out.date != first.date:
        yield f"leave on {day_words(out.date)}, neither the first date nor its eve"
    if not after and back.date != last.date:
        yield f"return on {day_words(back.date)}, neither the last date nor its morrow"
    nights = tuple(
        (out.date + k * ONE_DAY, site) for k in range(max(0, (back.date - out.date).days)) if site is not None
    )
    if site is None:
        yield f"lodge although {book.who(session.venue)} has no lodging at or near it"
    elif tuple(sorted(outing.nights)) != nights:
        yield f"do not lodge each night from {day_words(out.date)} to {day_words(back.date)} at {book.who(site)}"
    there = {session.venue} if site is None else {session.venue, site}
    yield from _ends(book, out, outing.facility, there)
    yield from _ends(book, back, outing.facility, there, back=True)
    yield from _in_time(None if before else out.arrive, None, first.start, first.end)
    yield from _in_time(None, None if after else back.depart, last.start, last.end)
    if before and out.arrive > EVE_ARRIVAL:
        yield f"arrive on the eve at {clock_words(out.arrive)}, after {clock_words(EVE_ARRIVAL)}"
    if after and back.depart < MORROW_DEPARTURE:
        yield f"depart on the morrow at {clock_words(back.depart)}, before {clock_words(MORROW_DEPARTURE)}"
    travel = book.settings.travel
    limit = travel.overnight_limit if before and after else travel.day_limit
    for drive in (out, back):
        if drive.drive_seconds > limit * HOUR:
            nights_words = "lodging before and after" if before and after else "lodging on one side only"
            yield f"drive {duration_words(drive.drive_seconds)} one way with {nights_words}; the limit is {limit:g} h"
