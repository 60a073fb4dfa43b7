"""Rules on slots: slot-order and simulations-per-team."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, clock_words, day_words, roles_words
from roundplan.audit.places import one_place
from roundplan.audit.timing import ONE_DAY, Stretch, moment
from roundplan.domain.counts import counted
from roundplan.domain.plan import Session, Slot, SlotKind, Team
from roundplan.domain.role import MINIMUM_ROLES
from roundplan.domain.rules import Rule

SHOWN = (SlotKind.SIMULATION, SlotKind.DEMONSTRATION)


def stretch_of(slot: Slot) -> Stretch:
    """Return when a slot is."""
    return Stretch(moment(slot.date, slot.start), moment(slot.date, slot.end))


def _name(session: Session, slot: Slot) -> str:
    return f"slot {slot.number} of station {slot.station} in {session.code} on {day_words(slot.date)}"


def slot_order(book: Book) -> Iterator[Breach]:
    """Slots do not overlap, walls are used in order, and everybody is in one place at a time."""
    for session in book.plan.sessions:
        for words, day in (*_stations(book, session), *_grid(session), *_walls(session), *_observers(book, session)):
            yield Breach(Rule.SLOT_ORDER, words, (), session.venue, day)
    yield from one_place(book)


def _stations(book: Book, session: Session) -> Iterator[tuple[str, date]]:
    by_station = {station.number: station for station in session.stations}
    for number, station in by_station.items():
        own = sorted((s for s in session.slots if s.station == number), key=lambda s: (s.date, s.start, s.end))
        for a, b in pairwise(own):
            if stretch_of(a).meets(stretch_of(b)):
                yield f"{_name(session, b)} starts at {clock_words(b.start)}, before slot {a.number} ends", b.date
        for slot in own:
            if slot.kind in SHOWN and slot.director != station.director:
                held = book.who(slot.director) if slot.director else "nobody"
                words = f"{_name(session, slot)} is directed by {held}, not by {book.who(station.director)}"
                yield words, slot.date
            team = book.teams.get(slot.team or "")
            if slot.kind is not SlotKind.SIMULATION or team is None:
                continue
            if team.session != session.code or team.station != number or slot.date not in team.dates:
                words = (
                    f"{_name(session, slot)} is for {team.code}, which belongs to station {team.station} of"
                    f" {team.session} on other dates or there"
                )
                yield words, slot.date


def _grid(session: Session) -> Iterator[tuple[str, date]]:
    times: dict[tuple[date, int], tuple[int, int]] = {}
    seen: set[tuple[date, int, int]] = set()
    for slot in session.slots:
        held = times.setdefault((slot.date, slot.number), (slot.start, slot.end))
        if held != (slot.start, slot.end):
            here, there = clock_words(slot.start), clock_words(held[0])
            yield f"{_name(session, slot)} is at {here}; elsewhere that slot is at {there}", slot.date
        if (slot.date, slot.station, slot.number) in seen:
            yield f"{_name(session, slot)} stands twice", slot.date
        seen.add((slot.date, slot.station, slot.number))
    for ((day, number), first), ((later_day, later), second) in pairwise(sorted(times.items())):
        if day == later_day and second[0] < first[1]:
            yield f"slot {later} of {session.code} on {day_words(day)} starts before slot {number} ends", day


def _walls(session: Session) -> Iterator[tuple[str, date]]:
    for station in session.stations:
        own = [s for s in session.slots if s.station == station.number and s.kind in SHOWN]
        for index, slot in enumerate(sorted(own, key=lambda s: (s.date, s.start, s.number))):
            wall, end = index // 2 + 1, index % 2 + 1
            if (slot.wall, slot.wall_end) != (wall, end):
                words = (
                    f"{_name(session, slot)} is at wall {slot.wall}, end {slot.wall_end}, not at wall {wall}, end {end}"
                )
                yield words, slot.date


def _observers(book: Book, session: Session) -> Iterator[tuple[str, date]]:
    for slot in session.slots:
        there = {seat.person for team in book.teams_at(session, slot.date) for seat in team.seats}
        there |= {code for crew in session.crews for code in book.aboard_on(crew, slot.date)}
        same_time = [s for s in session.slots if stretch_of(s).meets(stretch_of(slot))]
        busy = {
            seat.person for s in same_time if (team := book.teams.get(s.team or "")) is not None for seat in team.seats
        }
        elsewhere = {code for s in same_time if s is not slot for code in s.observers}
        elsewhere |= {s.director for s in same_time if s is not slot and s.director and s.kind in SHOWN}
        for code, times in Counter(slot.observers).items():
            if times > 1:
                yield f"{book.who(code)} is named {times} times to observe {_name(session, slot)}", slot.date
            if code not in there:
                yield (
                    f"{book.who(code)} is named to observe {_name(session, slot)} but is not at the session",
                    slot.date,
                )
            elif code in busy:
                yield f"{book.who(code)} is named to observe {_name(session, slot)} but simulates then", slot.date
            elif code in elsewhere:
                yield (
                    f"{book.who(code)} is named to observe {_name(session, slot)} but has another task then",
                    slot.date,
                )


def simulations_per_team(book: Book) -> Iterator[Breach]:
    """Each team runs the set simulations, each another case that it has not watched that day."""
    rule = Rule.SIMULATIONS_PER_TEAM
    for team in book.plan.teams:
        session = book.sessions[team.session]
        for words in (*_attendance(book, team), *_cases(book, session, team)):
            yield Breach(rule, f"{team.code} of {book.who(team.facility)} {words}", (), session.venue, team.dates[0])
    for session in book.plan.sessions:
        for day in session.dates:
            for words in _demonstrations(book, session, day):
                yield Breach(rule, words, (), session.venue, day)


def _attendance(book: Book, team: Team) -> Iterator[str]:
    settings = book.settings.session
    own = book.simulations(team)
    if len(own) != settings.simulations_per_team:
        yield f"runs {counted(len(own), 'simulation')}, not {settings.simulations_per_team}"
    if len(team.dates) != settings.days_per_team:
        yield f"attends {counted(len(team.dates), 'date')}, not {settings.days_per_team}"
    if any(b != a + ONE_DAY for a, b in pairwise(team.dates)):
        yield "attends dates that are not consecutive"
    each, more = divmod(settings.simulations_per_team, settings.days_per_team)
    for index, day in enumerate(team.dates):
        wanted, found = each + (index < more), sum(slot.date == day for slot in own)
        if found != wanted and len(own) == settings.simulations_per_team:
            yield f"runs {counted(found, 'simulation')} on {day_words(day)}, not {wanted}"


def _cases(book: Book, session: Session, team: Team) -> Iterator[str]:
    own = book.simulations(team)
    members = {seat.person for seat in team.seats}
    filled = Counter(seat.role for seat in team.seats)
    for code, times in Counter(slot.case for slot in own if slot.case is not None).items():
        if times > 1:
            yield f"runs the case {book.who(code)} {times} times"
    for slot in own:
        if slot.case is None:
            if book.round.cases:
                yield f"has no case in {_name(session, slot)}"
            continue
        needed = Counter(role for role in book.round.case(slot.case).roles if role not in MINIMUM_ROLES)
        missing = needed - filled
        if missing:
            yield f"runs the case {book.who(slot.case)} without {roles_words(missing.elements())}"
        for earlier in session.slots:
            watched = members & set(earlier.observers)
            if watched and earlier.case == slot.case and earlier.date == slot.date and earlier.start < slot.start:
                yield f"runs the case {book.who(slot.case)}, observed earlier that day by {book.names(sorted(watched))}"


def _demonstrations(book: Book, session: Session, day: date) -> Iterator[str]:
    wanted = book.settings.session.demonstrations
    for station in session.stations:
        own = [s for s in session.slots if s.date == day and s.station == station.number]
        runs = [s.start for s in own if s.kind is SlotKind.SIMULATION]
        shown = [s for s in own if s.kind is SlotKind.DEMONSTRATION and (not runs or s.start < min(runs))]
        if runs and len(shown) < wanted:
            yield (
                f"station {station.number} of {session.code} shows {counted(len(shown), 'demonstration')} before its"
                f" first simulation on {day_words(day)}, not {wanted}"
            )
