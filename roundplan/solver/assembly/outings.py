"""How the people of a team get to the session and back, with clock."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date

from roundplan.domain.clock import DAY
from roundplan.domain.plan import Drive, Outing, SessionDay
from roundplan.solver.assembly.teams import Draft
from roundplan.solver.attendance import EVE_ARRIVAL, MORROW_DEPARTURE, Mode
from roundplan.solver.facts import Facts
from roundplan.solver.roadtime import Passage


def outings_of(team: Draft, days: Mapping[date, SessionDay], facts: Facts) -> tuple[Outing, ...]:
    """Return the outing of the team's own people, then those of its guests by facility.

    Parameters
    ----------
    days : mapping
        The session's clock by date.
    """
    found = []
    own = tuple(seat.person for seat in team.seats if seat.guest_mode is None)
    if own:
        found.append(_outing(team.facility, own, team.mode, days))
    guests: dict[tuple[str, Mode], list[str]] = defaultdict(list)
    for seat in team.seats:
        if seat.guest_mode is not None:
            guests[facts.round.person(seat.person).facility, seat.guest_mode].append(seat.person)
    for (facility, mode), people in sorted(guests.items(), key=lambda item: (item[0][0], item[1][0])):
        found.append(_outing(facility, tuple(people), mode, days))
    return tuple(found)


def _outing(facility: str, people: tuple[str, ...], mode: Mode, days: Mapping[date, SessionDay]) -> Outing:
    if mode.is_near:
        return Outing(facility=facility, people=people)
    nights = tuple((night, mode.lodging) for night in mode.nights if mode.lodging is not None)
    return Outing(facility=facility, people=people, drives=tuple(_drives(mode, days)), nights=nights)


def _drives(mode: Mode, days: Mapping[date, SessionDay]) -> Iterator[Drive]:
    if mode.before:
        yield _eve(mode.out[0])
    for day in mode.dates:
        out, back = mode.out_on(day), mode.back_on(day)
        if out is not None:
            yield out.drive(_within(out, min(out.latest, days[day].start - out.seconds)))
        if back is not None:
            yield back.drive(_within(back, max(back.earliest, days[day].end)))
    if mode.after:
        yield mode.back[0].drive(_within(mode.back[0], max(mode.back[0].earliest, MORROW_DEPARTURE)))


def _eve(out: Passage) -> Drive:
    return out.drive(_within(out, min(out.latest, EVE_ARRIVAL - out.seconds)))


def _within(passage: Passage, depart: int) -> int:
    """Return the departure, no earlier than the passage opens and on the same date."""
    return min(max(depart, passage.earliest, 0), max(DAY - passage.seconds, 0))
