"""What a drive's reader needs beyond its row in the plan: breaks, crossings, the latest that it can start."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.clock import HOUR, MINUTE
from roundplan.domain.plan import Drive
from roundplan.handouts.daylight_left import margin
from roundplan.handouts.plan_index import PlanIndex
from roundplan.travel.way import Way


def way_of(index: PlanIndex, drive: Drive) -> Way | None:
    """Return the way over the roads that a drive takes; None where today's tables hold no such way."""
    ways = index.roads.ways(drive.start, drive.end, drive.date)
    same = (way for way in ways if way.source == drive.source and way.via == drive.via)
    return next(same, None)


def break_starts(index: PlanIndex, drive: Drive) -> Iterator[tuple[int, int]]:
    """Yield start and length of each break of a drive (seconds after midnight, seconds)."""
    travel = index.training_round.settings.travel
    every, left = int(travel.break_every * HOUR), drive.break_seconds
    start = drive.depart + every
    while left > 0 and every:
        length = min(left, travel.break_minutes * MINUTE)
        yield start, length
        left -= length
        start += length + every


def latest_start(index: PlanIndex, drive: Drive) -> int | None:
    """Return when a crew can at the latest set out and still arrive in daylight (seconds after midnight).

    The crews' margin before sunset is kept, and a crossing is left before it closes; None where daylight does not bind.
    """
    spare = margin(index, drive, crew=True).to_spare
    if spare is None:
        return None
    latest = drive.depart + spare
    way = way_of(index, drive)
    for gate in way.gates if way else ():
        latest = min(latest, gate.open_to - gate.leave_after)
    return max(latest, drive.depart)


def crossing_hours(index: PlanIndex, drive: Drive) -> tuple[tuple[int, int], ...]:
    """Return the hours of each crossing on a drive (seconds after midnight)."""
    way = way_of(index, drive)
    return tuple((gate.open_from, gate.open_to) for gate in way.gates) if way else ()
