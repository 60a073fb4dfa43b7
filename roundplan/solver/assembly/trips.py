"""Crews' trips: legs with clock and driver, nights, trainers aboard."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from roundplan.domain.clock import DAY, HOUR
from roundplan.domain.plan import CrewDay, Drive, Leg, Session, SessionDay, Trip
from roundplan.solver.assembly.riders import aboard_by_date
from roundplan.solver.facts import Arc, Facts
from roundplan.solver.outline import CrewDayOutline, Outline
from roundplan.solver.roadtime import Passage

TRANSIT_FROM = 7 * HOUR
Sessions = Mapping[tuple[str, date], Session]


def write_trips(outline: Outline, sessions: Sessions, facts: Facts) -> tuple[Trip, ...]:
    """Return the trips of all crews in the order of date and crew.

    Parameters
    ----------
    sessions : mapping
        Written sessions by venue and first date.
    """
    rows = [
        days
        for crew in facts.round.crews
        for days in _split(
            sorted((d for d in outline.crew_days if d.crew == crew.code), key=lambda d: d.date), crew.base
        )
    ]
    rows.sort(key=lambda days: (days[0].date, days[0].crew))
    width = max(2, len(str(len(rows))))
    return tuple(_trip(f"K{n:0{width}d}", days, sessions, facts) for n, days in enumerate(rows, start=1))


def _split(days: Sequence[CrewDayOutline], base: str) -> Iterator[list[CrewDayOutline]]:
    """Yield stretches of dates that end with a night at base."""
    trip: list[CrewDayOutline] = []
    for day in days:
        if trip and (day.date - trip[-1].date).days > 1:
            yield trip
            trip = []
        trip.append(day)
        if day.night == base:
            yield trip
            trip = []
    if trip:
        yield trip


def _trip(code: str, days: Sequence[CrewDayOutline], sessions: Sessions, facts: Facts) -> Trip:
    crew = facts.round.crew(days[0].crew)
    riders = aboard_by_date(days, crew, facts)
    written = []
    for index, day in enumerate(days):
        taught = [sessions[key] for key in day.sessions if key in sessions]
        last = index == len(days) - 1
        written.append(
            CrewDay(
                date=day.date,
                legs=_with_drivers(list(_drives(day, taught, facts)), crew.drivers, facts),
                sessions=tuple(session.code for session in taught),
                night=None if last and day.night == crew.base else day.night,
                aboard=riders[day.date],
            )
        )
    held = {key: sessions[key] for day in days for key in day.sessions if key in sessions}
    stations = [sum(s.crew == crew.code for s in session.stations) for session in held.values()]
    return Trip(code=code, crew=crew.code, days=tuple(written), box_models=max([1, *stations]))


def _drives(day: CrewDayOutline, taught: Sequence[Session], facts: Facts) -> Iterator[Drive]:
    if taught:
        first, last = taught[0], taught[-1]
        if (p := _passage(day.morning)) is not None:
            by = _clock(first, day.date).start - (facts.set_up if day.date == first.dates[0] else 0)
            yield _depart(p, min(p.latest, by - p.seconds))
        for (arc, _), before in zip(day.more, taught, strict=False):
            if (p := _passage(arc)) is not None:
                yield _depart(p, max(p.earliest, _clock(before, day.date).end + facts.pack_up))
        if (p := _passage(day.evening)) is not None:
            free = _clock(last, day.date).end + (facts.pack_up if day.date == last.dates[-1] else 0)
            yield _depart(p, max(p.earliest, free))
    elif (p := _passage(day.transit)) is not None:
        yield _depart(p, max(p.earliest, TRANSIT_FROM) if p.latest >= TRANSIT_FROM else p.earliest)


def _clock(session: Session, day: date) -> SessionDay:
    return next(found for found in session.days if found.date == day)


def _passage(arc: Arc | None) -> Passage | None:
    """Return what is driven, if anything."""
    return arc.passage if arc is not None and arc.is_leg else None


def _depart(passage: Passage, moment: int) -> Drive:
    """Return the drive from a moment, no earlier than the passage opens and on the same date."""
    return passage.drive(min(max(moment, passage.earliest, 0), max(DAY - passage.seconds, 0)))


def _with_drivers(drives: Sequence[Drive], drivers: int, facts: Facts) -> tuple[Leg, ...]:
    """Let the first driver drive while the hours at the wheel last, then the next; where that fails, find who can."""
    most = round(facts.settings.travel.wheel_hours * HOUR)
    dealt = _dealt([drive.drive_seconds for drive in drives], [most] * drivers)
    if dealt is None:
        wheel: dict[int, int] = defaultdict(int)
        dealt = []
        for drive in drives:
            dealt.append(min(range(drivers), key=lambda n: wheel[n]))
            wheel[dealt[-1]] += drive.drive_seconds
    return tuple(Leg(drive=drive, driver=driver + 1) for drive, driver in zip(drives, dealt, strict=True))


def _dealt(wheel: Sequence[int], left: Sequence[int]) -> list[int] | None:
    """Return a driver for each leg within the time each has left, the first who can wherever possible; else None."""
    if not wheel:
        return []
    tried: set[int] = set()
    for number, time in enumerate(left):
        if wheel[0] > time or time in tried:
            continue
        tried.add(time)
        rest = _dealt(wheel[1:], [*left[:number], time - wheel[0], *left[number + 1 :]])
        if rest is not None:
            return [number, *rest]
    return None
