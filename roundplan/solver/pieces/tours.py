"""A plan in pieces: each tour is one crew's trip (or several that belong together) with its sessions and people."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.solver.choices import Choices
from roundplan.solver.facts import ShiftKey
from roundplan.solver.frame import Move
from roundplan.solver.limits.away import shifts_of, shifts_of_trainer
from roundplan.solver.outline import CrewDayOutline, Outline, SessionOutline
from roundplan.solver.parts import Counts, Guesting, Linear, Sending, Var, Visit
from roundplan.solver.read_off import read_off
from roundplan.solver.solving import evaluate
from roundplan.solver.taken import Taken

Meeting = tuple[str, date]
"""Venue and start of a session."""


@dataclass(frozen=True, slots=True)
class Tour:
    """A piece of a plan.

    Attributes
    ----------
    outline : Outline
        Its sessions and crews' dates.
    taken : Taken
        What other pieces must leave alone.
    visits, guests : frozenset of Visit
        Who comes to its sessions, with teams or as guests.
    names : dict of str to int
        Values of the model that it came from, by variable name: a hint for the next one.
    """

    outline: Outline
    taken: Taken
    visits: frozenset[Visit]
    guests: frozenset[Visit]
    names: dict[str, int]

    @property
    def holds(self) -> frozenset[tuple[str, str, date]]:
        """Crew, venue and start of its sessions."""
        return frozenset((crew, s.venue, s.start) for s in self.outline.sessions for crew in s.stations)

    @property
    def span(self) -> tuple[date, date]:
        """First and last date."""
        dates = [day.date for day in self.outline.crew_days]
        return min(dates), max(dates)

    @property
    def crews(self) -> frozenset[str]:
        """Crews on it."""
        return frozenset(day.crew for day in self.outline.crew_days)

    def moves(self) -> dict[tuple[str, date], frozenset[Move]]:
        """Return what its crews drive by date."""
        found: dict[tuple[str, date], frozenset[Move]] = {}
        for day in self.outline.crew_days:
            arcs = [arc for arc in (day.morning, day.evening, day.transit) if arc is not None]
            found[day.crew, day.date] = frozenset((arc.start, arc.end) for arc in arcs)
        return found


def merged(tours: Iterable[Tour]) -> Outline:
    """Return the outline of a whole plan."""
    found = list(tours)
    sessions = sorted((s for t in found for s in t.outline.sessions), key=lambda s: (s.start, s.venue))
    days = sorted((d for t in found for d in t.outline.crew_days), key=lambda d: (d.crew, d.date))
    return Outline(tuple(sessions), tuple(days))


def tours_of(choices: Choices, values: list[int], cost: Linear) -> tuple[Tour, ...]:
    """Return the tours of a solution: trips that share no session and no facility's date."""
    outline = read_off(choices, lambda var: values[var.index])
    trips = _trips(choices, outline)
    whole = evaluate(cost, values)
    return tuple(_tour(choices, values, days, sessions, whole // max(len(trips), 1)) for days, sessions in trips)


def _trips(choices: Choices, outline: Outline) -> list[tuple[list[CrewDayOutline], list[SessionOutline]]]:
    """Gather trips with their sessions; those that share a session or people of one facility's date stay together."""
    root: dict[object, object] = {}

    def find(key: object) -> object:
        while root.setdefault(key, key) != key:
            key = root[key]
        return key

    def join(a: object, b: object) -> None:
        root[find(a)] = find(b)

    days: list[tuple[object, CrewDayOutline]] = []
    number: Counter[str] = Counter()
    for day in outline.crew_days:
        trip = ("trip", day.crew, number[day.crew])
        days.append((trip, day))
        find(trip)
        if day.session is not None:
            join(trip, ("session", day.session))
        if day.night == choices.facts.round.crew(day.crew).base:
            number[day.crew] += 1
    for session in outline.sessions:
        for group in session.groups:
            join(("session", (session.venue, session.start)), ("cohort", group.facility, group.first))
            for seat in (seat for hand in group.seats for seat in hand if seat.guest_mode is not None):
                home = choices.facts.round.person(seat.person).facility
                join(("session", (session.venue, session.start)), ("cohort", home, group.first))
    gathered: dict[object, tuple[list[CrewDayOutline], list[SessionOutline]]] = defaultdict(lambda: ([], []))
    for key, crew_day in days:
        gathered[find(key)][0].append(crew_day)
    for session in outline.sessions:
        gathered[find(("session", (session.venue, session.start)))][1].append(session)
    return [entry for entry in gathered.values() if entry[0]]


def _tour(
    choices: Choices, values: list[int], days: list[CrewDayOutline], sessions: list[SessionOutline],
    cost: int,
) -> Tour:  # fmt: skip
    held = {(s.venue, s.start) for s in sessions}
    sendings = [s for s in choices.sendings if values[s.teams.index] and _at(choices, s.venue, s.first, held)]
    guestings = [g for g in choices.guestings if values[g.count.index] and _at(choices, g.venue, g.first, held)]
    cohorts = {(s.facility, s.first) for s in sendings} | {(g.facility, g.first) for g in guestings}
    seated, away, touched = _people(choices, values, cohorts)
    teams: Counter[str] = Counter()
    for sending in sendings:
        teams[sending.facility] += values[sending.teams.index]
    trainers = _trainers(choices, values, days)
    staff_away, staff_touched = _trainers_who_are_staff(choices, trainers["aboard"])
    locks = {number for number, kept in choices.kept.items() if evaluate(kept, values)}
    taken = Taken(
        seated=frozenset(seated),
        away=frozenset(away | staff_away),
        touched=frozenset(touched | staff_touched),
        teams=dict(teams),
        sessions=frozenset((venue, day) for venue, start in held for day in choices.facts.session_dates(start)),
        aboard=trainers["aboard"],
        working=trainers["working"],
        nights=trainers["nights"],
        beds=_beds(choices, values, sendings, guestings, days),
        uses=tuple(_uses(choices, values, held)),
        trips=sum(day.night == choices.facts.round.crew(day.crew).base for day in days),
        crews=frozenset(day.crew for day in days),
        out=frozenset((day.crew, day.date) for day in days),
        locks=frozenset(locks),
        cost=cost,
    )
    return Tour(
        Outline(tuple(sessions), tuple(days)), taken,
        frozenset((s.facility, s.venue, s.first) for s in sendings),
        frozenset((g.facility, g.venue, g.first) for g in guestings),
        _names(choices, values, days, held, cohorts),
    )  # fmt: skip


def _names(
    choices: Choices, values: list[int], days: list[CrewDayOutline], held: set[Meeting], cohorts: set[tuple[str, date]]
) -> dict[str, int]:
    """Return the values of the tour's own variables, zeros left out; those of others would be stale before long."""
    home = choices.facts.round.person
    crew_days = {(day.crew, day.date) for day in days}
    own: list[Var] = []
    for key in crew_days:
        own += [choice.used for choice in choices.arcs_on(*key)]
        own += [table[key] for table in (choices.start, choices.slots, choices.end) if key in table]
    own += [var for (crew, day, _), var in choices.night.items() if (crew, day) in crew_days]
    own += [var for (_, crew, day), var in choices.aboard.items() if (crew, day) in crew_days]
    own += [var for (_, crew, start, _), var in choices.leads.items() if (crew, start) in crew_days]
    for held_by in (choices.hold, choices.stations):
        own += [var for (_, venue, start), var in held_by.items() if (venue, start) in held]
    for sending in choices.sendings:
        if _at(choices, sending.venue, sending.first, held):
            own += [sending.teams, sending.used, sending.people]
    for guesting in choices.guestings:
        if _at(choices, guesting.venue, guesting.first, held):
            own += [guesting.count, guesting.used]
    for table in (choices.seat, choices.guest, choices.home_guest):
        own += [var for (code, first, _), var in table.items() if (home(code).facility, first) in cohorts]
    own += [v for (code, first, _, _), v in choices.site_seat.items() if (home(code).facility, first) in cohorts]
    return {var.name: values[var.index] for var in own if values[var.index]}


def _at(choices: Choices, venue: str, first: date, held: set[Meeting]) -> bool:
    return any((venue, start) in held for start in choices.facts.starts_of(venue, first))


def _people(
    choices: Choices, values: list[int], cohorts: set[tuple[str, date]]
) -> tuple[set[str], set[tuple[str, ShiftKey]], set[tuple[str, ShiftKey]]]:
    """Return who is seated, who is away when, and which shifts are touched."""
    home = choices.facts.round.person
    gone: dict[tuple[str, date], list[str]] = defaultdict(list)
    seated: set[str] = set()
    for table in (choices.seat, choices.guest, choices.home_guest):
        for (code, first, _), var in table.items():
            if (home(code).facility, first) in cohorts and values[var.index]:
                seated.add(code)
                if table is not choices.home_guest:
                    gone[home(code).facility, first].append(code)
    for (code, first, _, _), var in choices.site_seat.items():
        if (home(code).facility, first) in cohorts and values[var.index]:
            seated.add(code)
    away: set[tuple[str, ShiftKey]] = set()
    touched: set[tuple[str, ShiftKey]] = set()
    for key in cohorts:
        for shift, flag in shifts_of(choices, key):
            if flag is None or values[flag.index]:
                touched.add((key[0], shift))
                away.update((code, shift) for code in gone[key])
    return seated, away, touched


def _trainers(
    choices: Choices, values: list[int], days: list[CrewDayOutline]
) -> dict[str, frozenset[tuple[str, date]]]:
    aboard = {(t, day.date) for day in days for t in day.aboard}
    working = {(t, d.date) for d in days for t in d.aboard if evaluate(choices.works(d.crew, d.date), values)}
    crews = {(day.crew, day.date) for day in days}
    nights = {
        (t, day) for (t, crew, day, _), var in choices.nights_away.items() if values[var.index] and (crew, day) in crews
    }
    return {"aboard": frozenset(aboard), "working": frozenset(working), "nights": frozenset(nights)}


def _trainers_who_are_staff(
    choices: Choices, aboard: frozenset[tuple[str, date]]
) -> tuple[set[tuple[str, ShiftKey]], set[tuple[str, ShiftKey]]]:
    away: set[tuple[str, ShiftKey]] = set()
    touched: set[tuple[str, ShiftKey]] = set()
    for code, day in aboard:
        person = choices.facts.round.trainer(code).person
        if person is not None:
            for shift in shifts_of_trainer(day):
                away.add((person, shift))
                touched.add((choices.facts.round.person(person).facility, shift))
    return away, touched


def _beds(
    choices: Choices, values: list[int], sendings: list[Sending], guestings: list[Guesting], days: list[CrewDayOutline]
) -> dict[tuple[str, date], int]:
    beds: Counter[tuple[str, date]] = Counter()
    for sending in sendings:
        for night in sending.mode.nights:
            beds[str(sending.mode.lodging), night] += values[sending.people.index]
    for guesting in guestings:
        for night in guesting.mode.nights:
            beds[str(guesting.mode.lodging), night] += values[guesting.count.index]
    for day in days:
        crew = choices.facts.round.crew(day.crew)
        if day.night != crew.base:
            away = ((t.code, day.crew, day.date, day.night) for t in choices.facts.round.trainers)
            nights = [choices.nights_away[key] for key in away if key in choices.nights_away]
            beds[day.night, day.date] += crew.drivers + sum(values[night.index] for night in nights)
    return {key: count for key, count in beds.items() if count}


def _uses(choices: Choices, values: list[int], held: set[Meeting]) -> Iterator[tuple[date, Counts]]:
    for key in sorted(held, key=lambda k: (k[1], k[0])):
        counts = choices.counts[key]
        figures = (counts.stations, counts.simulations, counts.walls, counts.participants, counts.held)
        yield key[1], Counts(*(evaluate(c, values) for c in figures))
