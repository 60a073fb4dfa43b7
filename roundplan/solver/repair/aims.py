"""What a repair makes small, as expressions of a model: coverage lost, then penalty points."""

from __future__ import annotations

from collections import Counter
from datetime import date

from roundplan.domain.changes import DAY, PERSON, STAFF, VENUE, Attended, SeatRef, loss_scale, seat_factor, time_factor
from roundplan.domain.plan import Plan, Team
from roundplan.domain.repair import RepairTask
from roundplan.domain.role import Include, Role
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.limits.people import seated
from roundplan.solver.parts import Linear, Var
from roundplan.solver.repair.identity import Identity


def no_more_than(choices: Choices, announced: Plan) -> None:
    """Send no facility's teams beyond those that it had been announced."""
    sent = Counter(team.facility for team in announced.teams)
    for code, total in choices.total.items():
        choices.model.add(total <= sent[code])


def loss(choices: Choices, task: RepairTask) -> Linear:
    """Return the coverage lost, in one figure as :func:`roundplan.domain.changes.coverage_lost` counts it."""
    round_, taken = task.training_round, choices.taken
    person_counts, first_counts = loss_scale(task.announced, round_)
    sent = Counter(team.facility for team in task.announced.teams)
    terms: list[Linear] = []
    for facility in round_.facilities:
        code = facility.code
        steps: list[Linear] = []
        if code in choices.first_team:
            steps = [choices.first_team[code], *choices.later_teams[code]]
        for number in range(1, sent[code] + 1):
            fixed = int(taken.teams.get(code, 0) >= number)
            there = steps[number - 1] if number <= len(steps) else fixed
            points = round_.team_points(facility, number) if number > 1 else round_.weight(facility) * first_counts
            terms.append(points * (1 - there))
    must = {p.code for p in round_.people if p.include is Include.MUST}
    for code in sorted(must & {seat.person for team in task.announced.teams for seat in team.seats} - taken.seated):
        terms.append(person_counts * (1 - _seated_once(choices, code)))
    return sum(terms)


def _seated_once(choices: Choices, person: str) -> Linear:
    seats = seated(choices, person)
    if len(seats) < 2 or not choices.facts.round.person(person).second_seat:
        return sum(seats)
    named = choices.flag(f"still_seated[{person}]")
    choices.model.add(named <= sum(seats))
    return named


class Points:
    """The penalty points of the teams of a model, counted as :mod:`roundplan.domain.changes` counts them.

    Parameters
    ----------
    before : dict of str to Attended
        The announced teams, with what they were to attend.
    """

    def __init__(self, choices: Choices, identity: Identity, task: RepairTask, before: dict[str, Attended]) -> None:
        self.choices, self.identity, self.task, self.before = choices, identity, task, before
        self._teaching: dict[tuple[str, str, date], Linear] = {}

    def all(self) -> Linear:
        """Return the points of all teams."""
        return sum(self._team(self.before[team.code]) for team in self.identity.announced)

    def _team(self, before: Attended) -> Linear:
        team, identity = before.team, self.identity
        if team.code not in identity.kept:
            return 0
        kept, positions = identity.kept[team.code], identity.positions(team)
        other_day = sum(at for place, at in positions if place.sending.mode.dates != team.dates)
        other_venue = sum(at for place, at in positions if place.sending.venue != before.venue)
        held = self._held(team)
        terms: list[Linear] = [STAFF * gone for gone in self._staff(before)] if self.choices.crews else []
        for seat in team.seats:
            key = (seat.role, seat.person)
            each = PERSON * (kept - sum(held.get(key, ()))) + DAY * other_day + VENUE * other_venue
            terms.append(each * seat_factor(SeatRef(team.code, seat.person, seat.role), self.task.released))
        terms += [PERSON * more for more in self._more(team, held)]
        return time_factor(team, self.task.today) * sum(terms)

    def _held(self, team: Team) -> dict[tuple[Role, str], list[Var]]:
        """Return who sits in a team, by role and person."""
        held: dict[tuple[Role, str], list[Var]] = {}
        for (code, person, _, role), var in self.identity.own.items():
            if code == team.code:
                held.setdefault((role, person), []).append(var)
        for (code, person, role, _, _), var in self.identity.guests.items():
            if code == team.code:
                held.setdefault((role, person), []).append(var)
        return held

    def _more(self, team: Team, held: dict[tuple[Role, str], list[Var]]) -> list[Var]:
        """Return the seats more than were announced, by role."""
        before, found = Counter(seat.role for seat in team.seats), []
        usual = self.choices.facts.round.facility(team.facility).usual_team
        for role in dict.fromkeys(usual):
            spare = usual.count(role) - before[role]
            if spare > 0:
                more = self.choices.count(spare, f"more_seats[{team.code},{role}]")
                self.choices.model.add(
                    more >= sum(v for (r, _), vs in held.items() if r is role for v in vs) - before[role]
                )
                found.append(more)
        return found

    # crews and trainers -------------------------------------------------------------------------------------------

    def _staff(self, before: Attended) -> list[Var]:
        """Return for each announced crew and trainer of a team whether it no longer teaches the team."""
        team, model, found = before.team, self.choices.model, []
        for code in sorted(before.crews) + sorted(before.trainers):
            gone = self.choices.flag(f"gone[{team.code},{code}]")
            found.append(gone)
            for venue, first in dict.fromkeys(place.at for place, _ in self.identity.positions(team)):
                teaches = self._holds if code in before.crews else self._teaches
                model.add(gone >= self.identity.there(team, venue, first) - teaches(code, venue, first))
        return found

    def _holds(self, crew: str, venue: str, first: date) -> Linear:
        starts = self.choices.facts.starts_of(venue, first)
        return sum(self.choices.hold.get((crew, venue, start), 0) for start in starts)

    def _teaches(self, trainer: str, venue: str, first: date) -> Linear:
        """Return a variable that is 0 unless a trainer teaches at a venue on all dates of a team from a first one."""
        key = (trainer, venue, first)
        if key not in self._teaching:
            self._teaching[key] = self._always_there(*key)
        return self._teaching[key]

    def _always_there(self, trainer: str, venue: str, first: date) -> Linear:
        choices, days = self.choices, []
        for day in (first + k * ONE_DAY for k in range(choices.facts.settings.session.days_per_team)):
            there = []
            for crew in choices.crews:
                aboard = choices.aboard.get((trainer, crew.code, day))
                holds = choices.teach(crew.code, venue, day)
                if aboard is not None and holds:
                    both = choices.flag(f"teaches[{trainer},{crew.code},{venue},{day}]")
                    choices.model.add(both <= aboard)
                    choices.model.add(both <= sum(holds))
                    there.append(both)
            if not there:
                return 0
            days.append(sum(there))
        if len(days) == 1:
            return days[0]
        always = choices.flag(f"always[{trainer},{venue},{first}]")
        for there_on in days:
            choices.model.add(always <= there_on)
        return always
