"""What a slip says, row by row: seats, people who stay, shifts to confirm, each with the code to reply by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.plan import Cover, CoverKind, Outing, Seat, Team
from roundplan.domain.role import Role, Shift
from roundplan.handouts.facility.cover import named_to_stay, why_words
from roundplan.handouts.facility.groups import seat_name, standby_words, team_words
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips.substitutes import for_cover, for_seat
from roundplan.handouts.speech import say
from roundplan.handouts.words import arrival, clock, clock_span, dates_words, list_words, moment, short_date
from roundplan.slips.numbering import Numbers, cover_shown, seats_asked, seats_shown, shifts_asked
from roundplan.slips.reply_code import row_code
from roundplan.slips.subjects import seat_subject, shift_subject


@dataclass(frozen=True, slots=True)
class SeatRow:
    """One seat on a slip.

    Attributes
    ----------
    code : str
        Reply code; empty on the slip of a host, whose guest is answered for by their own facility.
    leaves, returns : str
        When the person leaves home and is back; where there is no drive, that there is no journey.
    substitutes : tuple of Person
        Who of the holder's own facility could take the seat, the likeliest first; empty where there is no code.
    """

    code: str
    facility: str
    team: Team
    seat: Seat
    what: str
    name: str
    dates: str
    venue: str
    leaves: str
    returns: str
    slots: str
    standby: str
    notes: str
    substitutes: tuple[Person, ...]


@dataclass(frozen=True, slots=True)
class CoverRow:
    """One person named as cover in one shift; ``code`` is the shift's."""

    code: str
    cover: Cover
    role: Role
    person: str
    name: str
    why: str
    substitutes: tuple[Person, ...]


@dataclass(frozen=True, slots=True)
class ShiftRow:
    """One shift whose cover is to be confirmed."""

    code: str
    facility: str
    date: date
    shift: Shift
    covers: tuple[Cover, ...]


@dataclass(frozen=True, slots=True)
class Slip:
    """All rows of one facility.

    Attributes
    ----------
    version : int
        Version of the slip's own last change.
    numbers : Numbers
        Letters and numbers that its codes are made of.
    """

    facility: Facility
    version: int
    numbers: Numbers
    seats: tuple[SeatRow, ...]
    cover: tuple[CoverRow, ...]
    shifts: tuple[ShiftRow, ...]


def facilities_of(index: PlanIndex, district: str) -> tuple[Facility, ...]:
    """Return the district's facilities in the order of their table."""
    return tuple(f for f in index.training_round.facilities if f.district == district)


def has_replies(index: PlanIndex, facility: str) -> bool:
    """Whether a facility has anything to reply to: its own people go, or stay."""
    own = any(index.home(seat.person) == facility for _, seat in index.seats_at(facility))
    return own or bool(index.cover_at(facility))


def slip_of(index: PlanIndex, facility: str, version: int | None = None, numbers: Numbers | None = None) -> Slip:
    """Return a facility's slip.

    Parameters
    ----------
    facility : str
        Code of the facility.
    version : int or None
        Version of the slip's own last change; None = the plan's.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    """
    plan, training_round = index.plan, index.training_round
    given = numbers or index.numbers

    def coded(subject: str) -> str:
        return row_code(given.letters[facility], given.rows[facility, subject], given.check)

    codes = {
        (team.code, seat.person): coded(seat_subject(facility, team, seat, index.sessions[team.session].venue))
        for team, seat in seats_asked(plan, training_round, facility)
    }
    shifts = tuple(
        ShiftRow(coded(shift_subject(facility, day, shift, covers)), facility, day, shift, covers)
        for (day, shift), covers in shifts_asked(plan, facility).items()
    )
    shift_codes = {(row.date, row.shift): row.code for row in shifts}
    return Slip(
        facility=training_round.facility(facility),
        version=plan.version if version is None else version,
        numbers=given,
        seats=tuple(
            _seat_row(index, team, seat, facility, codes.get((team.code, seat.person), ""))
            for team, seat in seats_shown(plan, training_round, facility)
        ),
        cover=tuple(
            row
            for cover in cover_shown(plan, facility)
            for row in _cover_rows(index, cover, shift_codes[cover.date, cover.shift])
        ),
        shifts=shifts,
    )


def offered_but_needed(index: PlanIndex, slip: Slip) -> frozenset[str]:
    """Return who could come instead but is named to stay on a date of a seat that they could take, by code."""
    return frozenset(
        person.code
        for row in slip.seats
        for person in row.substitutes
        if named_to_stay(index, person.code, row.team, row.seat)
    )


def _seat_row(index: PlanIndex, team: Team, seat: Seat, facility: str, code: str) -> SeatRow:
    leaves, returns = _journey(index.outing(team, seat.person))
    return SeatRow(
        code=code,
        facility=facility,
        team=team,
        seat=seat,
        what=team_words(index, team, facility),
        name=seat_name(index, seat, facility),
        dates=dates_words(team.dates),
        venue=index.venue_name(team),
        leaves=leaves,
        returns=returns,
        slots=_slots(index, team),
        standby=standby_words(index, seat, facility),
        notes="; ".join(_notes(index, team, seat, facility)),
        substitutes=for_seat(index, team, seat) if code else (),
    )


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


def _notes(index: PlanIndex, team: Team, seat: Seat, facility: str) -> Iterator[str]:
    home = index.home(seat.person)
    if home != facility:
        yield say("{facility} replies for this guest", facility=index.name(home))
    if seat.provisional:
        yield say("provisional until the roster comes")
    if home == facility and any(s.person == seat.person and s.date in team.dates for s in index.plan.swaps):
        yield say("has a day duty to swap")


def _cover_rows(index: PlanIndex, cover: Cover, code: str) -> Iterator[CoverRow]:
    for role, person in cover.named:
        why = why_words(index, cover) if cover.kind is not CoverKind.OWN else ""
        yield CoverRow(code, cover, role, person, index.name(person), why, for_cover(index, cover, role))
