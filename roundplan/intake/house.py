"""One facility with the people who ever serve there: a small round on which presence is quick to work out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from roundplan.domain.facility import Facility
from roundplan.domain.person import Absence, Duty, Person
from roundplan.domain.presence import has_roster, present, seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.matching import match


class House:
    """A facility and who is there.

    Attributes
    ----------
    facility : Facility
        The facility.
    staff : tuple of Person
        Its own people.
    """

    def __init__(self, facility: Facility, small_round: TrainingRound) -> None:
        self.facility = facility
        self.staff = small_round.staff_of(facility.code)
        self._round = small_round
        self._present: dict[tuple[date, Shift], tuple[Person, ...]] = {}

    def present(self, day: date, shift: Shift) -> tuple[Person, ...]:
        """Return the people present in a shift if nobody trains."""
        key = (day, shift)
        if key not in self._present:
            self._present[key] = present(self._round, self.facility.code, day, shift)
        return self._present[key]

    def has_roster(self, day: date, shift: Shift) -> bool:
        """Whether there are roster rows for the shift."""
        return has_roster(self._round, self.facility.code, day, shift)

    def unfilled(self, day: date, shift: Shift) -> tuple[Role, ...]:
        """Return the roles of the keep-team that stay open with everybody at home."""
        keep = self._round.keep_team(self.facility, shift)
        people = self.present(day, shift)
        filled = match([[p.code for p in people if role in p.cover_roles] for role in keep])
        return tuple(role for role, person in zip(keep, filled, strict=True) if person is None)

    def can_release(self, day: date, *, keep: tuple[Role, ...]) -> bool:
        """Whether a team of own people can be seated on the date while others fill ``keep`` by day.

        The team has the minimum and its usual seats but for as many as may stay empty.
        """
        seated = [p for p in self.staff if seat_obstacle(self._round, p, day) is None]
        people = self.present(day, Shift.DAY)
        others = list(self.facility.usual_team)
        for role in MINIMUM_ROLES:
            if role in others:
                others.remove(role)
        seats = [[p.code for p in seated if role in p.roles] for role in (*MINIMUM_ROLES, *others)]
        cover = [[p.code for p in people if role in p.cover_roles] for role in keep]
        needed = len(MINIMUM_ROLES) + len(keep)
        found = match([*seats[: len(MINIMUM_ROLES)], *cover, *seats[len(MINIMUM_ROLES) :]])
        empty = sum(person is None for person in found[needed:])
        return None not in found[:needed] and empty <= self._round.settings.teams.empty_seats


def houses(training_round: TrainingRound) -> Iterator[House]:
    """Yield every facility that has staff, its own or lent."""
    duties: dict[str, list[Duty]] = defaultdict(list)
    for duty in training_round.duties:
        duties[duty.person].append(duty)
    absences: dict[str, list[Absence]] = defaultdict(list)
    for absence in training_round.absences:
        absences[absence.who].append(absence)
    guests: dict[str, list[str]] = defaultdict(list)
    for lent in training_round.relief:
        guests[lent.facility].append(lent.person)
    for facility in training_round.facilities:
        own = training_round.staff_of(facility.code)
        lent_here = training_round.people_with(dict.fromkeys(guests[facility.code]))
        people = tuple({p.code: p for p in (*own, *lent_here)}.values())
        if people:
            codes = {p.code for p in people}
            small = TrainingRound(
                settings=training_round.settings,
                facilities=training_round.facilities,
                people=people,
                duties=tuple(duty for code in codes for duty in duties[code]),
                absences=tuple(absence for code in codes for absence in absences[code]),
                relief=tuple(row for row in training_round.relief if row.person in codes),
                ledger=tuple(row for row in training_round.ledger if row.person in codes),
            )
            yield House(facility, small)
