"""Who is away or seated in which shift, read by the clock from a written plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.clock import DAY
from roundplan.domain.person import Person
from roundplan.domain.plan import Outing, Plan, Seat, SlotKind, Team
from roundplan.domain.role import OnSiteCover, Shift
from roundplan.domain.settings import CoverSettings
from roundplan.solver.facts import ONE_DAY, Facts, ShiftKey

Span = tuple[int, int]
"""From one moment to another, in seconds since the first day of the calendar, the end left out."""


def moment(day: date, seconds: int) -> int:
    """Return seconds since the first day of the calendar."""
    return day.toordinal() * DAY + seconds


def shift_span(key: ShiftKey, cover: CoverSettings) -> Span:
    """Return when a shift begins and ends."""
    day, shift = key
    if shift is Shift.DAY:
        return moment(day, cover.day_from), moment(day, cover.night_from)
    return moment(day, cover.night_from), moment(day + ONE_DAY, cover.day_from)


def shifts_in(spans: Iterable[Span], cover: CoverSettings) -> frozenset[ShiftKey]:
    """Return the shifts that have any second in common with the spans."""
    found = set()
    for first, last in spans:
        for ordinal in range(first // DAY - 1, last // DAY + 1) if last > first else ():
            for shift in Shift:
                key = (date.fromordinal(ordinal), shift)
                begin, end = shift_span(key, cover)
                if first < end and begin < last:
                    found.add(key)
    return frozenset(found)


def dates_in(spans: Iterable[Span]) -> frozenset[date]:
    """Return the dates that have any second in common with the spans."""
    return frozenset(
        date.fromordinal(n) for first, last in spans if last > first for n in range(first // DAY, (last - 1) // DAY + 1)
    )


@dataclass(frozen=True, slots=True)
class Sitter:
    """A seated person, and what the seat does to the own facility.

    Attributes
    ----------
    counts : OnSiteCover
        How the person counts as cover meanwhile; ``no`` = as away.
    away, seated : frozenset of (date, Shift)
        Shifts in which the person is as away, and in which they simulate.
    dates : frozenset of date
        Touched dates.
    """

    person: Person
    seat: Seat
    team: Team
    counts: OnSiteCover
    away: frozenset[ShiftKey]
    seated: frozenset[ShiftKey]
    dates: frozenset[date]

    @property
    def shifts(self) -> frozenset[ShiftKey]:
        """Shifts touched."""
        return self.away | self.seated


class Absences:
    """All that a plan takes from facilities.

    Attributes
    ----------
    sitters : tuple of Sitter
    away : dict
        By person, the shifts away, trainers who are staff included.
    touched : dict
        By facility and shift, who is away or seated.
    """

    def __init__(self, plan: Plan, facts: Facts) -> None:
        self.plan, self.facts = plan, facts
        self._cover = facts.settings.cover
        self._sessions = {session.code: session for session in plan.sessions}
        self.sitters = tuple(self._sitter(team, seat) for team in plan.teams for seat in team.seats)
        self.teaching = self._teaching()
        self.away = self._away()
        self.touched = self._touched()

    def stays(self, facility: str, key: ShiftKey) -> tuple[Person, ...]:
        """Return who is present in a shift and not away."""
        return tuple(p for p in self.facts.present(facility, key) if key not in self.away.get(p.code, ()))

    def simulating(self, team: Team) -> tuple[Span, ...]:
        """Return when a team simulates."""
        slots = self._sessions[team.session].slots
        own = (s for s in slots if s.kind is SlotKind.SIMULATION and s.team == team.code)
        return tuple((moment(s.date, s.start), moment(s.date, s.end)) for s in own)

    def seated_with(self, team: Team, key: ShiftKey) -> frozenset[str]:
        """Return everybody who simulates in a shift at a time when the team does."""
        begin, end = shift_span(key, self._cover)
        mine = [(a, b) for a, b in self.simulating(team) if a < end and begin < b]
        found = {seat.person for seat in team.seats}
        for other in self.plan.teams:
            if other.session == team.session and any(
                a < d and c < b for a, b in mine for c, d in self.simulating(other)
            ):
                found |= {seat.person for seat in other.seats}
        return frozenset(found)

    def _sitter(self, team: Team, seat: Seat) -> Sitter:
        session, person = self._sessions[team.session], self.facts.round.person(seat.person)
        outing = next((o for o in team.outings if seat.person in o.people), None)
        home = self.facts.near_sites(session.venue, person.facility)
        counts = OnSiteCover.NO
        if session.venue == person.facility:
            counts = self.facts.on_site_cover(self.facts.round.facility(person.facility))
        days = [(moment(d.date, d.start), moment(d.date, d.end)) for d in session.days if d.date in team.dates]
        away = list(days) if not home or counts is OnSiteCover.NO else []
        if not home and outing is not None:
            away += self._out(outing)
        seated = self.simulating(team)
        return Sitter(
            person, seat, team, counts, shifts_in(away, self._cover), shifts_in(seated, self._cover),
            frozenset(team.dates) | dates_in((*away, *seated)),
        )  # fmt: skip

    def _out(self, outing: Outing) -> Iterator[Span]:
        drives = outing.drives
        for out, back in zip(drives[::2], drives[1::2], strict=False):
            yield moment(out.date, out.depart), moment(back.date, back.arrive)
        for evening, _ in outing.nights:
            yield shift_span((evening, Shift.NIGHT), self._cover)

    def _teaching(self) -> dict[str, frozenset[date]]:
        """By person, the dates aboard as a trainer."""
        found: dict[str, set[date]] = defaultdict(set)
        for trip in self.plan.trips:
            for day in trip.days:
                for entry in day.aboard:
                    person = self.facts.round.trainer(entry.trainer).person
                    if person is not None:
                        found[person].add(day.date)
        return {person: frozenset(dates) for person, dates in found.items()}

    def _away(self) -> dict[str, frozenset[ShiftKey]]:
        found: dict[str, set[ShiftKey]] = defaultdict(set)
        for sitter in self.sitters:
            found[sitter.person.code] |= sitter.away
        for person, dates in self.teaching.items():
            for day in dates:
                found[person] |= {(day - ONE_DAY, Shift.NIGHT), (day, Shift.DAY), (day, Shift.NIGHT)}
        return {person: frozenset(keys) for person, keys in found.items() if keys}

    def _touched(self) -> dict[str, dict[ShiftKey, frozenset[str]]]:
        found: dict[str, dict[ShiftKey, set[str]]] = defaultdict(lambda: defaultdict(set))
        for person, keys in self.away.items():
            for key in keys:
                found[self.facts.round.located_at(person, key[0])][key].add(person)
        for sitter in self.sitters:
            for key in sitter.seated:
                found[sitter.person.facility][key].add(sitter.person.code)
        return {
            code: {key: frozenset(found[code][key]) for key in sorted(found[code], key=number_of)}
            for code in sorted(found)
        }


def number_of(key: ShiftKey) -> int:
    """Return a number that rises by one from each shift to the next."""
    return 2 * key[0].toordinal() + (key[1] is Shift.NIGHT)
