"""Whom to ask first where somebody cannot come: the seat's standby, then the session's, then who else could."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roundplan.audit.people import away_obstacle
from roundplan.domain.decision import Do, LockKind
from roundplan.domain.plan import Seat, Team
from roundplan.domain.presence import seat_obstacle
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.asked import Asked, Kind
from roundplan.followup.standing import State
from roundplan.handouts.facility.cover import days_taken, named_to_stay
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips.substitutes import for_seat
from roundplan.replanning.situation import Situation


@dataclass(frozen=True, slots=True)
class Offer:
    """Somebody who could take a seat.

    Attributes
    ----------
    why : str
        Why they are asked at this place of the list, and what to mind.
    standby : bool
        Whether they stand by for this very seat.
    """

    person: str
    why: str
    standby: bool = False


@dataclass(frozen=True, slots=True)
class OpenSeat:
    """A seat whose holder cannot come, and who is asked, the first first.

    Attributes
    ----------
    not_free : str or None
        The seat's standby, where they cannot be asked.
    """

    asked: Asked
    offers: tuple[Offer, ...]
    not_free: str | None = None


def open_seats(situation: Situation) -> tuple[OpenSeat, ...]:
    """Return the seats, from today on, that were declined or whose holders are away by what is now known."""
    index, now = situation.told.index, situation.reading.training_round
    return tuple(
        _open_seat(standing.asked, tuple(_offers(index, now, situation, standing.asked)))
        for standing in situation.standings
        if standing.asked.kind is Kind.SEAT
        and standing.asked.dates[0] >= situation.today
        and (standing.state is State.DECLINED or _cannot_come(now, standing.asked, standing.state))
    )


def _open_seat(asked: Asked, offers: tuple[Offer, ...]) -> OpenSeat:
    missed = asked.standby is not None and asked.standby not in {offer.person for offer in offers}
    return OpenSeat(asked, offers, asked.standby if missed else None)


def _cannot_come(now: TrainingRound, asked: Asked, state: State) -> bool:
    """Whether the holder of a seat is kept from it by new facts."""
    if state is State.REPLACED or asked.person not in {p.code for p in now.people}:
        return False
    person = now.person(asked.person)
    return any(seat_obstacle(now, person, day) is not None for day in asked.dates)


def _offers(index: PlanIndex, now: TrainingRound, situation: Situation, asked: Asked) -> Iterator[Offer]:
    team = index.teams[asked.team]
    seat = next(s for s in team.seats if s.person == asked.person and s.role is asked.role)
    standing_by = {s.standby for t in index.teams_of_session(team.session) for s in t.seats if s.standby}
    own = [p.code for p in for_seat(index, team, seat) if _free(index, now, situation, p.code, team, seat)]
    first = [code for code in own if code == seat.standby]
    second = [code for code in own if code in standing_by and code != seat.standby]
    others = [code for code in own if code not in standing_by]
    for code in first:
        yield Offer(code, _why(index, code, team, seat, "stands by for this seat"), standby=True)
    for code in second:
        yield Offer(code, _why(index, code, team, seat, "stands by for another seat of this session"))
    for code in _from_elsewhere(index, now, situation, standing_by, team, seat):
        home = index.name(index.home(code))
        yield Offer(code, f"stands by for another seat of this session; from {home}, so a guest here")
    for code in others:
        yield Offer(code, _why(index, code, team, seat, "may sit in this role and has no seat so far"))


def _why(index: PlanIndex, person: str, team: Team, seat: Seat, words: str) -> str:
    stays = named_to_stay(index, person, team, seat)
    return f"{words}; named to stay then, so somebody else has to stay" if stays else words


def _from_elsewhere(
    index: PlanIndex, now: TrainingRound, situation: Situation, standing_by: set[str], team: Team, seat: Seat
) -> Iterator[str]:
    """Yield who of other facilities stands by in the session and may come as a guest."""
    guests = sum(one.guest for one in team.seats if one is not seat)
    teams = now.settings.teams
    if not teams.guests_pooled and (guests >= teams.guests or 2 * (guests + 1) > len(team.seats)):
        return
    holder_home = index.home(seat.person)
    for code in sorted(standing_by):
        person = now.person(code)
        if person.facility in (holder_home, team.facility) or seat.role not in person.roles:
            continue
        if code not in index.seated_on and _free(index, now, situation, code, team, seat):
            yield code


def _free(index: PlanIndex, now: TrainingRound, situation: Situation, code: str, team: Team, seat: Seat) -> bool:
    """Whether nothing that is known now keeps somebody from a seat; no other seat has been promised to them."""
    if code not in {p.code for p in now.people}:
        return False
    person = now.person(code)
    forbidden = any(
        lock.do is Do.FORBID and lock.kind is LockKind.PERSON and lock.who == code and lock.date in (None, *team.dates)
        for lock in now.locks
    )
    promised = any(s.state is State.REPLACED and s.substitute == code for s in situation.standings)
    return not (
        forbidden
        or promised
        or any(seat_obstacle(now, person, day) for day in team.dates)
        or any(away_obstacle(now, person, day) for day in days_taken(index, team, seat))
    )


def offer_lines(situation: Situation) -> Iterator[str]:
    """Yield for each open seat who is asked, in which order and why, by district and facility."""
    index = situation.told.index
    seats = open_seats(situation)
    for facility in index.training_round.facilities:
        for one in (one for one in seats if one.asked.facility == facility.code):
            yield from _seat_lines(index, facility.district, one)


def _seat_lines(index: PlanIndex, district: str, one: OpenSeat) -> Iterator[str]:
    asked = one.asked
    name, facility = index.name(asked.person), index.name(asked.facility)
    days = ", ".join(day.isoformat() for day in asked.dates)
    yield f"{district}, {facility}: {asked.role} instead of {name}, {days} at {index.name(asked.venue)}. Ask:"
    for number, offer in enumerate(one.offers, start=1):
        yield f"  {number}. {index.name(offer.person)}: {offer.why}"
    if not one.offers:
        yield "  nobody of this facility, and no standby of the session, is free for it"
    if one.not_free is not None:
        why = (
            "has a seat of their own in this round" if one.not_free in index.seated_on else "is not free then any more"
        )
        yield f"  {index.name(one.not_free)}, who stands by for this seat, {why}"
