"""Repairs of tiny rounds by trying every plan: the least coverage lost, then the least points; apart from the solver.

Points are counted here anew, from the words of DEVELOPERS.md; teams are told apart by trying every order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import permutations, product

from brute_crew import Aboard, DayOut, Meeting
from brute_force import BruteForce, Setting, Visit
from brute_people import Option, Outcome

from roundplan.domain.plan import Plan, Team
from roundplan.domain.repair import RepairTask
from roundplan.domain.role import Include

Lost = tuple[int, int, int]
"""Points of first teams, people named by the manager, points of further teams."""
Taught = dict[tuple[Meeting, date], frozenset[str]]
"""Trainers by session and date."""


@dataclass(frozen=True)
class Least:
    """What the best repair comes to."""

    lost: Lost
    points: int


class BruteRepair:
    """Tries every repair of one tiny round."""

    def __init__(self, task: RepairTask) -> None:
        self.task, self.round = task, task.training_round
        self.brute = BruteForce(task.training_round)
        self.crew, self.people = self.brute.crew, self.brute.people
        self.teams = {f.code: [t for t in task.announced.teams if t.facility == f.code] for f in self.round.facilities}
        sessions = {s.code: s for s in task.announced.sessions}
        self.venue = {t.code: sessions[t.session].venue for t in task.announced.teams}
        self.sessions = {(s.venue, s.dates[0]) for s in sessions.values()}
        self.trainers = {t.code: trainers_of(task.announced, t) for t in task.announced.teams}
        self.seated = {seat.person for team in task.announced.teams for seat in team.seats}
        self._taught: dict[object, list[tuple[Taught, int]]] = {}

    def least(self) -> Least | None:
        """Return the least loss and points, or None if no plan keeps the locks."""
        best = self._empty()
        order = sorted(self._skeletons(), key=lambda visits: self._lost_teams(visits))
        for visits in order:
            first, further = self._lost_teams(visits)
            if best is not None and (first, 0, further) > best.lost:
                continue
            for settings in self.brute._held(visits):
                best = self._better(visits, settings, best)
        return best

    def _empty(self) -> Least | None:
        """Return what no plan at all comes to, where no lock asks for anything."""
        if any(lock.do.value == "keep" for lock in self.round.locks):
            return None
        must = sum(self._named(code) for code in self.seated)
        first, further = self._lost_teams(())
        return Least((first, must, further), 0)

    def _named(self, code: str) -> bool:
        return self.round.person(code).include is Include.MUST

    def _skeletons(self) -> Iterator[tuple[Visit, ...]]:
        for visits in self.brute.skeletons():
            counts = {code: sum(v.facility == code for v in visits) for code in self.teams}
            if all(count <= len(self.teams[code]) for code, count in counts.items()) and all(map(self._told, visits)):
                yield visits

    def _told(self, visit: Visit) -> bool:
        """Whether a session was announced, or leaves the facility notice from today."""
        if (visit.block.venue, visit.block.dates[0]) in self.sessions:
            return True
        teams = self.round.settings.teams
        near = self.brute.facts.near(visit.facility, visit.block.venue)
        notice = teams.notice_on_site if near else teams.notice_off_site
        return (visit.block.dates[0] - self.task.today).days >= notice

    def _lost_teams(self, visits: tuple[Visit, ...]) -> tuple[int, int]:
        first = further = 0
        for code, before in self.teams.items():
            now = sum(v.facility == code for v in visits)
            facility = self.round.facility(code)
            for number in range(now + 1, len(before) + 1):
                if number == 1:
                    first += self.round.weight(facility)
                else:
                    further += self.round.team_points(facility, number)
        return first, further

    def _better(self, visits: tuple[Visit, ...], settings: tuple[Setting, ...], best: Least | None) -> Least | None:
        """Return the best repair with sessions held like this, or what was best before."""
        first, further = self._lost_teams(visits)
        held = [(s, v) for s in settings for v in s.visits]
        teams = [self.brute._options(s, v) for s, v in held]
        meetings = tuple(self.brute._meeting(s) for s in settings)
        if not all(teams) or not self._taught_ways(meetings, ()):
            return best
        costs = [
            {id(o): [self._told_anew(t, v, o, frozenset()) for t in self.teams[v.facility]] for o in options}
            for (_, v), options in zip(held, teams, strict=True)
        ]
        ordered = [sorted(options, key=lambda o: min(cost[id(o)])) for options, cost in zip(teams, costs, strict=True)]
        least = [min(min(c) for c in cost.values()) for cost in costs]

        def onward(index: int, chosen: tuple[Option, ...], so_far: int) -> None:
            nonlocal best
            must = sum(self._named(code) for code in self.seated - _people(chosen)) if index == len(held) else 0
            if best is not None and ((first, must, further), so_far + sum(least[index:])) >= (best.lost, best.points):
                return
            if index < len(held):
                for option in ordered[index]:
                    if self.people._seats_free(chosen, option):
                        onward(index + 1, (*chosen, option), so_far + min(costs[index][id(option)]))
                return
            if self.people._covered(chosen) is None:
                return
            outcome = Outcome(0, 0, 0, self.people._money(chosen), self.people._slept(chosen), chosen)
            if self.brute._locked(settings, outcome):
                points = self._points(held, chosen, meetings, settings, outcome)
                found = None if points is None else Least((first, must, further), points)
                if found is not None and (best is None or (found.lost, found.points) < (best.lost, best.points)):
                    best = found

        onward(0, (), 0)
        return best

    # points ---------------------------------------------------------------------------------------------------------

    def _told_anew(self, team: Team, visit: Visit, option: Option, taught: frozenset[str]) -> int:
        """Return the points of an announced team that becomes this one; trainers gone are counted by the caller."""
        days = self.round.settings.session.days_per_team
        dates = visit.block.dates[visit.offset : visit.offset + days]
        now = {(role, code) for role, code, _ in option.seats if code is not None}
        points = 0
        for seat in team.seats:
            each = 3 * ((seat.role, seat.person) not in now)
            each += 2 * (dates != team.dates) + 2 * (visit.block.venue != self.venue[team.code])
            released = any(
                (r.team, r.person, r.role) == (team.code, seat.person, seat.role) for r in self.task.released
            )
            points += each * (3 if released else 1)
        for role in {role for role, _ in now}:
            before = sum(seat.role is role for seat in team.seats)
            points += 3 * max(sum(r is role for r, _ in now) - before, 0)
        return points * self._soon(team)

    def _soon(self, team: Team) -> int:
        days = (team.dates[0] - self.task.today).days
        return 3 if days <= 7 else 2 if days <= 28 else 1

    def _points(
        self, held: list, chosen: tuple[Option, ...], meetings: tuple[Meeting, ...], settings: tuple, outcome: Outcome
    ) -> int | None:
        """Return the least points over all trainers who could teach and all ways to tell the teams apart."""
        found = []
        for taught, money in self._taught_ways(meetings, outcome.slept):
            if not self._paid(settings, outcome, money):
                continue
            total = 0
            for code, before in self.teams.items():
                mine = [k for k, (_, visit) in enumerate(held) if visit.facility == code]
                ways = [
                    sum(self._one(t, held[k], chosen[k], meetings, taught) for t, k in zip(order, mine, strict=True))
                    for order in permutations(before, len(mine))
                ]
                total += min(ways)
            found.append(total)
        return min(found, default=None)

    def _one(self, team: Team, held: tuple, option: Option, meetings: tuple[Meeting, ...], taught: Taught) -> int:
        _, visit = held
        days = self.round.settings.session.days_per_team
        dates = visit.block.dates[visit.offset : visit.offset + days]
        meeting = next(m for m in meetings if (m.venue, m.dates) == (visit.block.venue, visit.block.dates))
        there = frozenset.intersection(*(taught[meeting, on] for on in dates))
        gone = len(self.trainers[team.code] - there)
        return self._told_anew(team, visit, option, there) + gone * self._soon(team)

    def _paid(self, settings: tuple, outcome: Outcome, crew_money: int) -> bool:
        """Whether the plan stays within the cap, if there is one."""
        if self.round.settings.prices.cap is None:
            return True
        cheapest = self.crew.cheapest
        try:
            self.crew.cheapest = lambda meetings, slept: crew_money  # type: ignore[method-assign]
            meetings = tuple(self.brute._meeting(s) for s in settings)
            return self.brute._money(settings, outcome, meetings) is not None
        finally:
            self.crew.cheapest = cheapest  # type: ignore[method-assign]

    # trainers -------------------------------------------------------------------------------------------------------

    def _taught_ways(self, meetings: tuple[Meeting, ...], slept: tuple) -> list[tuple[Taught, int]]:
        """Return every lawful set of trainers by session and date, with the least money that it costs with its crew."""
        short = {key: n for key, n in dict(slept).items() if self.round.site(key[1]).lodging_beds is not None}
        key = (meetings, frozenset(short.items()))
        if key not in self._taught:
            if any(n > (self.round.site(site).lodging_beds or 0) for (_, site), n in short.items()):
                self._taught[key] = []
            else:
                ways: dict[object, tuple[Taught, int]] = {}
                for path in self.crew._paths(meetings):
                    for taught, money in self._crewed(path, short):
                        name = frozenset(taught.items())
                        if name not in ways or money < ways[name][1]:
                            ways[name] = (taught, money)
                self._taught[key] = list(ways.values())
        return self._taught[key]

    def _crewed(self, path: tuple[DayOut, ...], slept: dict) -> Iterator[tuple[Taught, int]]:
        services = [self.crew._services(t, path) for t in self.round.trainers]
        road = sum(step.money for step in path)
        for chosen in product(*services):
            if all(self._staffed(step, chosen) for step in path) and self.crew._fits(path, chosen, slept):
                taught = {
                    (step.meeting, step.on): frozenset(c.trainer.code for c in chosen if step.on in c.dates)
                    for step in path
                    if step.meeting is not None
                }
                yield taught, road + sum(c.money for c in chosen)

    def _staffed(self, step: DayOut, chosen: tuple[Aboard, ...]) -> bool:
        here = tuple(c.trainer for c in chosen if step.on in c.dates)
        return step.meeting is None or self.crew._staffed(step.meeting, here)


def trainers_of(plan: Plan, team: Team) -> frozenset[str]:
    """Return the trainers who are with a team's session on all the team's dates."""
    found = []
    for on in team.dates:
        days = [day for trip in plan.trips for day in trip.days if day.date == on and team.session in day.sessions]
        found.append({entry.trainer for day in days for entry in day.aboard})
    return frozenset(set.intersection(*found))


def _people(chosen: tuple[Option, ...]) -> set[str]:
    return {code for option in chosen for _, code, _ in option.seats if code is not None}
