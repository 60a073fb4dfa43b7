"""Deals the seats of one facility and first date out to its teams, all sessions and modes at once."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

from ortools.sat.python import cp_model

from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.exact import settle
from roundplan.solver.facts import Facts
from roundplan.solver.outline import OutlineSeat
from roundplan.solver.parts import Linear

SHORT = 1000
"""Penalty for a thing a rule asks for; only paid where the rule is switched off."""

Hand = tuple[OutlineSeat, ...]
"""The seats of one team."""


class TeamsNotDealt(RuntimeError):
    """The seats of a facility and first date cannot be dealt out to its teams."""

    def __init__(self, facility: str, first: date) -> None:
        super().__init__(f"the seats of {facility} from {first.isoformat()} do not make its teams")


@dataclass(frozen=True, slots=True)
class Share:
    """Teams sent to one venue in one mode.

    Attributes
    ----------
    teams : int
        How many teams.
    people : int
        How many of the facility's own people they hold in all; beds and prices hang on it.
    """

    venue: str
    teams: int
    people: int


@dataclass(frozen=True, slots=True)
class Cohort:
    """All teams of one facility from one date.

    Attributes
    ----------
    shares : tuple of Share
        Its teams by venue and mode.
    own : mapping of Role to sequence of str
        Own people by the role in which each sits.
    guests : mapping of str to sequence of OutlineSeat
        Guests by venue; which team there they sit in is open.
    """

    facility: str
    first: date
    shares: tuple[Share, ...]
    own: Mapping[Role, Sequence[str]]
    guests: Mapping[str, Sequence[OutlineSeat]]


def deal(cohort: Cohort, facts: Facts) -> tuple[tuple[Hand, ...], ...]:
    """Deal the seats so that each team is one by the rules in force; the same answer every time.

    Parameters
    ----------
    cohort : Cohort
        Who sits, in which role, and how many teams go where.
    facts : Facts
        The round seen by the solver, with the rules that are switched off.

    Returns
    -------
    tuple of tuple of Hand
        For each share its teams.

    Raises
    ------
    TeamsNotDealt
        If that is not possible.
    """
    table = _Table(cohort, facts)
    solver = settle(table.model)
    if solver is None:
        raise TeamsNotDealt(cohort.facility, cohort.first)
    own = {role: list(people) for role, people in cohort.own.items()}
    guests: dict[tuple[str, Role, str], list[OutlineSeat]] = defaultdict(list)
    for venue, seats in cohort.guests.items():
        for seat in seats:
            guests[venue, seat.role, table.home(seat)].append(seat)
    dealt: list[list[Hand]] = [[] for _ in cohort.shares]
    for team in table.teams:
        hand: list[OutlineSeat] = []
        for role in table.roles:
            hand += [OutlineSeat(own[role].pop(0), role) for _ in range(solver.value(team.own[role]))]
            for home in table.homes:
                waiting = guests[cohort.shares[team.share].venue, role, home]
                hand += [waiting.pop(0) for _ in range(solver.value(team.guests[role, home]))]
        dealt[team.share].append(tuple(hand))
    return tuple(tuple(hands) for hands in dealt)


@dataclass(frozen=True, slots=True)
class _Team:
    """How many own people and guests, by home where it matters, sit in each role of a team."""

    share: int
    own: dict[Role, cp_model.IntVar]
    guests: dict[tuple[Role, str], cp_model.IntVar]

    def filled(self, role: Role) -> Linear:
        return self.own[role] + sum(var for (r, _), var in self.guests.items() if r is role)

    @property
    def people(self) -> Linear:
        return sum(self.own.values())

    @property
    def visitors(self) -> Linear:
        return sum(self.guests.values())


class _Table:
    """The seats of a cohort's teams as counts by role: who of those in a role sits where makes no difference."""

    def __init__(self, cohort: Cohort, facts: Facts) -> None:
        self.facts, self.cohort = facts, cohort
        self.model = cp_model.CpModel()
        self.usual = facts.usual_seats(facts.round.facility(cohort.facility))
        self.roles = tuple(self.usual)
        self.homes = sorted({self.home(seat) for seats in cohort.guests.values() for seat in seats}) or [""]
        self.short: list[cp_model.IntVar] = []
        self.teams = [
            self._team(share, number) for share, sent in enumerate(cohort.shares) for number in range(sent.teams)
        ]
        self._all_dealt()
        self.model.minimize(SHORT * sum(self.short))

    def home(self, guest: OutlineSeat) -> str:
        """Return the facility of a guest where it matters to whom a team belongs; else nothing."""
        return self.facts.round.person(guest.person).facility if self.facts.pools(guest.role) else ""

    def _team(self, share: int, number: int) -> _Team:
        """Make a team and state what makes it one."""
        model = self.model
        own = {r: model.new_int_var(0, n, f"own[{share},{number},{r}]") for r, n in self.usual.items()}
        guests = {
            (r, home): model.new_int_var(0, n, f"guests[{share},{number},{r},{home}]")
            for r, n in self.usual.items()
            for home in self.homes
        }
        team = _Team(share, own, guests)
        for role, seats in self.usual.items():
            model.add(team.filled(role) <= seats)
        for role in MINIMUM_ROLES:
            self._wanted(team.filled(role) if role in self.usual else 0, 1, Rule.TEAM_MINIMUM)
        least = sum(self.usual.values()) - self.facts.settings.teams.empty_seats
        self._wanted(team.people + team.visitors, least, Rule.TEAM_MIRRORS_HOME)
        if self.facts.on(Rule.GUEST_LIMIT):
            self._guest_limit(team)
        if self.facts.on(Rule.SIMULATIONS_PER_TEAM) and self.facts.round.cases:
            self._cases(team)
        return team

    def _wanted(self, amount: Linear, least: int, rule: Rule) -> None:
        """Ask for an amount; what a switched-off rule leaves short is paid for."""
        if self.facts.on(rule):
            self.model.add(amount >= least)
            return
        lacks = self.model.new_int_var(0, max(least, 0), "lacks")
        self.model.add(amount + lacks >= least)
        self.short.append(lacks)

    def _guest_limit(self, team: _Team) -> None:
        teams = self.facts.settings.teams
        if teams.guests_pooled:
            mine = sum(team.own[role] for role in MINIMUM_ROLES if role in self.usual)
            for home in filter(None, self.homes):
                lent = sum(team.guests[role, home] for role in MINIMUM_ROLES if role in self.usual)
                self.model.add(lent + int(home < self.cohort.facility) <= mine)
            return
        self.model.add(team.visitors <= teams.guests)
        self.model.add(team.visitors <= team.people)

    def _cases(self, team: _Team) -> None:
        """Leave the team as many cases that it can run as it simulates."""
        runnable = []
        for case in self.facts.round.cases:
            can = self.model.new_bool_var(f"can[{case.code}]")
            for role, count in Counter(role for role in case.roles if role not in MINIMUM_ROLES).items():
                self.model.add((team.filled(role) if role in self.usual else 0) >= count * can)
            runnable.append(can)
        self.model.add(sum(runnable) >= min(self.facts.settings.session.simulations_per_team, len(runnable)))

    def _all_dealt(self) -> None:
        """Deal everybody out: own people anywhere, guests at their venue, head counts as the model has them."""
        cohort = self.cohort
        for role in self.roles:
            self.model.add(sum(team.own[role] for team in self.teams) == len(cohort.own.get(role, ())))
            for venue, home in product(sorted({share.venue for share in cohort.shares}), self.homes):
                there = [team for team in self.teams if cohort.shares[team.share].venue == venue]
                waiting = sum(s.role is role and self.home(s) == home for s in cohort.guests.get(venue, ()))
                self.model.add(sum(team.guests[role, home] for team in there) == waiting)
        for number, share in enumerate(cohort.shares):
            self.model.add(sum(team.people for team in self.teams if team.share == number) == share.people)
