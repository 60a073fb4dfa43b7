"""Who could come or stay instead: a facility's own people who may take a seat or a place in the cover."""

from __future__ import annotations

from roundplan.audit.people import away_obstacle
from roundplan.domain.person import Person
from roundplan.domain.plan import Cover, Seat, Team
from roundplan.domain.presence import seat_obstacle
from roundplan.domain.role import Role, Shift
from roundplan.handouts.facility.cover import days_taken, named_to_stay
from roundplan.handouts.plan_index import PlanIndex


def for_seat(index: PlanIndex, team: Team, seat: Seat) -> tuple[Person, ...]:
    """Return who of the seat holder's own facility may take a seat instead, the standby first.

    They hold the role, may train, are free on every date that the seat takes, have no seat of their own in the round
    and do not travel as a trainer then. Those named to stay in one of its shifts come last: if they go, somebody else
    has to stay.
    """
    holder = index.training_round.person(seat.person)
    days = days_taken(index, team, seat)
    found = [
        person
        for person in index.training_round.staff_of(holder.facility)
        if person.code != seat.person
        and seat.role in person.roles
        and not person.placeholder
        and person.code not in index.seated_on
        and not any(seat_obstacle(index.training_round, person, day) for day in team.dates)
        and not any(away_obstacle(index.training_round, person, day) for day in days)
        and not days & index.teaching_on.get(person.code, frozenset())
    ]
    return tuple(sorted(found, key=lambda p: (p.code != seat.standby, named_to_stay(index, p.code, team, seat))))


def for_cover(index: PlanIndex, cover: Cover, role: Role) -> tuple[Person, ...]:
    """Return who may stay instead: present in the shift and not away, can cover the role, not named already."""
    named = {code for _, code in cover.named}
    return tuple(
        other
        for other in index.book.at_hand(cover.facility, (cover.date, cover.shift))
        if role in other.cover_roles
        and other.code not in named
        and not (cover.shift is Shift.DAY and cover.date in index.seated_on.get(other.code, ()))
    )
