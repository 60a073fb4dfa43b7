"""What a team of a visit takes at least, in minutes or in money: for each of its own people, each guest, and once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from math import floor

from roundplan.domain.clock import MINUTE
from roundplan.domain.role import MINIMUM_ROLES, Shift
from roundplan.domain.rules import Rule
from roundplan.domain.supply import Per
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import ONE_DAY, Facts, ShiftKey
from roundplan.solver.later_bounds.supply_prices import SupplyPrices
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.facility_demand import Visit

DAY_AWAY, REST_DAY, THIN = 480, 960, 960
"""Minutes of burden for a person-date away, a person-date on a rest day, and a facility-shift left with few."""
EMPTY, GUEST = 4, 2
"""Points of realism for an empty seat and for a guest."""


@dataclass(frozen=True, slots=True)
class TeamPrice:
    """Least figures of a visit, whole and not below nought.

    Attributes
    ----------
    person, guest : int
        Of each of the facility's own people seated, and of each guest.
    team : int
        Of each team beside its people.
    once : int
        Of the visit, however many teams go.
    strained : tuple of (int, int)
        In so many minimum roles an own person is missed: a figure of each team with fewer guests than that.
    """

    person: int
    guest: int
    team: int = 0
    once: int = 0
    strained: tuple[tuple[int, int], ...] = ()

    def of(self, seats: int, empty: int, guests: int) -> int:
        """Return the figure of a team with some usual seats empty and some taken by guests."""
        guests = min(guests, seats)
        missed = sum(figure for roles, figure in self.strained if roles > guests)
        return self.person * max(seats - empty - guests, 0) + self.guest * guests + self.team + missed


def seats_spared(facts: Facts, seats: int) -> tuple[int, int]:
    """Return how many seats of a usual team may be empty, and how many may be taken by guests."""
    teams = facts.settings.teams
    empty = teams.empty_seats if facts.on(Rule.TEAM_MIRRORS_HOME) else seats
    guests = seats
    if facts.on(Rule.GUEST_LIMIT) and not teams.guests_pooled:
        guests = min(teams.guests, seats // 2)
    return min(empty, seats), guests


def minutes(facts: Facts, demand: Demand) -> list[TeamPrice]:
    """Return the burden of each visit: journeys, dates away, rest days, and shifts that are thin whoever goes."""
    shared, guests = _visits_by_shift(facts, demand), _Guests(facts, _minutes)
    found = []
    for visit in demand.visits:
        person = min(map(_minutes, _modes(facts, visit)))
        once, strained = 0, []
        for shift in _touched(facts, visit):
            figure, roles = THIN // shared[visit.facility, shift], _missed(facts, visit, shift)
            if roles is None:
                once += figure
            elif roles:
                strained.append((roles, figure // visit.most))
        found.append(TeamPrice(person, guests.least(visit, person), once=once, strained=tuple(strained)))
    return found


def money(facts: Facts, demand: Demand, supplies: SupplyPrices, scale: int) -> list[TeamPrice]:
    """Return the cost of each visit in units of ``scale``, rounded down: allowances, fares, beds, meals, supplies."""
    session, prices = facts.settings.session, facts.settings.prices
    lasting = session.days > session.days_per_team and any(p.second_seat for p in facts.round.people)
    meals = prices.price("lunch") * session.days_per_team
    if not lasting:  # else somebody may be in two teams of a session, and counts once
        meals = meals + floor(supplies.of(Per.PARTICIPANT)) + prices.price("printing")
    team = floor(supplies.simulation() * session.simulations_per_team)
    guests, found = _Guests(facts, lambda mode: mode.price), []
    for visit in demand.visits:
        person = min(mode.price for mode in _modes(facts, visit))
        guest = guests.least(visit, person)
        found.append(TeamPrice((person + meals) // scale, (guest + meals) // scale, team // scale))
    return found


def _modes(facts: Facts, visit: Visit) -> tuple[Mode, ...]:
    return facts.modes[visit.facility, visit.venue, visit.first]


def _minutes(mode: Mode) -> int:
    return DAY_AWAY * mode.dates_away + mode.travel_seconds // MINUTE + REST_DAY * mode.rest_days


class _Guests:
    """What a guest takes at least to come to a session: nothing where somebody who works at the venue may be one."""

    def __init__(self, facts: Facts, figure: Callable[[Mode], int]) -> None:
        self.facts, self.figure = facts, figure
        self._known: dict[tuple[str, date], list[tuple[int, str]]] = {}

    def least(self, visit: Visit, own: int) -> int:
        """Return the least figure of a guest, at most that of an own person."""
        if not own or self.facts.round.is_facility(visit.venue):
            return 0
        key = visit.venue, visit.first
        if key not in self._known:
            self._known[key] = sorted(self._lenders(*key))
        others = (figure for figure, code in self._known[key] if code != visit.facility)
        return min(next(others, own), own)

    def _lenders(self, venue: str, first: date) -> Iterator[tuple[int, str]]:
        for facility in self.facts.round.facilities:
            modes = self.facts.attendance.modes(facility, self.facts.round.site(venue), first)
            if modes:
                yield min(map(self.figure, modes)), facility.code


def _touched(facts: Facts, visit: Visit) -> Iterator[ShiftKey]:
    """Yield the shifts that a visit touches however people attend."""
    modes = _modes(facts, visit)
    for day in modes[0].dates:
        yield day, Shift.DAY
    if all(mode.before for mode in modes):
        yield modes[0].dates[0] - ONE_DAY, Shift.DAY
    for night in sorted(frozenset.intersection(*(frozenset(mode.nights) for mode in modes))):
        yield night, Shift.NIGHT


def _visits_by_shift(facts: Facts, demand: Demand) -> Counter[tuple[str, ShiftKey]]:
    """Return by facility and shift how many visits at once could touch it."""
    found: Counter[tuple[str, ShiftKey]] = Counter()
    for visit in demand.visits:
        for shift in _touched(facts, visit):
            found[visit.facility, shift] += 1
    return Counter({key: min(number, demand.total[key[0]]) for key, number in found.items()})


def _missed(facts: Facts, visit: Visit, shift: ShiftKey) -> int | None:
    """Return in how many minimum roles a single own person away leaves fewer than two; None = there are fewer anyway.

    Whoever could fill the role in the team must be among those who could cover it, else somebody else may go.
    """
    people = facts.present(visit.facility, shift)
    able = {role: {p.code for p in people if role in p.cover_roles} for role in MINIMUM_ROLES}
    if any(len(codes) < 2 for codes in able.values()):
        return None
    if not facts.on(Rule.TEAM_MINIMUM) or any(mode.is_near for mode in _modes(facts, visit)):
        return 0
    staff = [p for p in facts.round.staff_of(visit.facility) if facts.can_sit(p, visit.first)]
    usual = facts.round.facility(visit.facility).usual_team
    going = {role: {p.code for p in staff if role in facts.roles_of(p)} for role in MINIMUM_ROLES if role in usual}
    return sum(len(able[role]) == 2 and codes <= able[role] for role, codes in going.items())
