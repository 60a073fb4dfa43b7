"""What sessions really used of each item: as entered, or worked out from what was counted when they were packed up."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from roundplan.closing.done import Done, Standing
from roundplan.domain.held import Counted
from roundplan.domain.plan import Trip
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.supplies.quantities import counts_on, gross_units, reusables_of, total_counts, trip_needs
from roundplan.travel.roadway import exact


@dataclass(frozen=True, slots=True)
class Use:
    """Units of items that sessions used, and that came back with each trip.

    Attributes
    ----------
    used : dict
        Units by key of the session and code of the item; nothing where nobody counted.
    back : dict
        Units by code of the trip and of the item; where nobody counted, what was loaded less what was planned for the
        sessions that were held.
    """

    used: dict[tuple[str, str], Fraction]
    back: dict[tuple[str, str], Fraction]


def use_of(done: Done) -> Use:
    """Work out what was used, trip by trip and session by session.

    What a trip has on board of a consumable is followed through its sessions: loads are added on their dates; a session
    takes off what is entered as used; where only what is left was counted, it used the difference. Where neither is
    known, what was planned is taken off, and nothing is worked out from a later count before the next one. Example: 15
    loaded, 5 left after the first session, which so used 10; the second says that it used 4: 1 comes back. A session
    that several crews hold together is followed by entries alone.
    """
    said = {(row.session, row.item): row for row in done.held.counted}
    entered = {key: exact(row.used) for key, row in said.items() if row.used is not None}
    back: dict[tuple[str, str], Fraction] = {}
    used = dict(entered)
    for trip in done.plan.trips:
        for item in done.training_round.items:
            if item.kind is ItemKind.CONSUMABLE:
                found, left = _follow(done, trip, item, said)
                used.update(found)
            else:
                left = _reusable_back(done, trip, item, said)
            back[trip.code, item.code] = left
    return Use(used, back)


def _follow(
    done: Done, trip: Trip, item: Item, said: dict[tuple[str, str], Counted]
) -> tuple[dict[tuple[str, str], Fraction], Fraction]:
    """Return what each session of a trip used where that is known, and what comes back."""
    keys = done.keys
    board, sure, used = Fraction(0), True, {}
    for day in trip.days:
        board += sum(
            (exact(load.quantity) for load in trip.loads if (load.item, load.date) == (item.code, day.date)),
            Fraction(0),
        )
        for code in day.sessions:
            session, key = done.sessions[keys[code]], keys[code]
            row = said.get((key, item.code))
            if day.date != session.dates[-1]:
                continue
            if row is not None and row.used is not None:
                used[key, item.code] = exact(row.used)
                board -= exact(row.used) if len(session.crews) == 1 else _planned(done, key, trip.crew, item)
            elif row is None or row.left is None or len(session.crews) > 1:
                board -= _planned(done, key, trip.crew, item)
                sure = sure and done.standing(key) is Standing.CANCELLED
                continue
            elif sure and board >= exact(row.left):
                used[key, item.code] = board - exact(row.left)
            if row.left is not None and len(session.crews) == 1:
                board, sure = exact(row.left), True
    return used, max(Fraction(0), board)


def _planned(done: Done, key: str, crew: str, item: Item) -> Fraction:
    """Return the whole units that a crew's part of a session was to use; none where it was cancelled."""
    if done.standing(key) is Standing.CANCELLED:
        return Fraction(0)
    session = done.sessions[key]
    counts = total_counts(counts_on(session, crew, done.plan, day) for day in session.dates)
    return Fraction(math.ceil(gross_units(item, counts)))


def _reusable_back(done: Done, trip: Trip, item: Item, said: dict[tuple[str, str], Counted]) -> Fraction:
    """Return how many of a reusable come back: as counted at the trip's last session with a count, else all."""
    keys = done.keys
    back = exact(reusables_of(trip, done.plan, done.training_round).get(item.code, 0))
    for code in dict.fromkeys(code for day in trip.days for code in day.sessions):
        row = said.get((keys[code], item.code))
        if row is not None and row.left is not None and len(done.sessions[keys[code]].crews) == 1:
            back = exact(row.left)
    return back


def denominators(done: Done, key: str) -> dict[Per, int]:
    """Return how often each measure occurred in a session as it was held."""
    came = {seat.person for seat in done.seats if seat.session == key and seat.simulations}
    shown = len(done.runs[key])
    return {
        Per.STATION: len(done.sessions[key].stations),
        Per.SESSION: 1,
        Per.SIMULATION: shown,
        Per.WALL: done.walls(key),
        Per.PARTICIPANT: len(came),
    }


def planned_use(done: Done) -> dict[str, int]:
    """Return the whole units of each consumable that the trips of the plan were to use."""
    total: dict[str, int] = defaultdict(int)
    for needs in trip_needs(done.plan, done.training_round).values():
        for code, units in needs.items():
            total[code] += units
    return dict(total)
