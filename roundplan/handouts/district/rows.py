"""What both forms of a district's sheet say: seats and cover of each of its facilities, one row each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.facility import Facility
from roundplan.domain.plan import Cover, Outing, Seat, Team
from roundplan.handouts.facility.cover import why_words
from roundplan.handouts.facility.groups import seat_name, standby_words
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import message, say
from roundplan.handouts.terms import role_word, shift_word
from roundplan.handouts.words import arrival, clock, clock_span, dates_words, list_words, moment, short_date

REPLY_HEADS = (message("Reply (yes or no)"), message("Replaced by"))
"""Headings of the columns that come back filled in, as messages to be said."""


@dataclass(frozen=True, slots=True)
class SeatRow:
    """One seat as a district's sheet shows it.

    Attributes
    ----------
    leaves, returns : str
        When the person leaves home and is back; where there is no drive, that the session is near.
    """

    facility: str
    team: str
    what: str
    person: str
    name: str
    role: str
    dates: str
    venue: str
    leaves: str
    returns: str
    slots: str
    standby: str
    notes: str


@dataclass(frozen=True, slots=True)
class CoverRow:
    """One person named as cover in one shift."""

    facility: str
    date: date
    shift: str
    why: str
    person: str
    name: str
    role: str


def facilities_of(index: PlanIndex, district: str) -> tuple[Facility, ...]:
    """Return the district's facilities in the order of their table."""
    return tuple(f for f in index.training_round.facilities if f.district == district)


def seat_rows(index: PlanIndex, facility: str) -> tuple[SeatRow, ...]:
    """Return the seats of a facility's teams and of its people as guests."""
    return tuple(_seat_row(index, team, seat, facility) for team, seat in index.seats_at(facility))


def _seat_row(index: PlanIndex, team: Team, seat: Seat, facility: str) -> SeatRow:
    leaves, returns = _journey(index.outing(team, seat.person))
    return SeatRow(
        facility=facility,
        team=team.code,
        what=_what(index, team, facility),
        person=seat.person,
        name=seat_name(index, seat, facility),
        role=role_word(seat.role),
        dates=dates_words(team.dates),
        venue=index.venue_name(team),
        leaves=leaves,
        returns=returns,
        slots=_slots(index, team),
        standby=standby_words(index, seat, facility),
        notes=list_words(_notes(index, team, seat)),
    )


def _what(index: PlanIndex, team: Team, facility: str) -> str:
    if team.facility == facility:
        return say("team {team}", team=team.number)
    return say("guest in a team of {facility}", facility=index.name(team.facility))


def _slots(index: PlanIndex, team: Team) -> str:
    """Say a team's slots; the date stands with them where it attends more than one."""
    by_date: dict[date, list[str]] = {}
    for slot in index.slots_of_team(team):
        by_date.setdefault(slot.date, []).append(clock_span(slot.start, slot.end))
    if len(by_date) == 1:
        return list_words(next(iter(by_date.values())))
    return "; ".join(f"{short_date(day)} {list_words(times)}" for day, times in by_date.items())


def _journey(outing: Outing | None) -> tuple[str, str]:
    if outing is None or not outing.drives:
        return say("no journey"), say("no journey")
    out, back = outing.drives[0], outing.drives[-1]
    return moment(out.date, clock(out.depart)), moment(back.date, arrival(back.arrive))


def _notes(index: PlanIndex, team: Team, seat: Seat) -> Iterator[str]:
    if seat.provisional:
        yield say("provisional until the roster comes")
    if any(swap.person == seat.person and swap.date in team.dates for swap in index.plan.swaps):
        yield say("has a day duty to swap")


def cover_rows_by_person(index: PlanIndex, facility: str) -> tuple[CoverRow, ...]:
    """Return each person named as cover at a facility, by shift."""
    return tuple(row for cover in index.cover_at(facility) for row in _cover_rows(index, cover))


def _cover_rows(index: PlanIndex, cover: Cover) -> Iterator[CoverRow]:
    for role, person in cover.named:
        yield CoverRow(
            facility=cover.facility,
            date=cover.date,
            shift=shift_word(cover.shift),
            why=why_words(index, cover),
            person=person,
            name=index.name(person),
            role=role_word(role),
        )
