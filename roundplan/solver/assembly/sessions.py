"""Writes sessions out: clocks, stations, slots with cases, observers and walls."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from roundplan.domain.clock import HOUR
from roundplan.domain.plan import Session, SessionDay, Slot, SlotKind, Station
from roundplan.domain.role import MINIMUM_ROLES
from roundplan.solver.assembly.rota import Rota, Turn, lay_turns
from roundplan.solver.assembly.stations import aboard, crews_of, held_leads, stations_of
from roundplan.solver.assembly.teams import Draft
from roundplan.solver.assembly.watching import Watch, choose_cases
from roundplan.solver.facts import Facts
from roundplan.solver.outline import Outline, SessionOutline
from roundplan.solver.timetable import Timetable, timetable

SHOWN = (SlotKind.SIMULATION, SlotKind.DEMONSTRATION)


def write_session(
    code: str, session: SessionOutline, teams: Sequence[Draft], outline: Outline, facts: Facts
) -> tuple[Session, dict[str, int]]:
    """Return the session and the station of each of its teams."""
    stations = stations_of(session, outline, facts)
    rota = lay_turns(session, teams, facts)
    watch = choose_cases(rota, teams, facts)
    tables = {
        day: _table(facts, *clock, _needed(rota, teams, day, facts)) for day, clock in sorted(session.clocks.items())
    }
    writer = _SlotWriter(session, stations, teams, outline, facts, rota, watch)
    slots = [slot for day, table in tables.items() for slot in writer.slots_of(day, table)]
    written = Session(
        code=code,
        venue=session.venue,
        days=tuple(SessionDay(date=d, start=t.start, end=t.end, pauses=t.pauses) for d, t in tables.items()),
        crews=crews_of(session),
        stations=stations,
        leads=held_leads(session),
        slots=tuple(_with_walls(slots)),
    )
    return written, rota.station


def _needed(rota: Rota, teams: Sequence[Draft], day: date, facts: Facts) -> int:
    """Return the slots that the date cannot do without: its last simulation, and the reserve after it."""
    settings = facts.settings.session
    there = Counter(rota.station[team.code] for team in teams if day in team.dates)
    last = {turn.station: turn.number for turn in rota.turns if turn.date == day}
    ends = [last.get(station, 0) + (settings.reserve_slots if count > 1 else 0) for station, count in there.items()]
    return max([1 if settings.days_per_team == settings.days else 0, *ends])


def _table(facts: Facts, start: int, slots: int, needed: int) -> Timetable:
    """Lay out the day with no slot more than needed, so that it ends as early as it can."""
    until = timetable(facts.settings.session, start, slots)
    for count in range(min(needed, slots), slots + 1):
        found = timetable(facts.settings.session, start, count)
        if found is not None and (until is None or found.end <= until.end):
            return found
    raise RuntimeError(f"no lunch fits a day of {slots} slots from {start / HOUR:g} h")


class _SlotWriter:
    """Writes the slots of a session's dates."""

    def __init__(
        self, session: SessionOutline, stations: Sequence[Station], teams: Sequence[Draft], outline: Outline,
        facts: Facts, rota: Rota, watch: Watch,
    ) -> None:  # fmt: skip
        self.stations, self.facts, self.rota, self.watch = stations, facts, rota, watch
        self.teams = {team.code: team for team in teams}
        self.length = facts.settings.session.slot_seconds
        held = {code for _, _, code in session.leads} | {s.director for s in stations}
        self.free = {crew: [t for t in aboard(session, outline, crew) if t not in held] for crew in crews_of(session)}

    def slots_of(self, day: date, table: Timetable) -> Iterator[Slot]:
        """Yield the slots of one date, station by station."""
        for station in self.stations:
            turns = [t for t in self.rota.turns if t.date == day and t.station == station.number]
            if turns:
                yield from self._demonstrations(station, day, table)
            for turn in turns:
                yield self._simulation(station, turn, table)
            yield from self._reserve(station, day, table, turns)

    def _slot(self, station: Station, day: date, table: Timetable, number: int, kind: SlotKind) -> Slot:
        start = table.slots[number - 1]
        director = station.director if kind in SHOWN else None
        return Slot(
            date=day, station=station.number, number=number, start=start, end=start + self.length, kind=kind,
            director=director,
        )  # fmt: skip

    def _demonstrations(self, station: Station, day: date, table: Timetable) -> Iterator[Slot]:
        """Show the first case that needs nobody beyond the minimum, or the first."""
        cases = self.facts.round.cases
        plain = [case.code for case in cases if set(case.roles) <= set(MINIMUM_ROLES)]
        shown = next(iter([*plain, *(case.code for case in cases)]), None)
        for number in range(1, min(self.facts.settings.session.demonstrations, len(table.slots)) + 1):
            yield replace(self._slot(station, day, table, number, SlotKind.DEMONSTRATION), case=shown)

    def _simulation(self, station: Station, turn: Turn, table: Timetable) -> Slot:
        slot = self._slot(station, turn.date, table, turn.number, SlotKind.SIMULATION)
        running = {p for code in self.rota.at(turn.date, turn.number) for p in self.teams[code].people}
        watching = [p for code in self.watch.teams[turn] for p in sorted(self.teams[code].people) if p not in running]
        observers = watching or self.free.get(station.crew, [])[: 1 if self._first_at(station) else 0]
        return replace(slot, team=turn.team, case=self.watch.case[turn], observers=tuple(dict.fromkeys(observers)))

    def _first_at(self, station: Station) -> bool:
        """Whether a crew's spare trainer is at this station: its first one."""
        return station.number == min(s.number for s in self.stations if s.crew == station.crew)

    def _reserve(self, station: Station, day: date, table: Timetable, turns: Sequence[Turn]) -> Iterator[Slot]:
        there = [
            c for c, number in self.rota.station.items() if number == station.number and day in self.teams[c].dates
        ]
        if len(there) < 2:
            return
        last = max((turn.number for turn in turns), default=0)
        wanted = self.facts.settings.session.reserve_slots
        for number in range(max(last, len(table.slots) - wanted) + 1, len(table.slots) + 1):
            yield self._slot(station, day, table, number, SlotKind.RESERVE)


def _with_walls(slots: Sequence[Slot]) -> Iterator[Slot]:
    """Use each wall twice, end 1 then end 2, station by station over the session."""
    used: Counter[int] = Counter()
    for slot in sorted(slots, key=lambda s: (s.date, s.station, s.start, s.number)):
        if slot.kind in SHOWN:
            wall, end = used[slot.station] // 2 + 1, used[slot.station] % 2 + 1
            used[slot.station] += 1
            yield replace(slot, wall=wall, wall_end=end)
        else:
            yield slot
