"""Rules on who may be seated and when: once-only, include, staff-available, notice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from roundplan.audit.book import Attendee, Book
from roundplan.audit.breach import Breach, day_words
from roundplan.audit.standby import standby_free
from roundplan.audit.timing import ONE_DAY
from roundplan.domain.counts import counted
from roundplan.domain.dates import WEEKDAY_CODES
from roundplan.domain.person import Person
from roundplan.domain.presence import has_day_duty
from roundplan.domain.role import DutyKind, Include, Shift
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound, add_months


def once_only(book: Book) -> Iterator[Breach]:
    """One team a person, a second seat only as an allowed guest, no retraining too soon."""
    seats: dict[str, list[Attendee]] = defaultdict(list)
    for attendee in book.attendees:
        seats[attendee.person.code].append(attendee)
    for code, held in seats.items():
        person = held[0].person
        teams = list(dict.fromkeys(a.team.code for a in held))
        own = [a for a in held if a.team.facility == person.facility]
        listed = " and ".join(teams)
        if len(teams) > 1 and not person.second_seat:
            yield Breach(Rule.ONCE_ONLY, f"{book.who(code)} sits in {listed} but may sit once only", (code,))
        elif len(teams) > 2 or len({a.team.code for a in own}) > 1:
            words = f"{book.who(code)} sits in {listed}; a second seat is for a guest only, and a third is for nobody"
            yield Breach(Rule.ONCE_ONLY, words, (code,))
        yield from _refresher(book, held)


def _refresher(book: Book, held: list[Attendee]) -> Iterator[Breach]:
    person = held[0].person
    last = book.round.last_trained(person.code)
    if last is None or person.include is Include.MUST:
        return
    months = book.settings.teams.refresher_months
    first = min(a.team.dates[0] for a in held)
    if first < add_months(last, months):
        words = (
            f"{book.who(person.code)} was trained on {day_words(last)}, less than {counted(months, 'month')}"
            f" before {day_words(first)}"
        )
        yield Breach(Rule.ONCE_ONLY, words, (person.code,), person.facility, first)


def include(book: Book) -> Iterator[Breach]:
    """Nobody marked 'no' is seated."""
    for attendee in book.attendees:
        if attendee.person.include is Include.NO:
            words = f"{book.who(attendee.person.code)} sits in {attendee.team.code} but is marked 'no'"
            yield Breach(Rule.INCLUDE, words, (attendee.person.code,), attendee.person.facility, attendee.team.dates[0])


def away_obstacle(training_round: TrainingRound, person: Person, day: date) -> str | None:
    """Return why a person cannot be away or seated on a date: leave, night duty or being lent; None if free."""
    if training_round.on_leave(person.code, day):
        return "is on leave"
    if any(duty.kind is DutyKind.NIGHT for duty in training_round.duties_on(person.code, day)):
        return "is on night duty that date"
    if any(duty.kind is DutyKind.NIGHT for duty in training_round.duties_on(person.code, day - ONE_DAY)):
        return "comes off night duty that morning"
    if training_round.located_at(person.code, day) != person.facility:
        return "is lent to another facility"
    return None


def staff_available(book: Book) -> Iterator[Breach]:
    """Nobody is touched on leave, round a night duty or while lent; day duties are listed as swaps."""
    swaps = {(swap.person, swap.date) for swap in book.plan.swaps if swap.shift is Shift.DAY}
    for attendee in book.attendees:
        person, team = attendee.person, attendee.team
        place = person.facility
        for day in book.touched_dates(attendee):
            obstacle = away_obstacle(book.round, person, day)
            if obstacle is not None:
                words = f"{book.who(person.code)} is needed for {team.code} on {day_words(day)} but {obstacle}"
                yield Breach(Rule.STAFF_AVAILABLE, words, (person.code,), place, day)
        for day in team.dates:
            if person.works_days is not None and day.weekday() not in person.works_days:
                words = f"{book.who(person.code)} sits in {team.code} on {day_words(day)}, no working weekday of theirs"
                yield Breach(Rule.STAFF_AVAILABLE, words, (person.code,), place, day)
            if has_day_duty(book.round, person.code, day) and (person.code, day) not in swaps:
                words = f"{book.who(person.code)} sits on a day duty on {day_words(day)} that is not listed as a swap"
                yield Breach(Rule.STAFF_AVAILABLE, words, (person.code,), place, day)
    yield from _swaps(book)
    yield from _course_days(book)
    yield from standby_free(book)


def _swaps(book: Book) -> Iterator[Breach]:
    known = {person.code for person in book.round.people}
    for swap in book.plan.swaps:
        if swap.person not in known:
            words = f"a duty to swap names the person {swap.person}, which the inputs do not have"
            yield Breach(Rule.STAFF_AVAILABLE, words, (), None, swap.date)


def _course_days(book: Book) -> Iterator[Breach]:
    for team in book.plan.teams:
        course_days = book.round.facility(team.facility).course_days
        for day in team.dates:
            if course_days and day not in course_days:
                words = (
                    f"{book.who(team.facility)} sends {team.code} on {day_words(day)}"
                    f" ({WEEKDAY_CODES[day.weekday()]}), not one of its course days"
                )
                yield Breach(Rule.STAFF_AVAILABLE, words, (), team.facility, day)


def notice(book: Book) -> Iterator[Breach]:
    """A session's first date leaves each of its teams the notice set."""
    announced = book.round.announce_date()
    settings = book.settings.teams
    for team in book.plan.teams:
        session = book.sessions[team.session]
        at_home = book.near(session.venue, team.facility)
        wanted = settings.notice_on_site if at_home else settings.notice_off_site
        first = session.dates[0]
        given = (first - announced).days
        if given < wanted:
            words = (
                f"{book.who(team.facility)} has {counted(given, 'day')} from {day_words(announced)} to {session.code}"
                f" on {day_words(first)}; {'at home' if at_home else 'away from home'} it needs {wanted}"
            )
            yield Breach(Rule.NOTICE, words, (), session.venue, first)
