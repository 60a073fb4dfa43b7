"""What no plan can be below: from what is hurt alone, and from what a facility's own people make possible."""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from roundplan.domain.changes import (
    DAY,
    PERSON,
    STAFF,
    VENUE,
    Attended,
    SeatRef,
    loss_scale,
    seat_factor,
    time_factor,
)
from roundplan.domain.decision import Do
from roundplan.domain.plan import Team
from roundplan.domain.repair import RepairTask
from roundplan.domain.role import Include
from roundplan.solver.choices import Choices
from roundplan.solver.limits import add_limits
from roundplan.solver.limits.locks import matching
from roundplan.solver.parts import Linear, Scope
from roundplan.solver.repair.aims import Points
from roundplan.solver.repair.hurt import Hurt
from roundplan.solver.repair.identity import Identity
from roundplan.solver.repair.stored import Stored
from roundplan.solver.skeleton.round_release import most_in_round
from roundplan.solver.solving import new_solver

WORK = 1.0
"""Most deterministic work for one facility; what is not proven by then stays as it was."""
NEVER = 10**9


class Bounds:
    """Points that every plan has which loses no team, facility by facility.

    Parameters
    ----------
    before : mapping of str to Attended
        The announced teams, with what they were to attend.
    """

    def __init__(self, stored: Stored, task: RepairTask, hurt: Hurt, before: Mapping[str, Attended]) -> None:
        self.stored, self.task, self.hurt, self.before = stored, task, hurt, before
        self.simple = {code: min(self._stays(code), self._moves(code)) for code in before}
        self.by_facility: dict[str, int] = {}
        for code, points in self.simple.items():
            facility = before[code].team.facility
            self.by_facility[facility] = self.by_facility.get(facility, 0) + points

    def points(self, without: frozenset[str] = frozenset()) -> int:
        """Return the bound of all facilities but some."""
        return sum(points for facility, points in self.by_facility.items() if facility not in without)

    def sharpen(self, facility: str) -> None:
        """Raise a facility's bound to what its own people make possible where it is to train."""
        teams = tuple(a.team for a in self.before.values() if a.team.facility == facility)
        stay = self._all_stay(facility, teams)
        whole = sum(self.simple[team.code] for team in teams)
        moves = (whole - self.simple[team.code] + self._moves(team.code) for team in teams)
        self.by_facility[facility] = max(self.by_facility[facility], min(stay, *moves))

    # coverage -------------------------------------------------------------------------------------------------------

    def forced(self, facility: str) -> int:
        """Return the coverage that a facility must lose, whatever crews do: teams that its people cannot make up."""
        round_ = self.task.training_round
        sent = sum(a.team.facility == facility for a in self.before.values())
        most = most_in_round(self.stored.facts, facility)
        _, first = loss_scale(self.task.announced, round_)
        site = round_.facility(facility)
        numbers = range(most + 1, sent + 1)
        return sum(round_.team_points(site, k) if k > 1 else round_.weight(site) * first for k in numbers)

    def forced_people(self) -> int:
        """Return what counts for people named by the manager, seated before, who can sit on no date any more."""
        facts, task = self.stored.facts, self.task
        person, _ = loss_scale(task.announced, task.training_round)
        dates = [day for day in facts.dates if day >= min(task.today, facts.dates[-1])]
        seated = {seat.person for a in self.before.values() for seat in a.team.seats}
        past = {seat.person for a in self.before.values() if a.team.dates[0] < task.today for seat in a.team.seats}
        must = (p for p in task.training_round.people if p.include is Include.MUST and p.code in seated - past)
        return person * sum(not any(facts.can_sit(p, day) for day in dates) for p in must)

    # one team -------------------------------------------------------------------------------------------------------

    def _stays(self, code: str) -> int:
        """Return the points of a team that attends as announced: those of whoever cannot be there."""
        before, hurt = self.before[code], self.hurt
        team = before.team
        gone = sum(
            PERSON * self._factor(team, number)
            for number in range(len(team.seats))
            if (team.code, number) in hurt.seats
        )
        return time_factor(team, self.task.today) * (gone + STAFF * self._staff_gone(before))

    def _staff_gone(self, before: Attended) -> int:
        session = before.team.session
        trainers = sum((session, code) in self.hurt.trainers for code in before.trainers)
        return trainers + sum((session, code) in self.hurt.crews for code in before.crews)

    def _moves(self, code: str) -> int:
        """Return the points of a team that attends on other dates, or elsewhere."""
        team = self.before[code].team
        each = sum(self._factor(team, number) for number in range(len(team.seats)))
        return time_factor(team, self.task.today) * min(DAY, VENUE) * each

    def _factor(self, team: Team, number: int) -> int:
        seat = team.seats[number]
        return seat_factor(SeatRef(team.code, seat.person, seat.role), self.task.released)

    # one facility ---------------------------------------------------------------------------------------------------

    def _all_stay(self, facility: str, teams: tuple[Team, ...]) -> int:
        """Return the least points if all teams attend where and when they were to; guests come from anywhere."""
        visits = frozenset(map(self.stored.visit, teams))
        choices = Choices(self.stored.facts, Scope.STAFF, only=visits)
        add_limits(choices)
        _forbid(choices)
        identity = Identity(choices, teams)
        terms: list[Linear] = [Points(choices, identity, self.task, dict(self.before)).all()]
        for team in teams:
            if team.code not in identity.kept:
                return NEVER
            choices.model.add(identity.kept[team.code] == 1)
            terms.append(self._staff_there(team, identity))
            self._unseat(team, identity)
        choices.model.minimize(sum(terms))
        solver = new_solver(1, 1)
        solver.parameters.max_deterministic_time = WORK
        status = solver.solve(choices.model)
        if status == cp_model.INFEASIBLE:
            return NEVER
        return max(0, round(solver.best_objective_bound)) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else 0

    def _staff_there(self, team: Team, identity: Identity) -> Linear:
        """Return the points of crews and trainers gone, if the team stays where it was."""
        before = self.before[team.code]
        gone = STAFF * self._staff_gone(before) * time_factor(team, self.task.today)
        return gone * identity.there(team, before.venue, team.dates[0])

    def _unseat(self, team: Team, identity: Identity) -> None:
        """Leave out whoever cannot hold their seat, where it was."""
        for number, seat in enumerate(team.seats):
            if (team.code, number) not in self.hurt.seats:
                continue
            for (code, person, first, role), var in identity.own.items():
                if (code, person, first, role) == (team.code, seat.person, team.dates[0], seat.role):
                    identity.choices.model.add(var == 0)
            for (code, person, role, venue, first), var in identity.guests.items():
                there = (venue, first) == (self.before[team.code].venue, team.dates[0])
                if there and (code, person, role) == (team.code, seat.person, seat.role):
                    identity.choices.model.add(var == 0)


def _forbid(choices: Choices) -> None:
    """State what locks forbid; what they keep is left out."""
    for lock in choices.facts.round.locks:
        for var in matching(choices, lock) if lock.do is Do.FORBID else ():
            choices.model.add(var == 0)
