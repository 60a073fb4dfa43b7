"""Who stays instead where a standby is named to stay and steps in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from roundplan.audit.standby import touched_shifts
from roundplan.domain.person import Person
from roundplan.domain.plan import Cover, Seat, Team
from roundplan.domain.role import Role, Shift
from roundplan.handouts.facility.cover import shifts_by_date
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import list_words

Move = tuple[Role, str]
"""A role in the cover and the code of who takes it over."""


@dataclass(slots=True)
class _Gap:
    """Cover of one shift that a standby leaves, and who could close it."""

    cover: Cover
    able: tuple[Person, ...]
    _tried: set[str] = field(default_factory=set)

    def moves(self, role: Role) -> tuple[Move, ...] | None:
        """Return who takes over a role, and in turn the role of whoever does; None where nobody can.

        Those who are not named come first, so that as few people as possible change their place.
        """
        held = {person: held for held, person in self.cover.named}
        for person in sorted(self.able, key=lambda one: one.code in held):
            if role not in person.cover_roles or person.code in self._tried:
                continue
            self._tried.add(person.code)
            further = self.moves(held[person.code]) if person.code in held else ()
            if further is not None:
                return ((role, person.code), *further)
        return None


def stand_in_lines(index: PlanIndex, facility: str) -> tuple[str, ...]:
    """Say of each standby of a facility who is named to stay meanwhile who then stays instead."""
    shifts: dict[str, dict[str, list[tuple[date, Shift]]]] = {}
    for team, seat in index.seats_at(facility):
        if seat.standby is not None and index.home(seat.standby) == facility:
            for cover, moves in replacements(index, team, seat, facility):
                told = shifts.setdefault(seat.standby, {})
                told.setdefault(_who_instead(index, moves), []).append((cover.date, cover.shift))
    return tuple(
        say(
            "If {standby}, a standby who is named to stay too, steps in, these stay instead: {people}.",
            standby=index.name(standby),
            people="; ".join(
                say("{people}, {shifts}", people=who, shifts=shifts_by_date(when)) for who, when in told.items()
            ),
        )
        for standby, told in shifts.items()
    )


def replacements(
    index: PlanIndex, team: Team, seat: Seat, facility: str
) -> Iterator[tuple[Cover, tuple[Move, ...] | None]]:
    """Yield each cover that a standby leaves by taking a seat, and who changes place."""
    attendee = next(a for a in index.book.attendees if a.team.code == team.code and a.seat == seat)
    gone = {seat.person, seat.standby}
    for cover in index.cover_at(facility):
        key = (cover.date, cover.shift)
        role = next((role for role, person in cover.named if person == seat.standby), None)
        if role is not None and key in touched_shifts(index.book, attendee):
            able = tuple(
                person
                for person in index.book.at_hand(facility, key)
                if person.code not in gone
                and not person.learner
                and not (cover.shift is Shift.DAY and cover.date in index.seated_on.get(person.code, ()))
            )
            yield cover, _Gap(cover, able).moves(role)


def _who_instead(index: PlanIndex, moves: tuple[Move, ...] | None) -> str:
    if moves is None:
        return say("nobody can, so do not send this standby")
    return list_words(say("{name} ({role})", name=index.name(person), role=role_word(role)) for role, person in moves)
