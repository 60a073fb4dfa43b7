"""A hand planner's greedy: nearest facilities first, week by week.

Every Monday each crew in turn sets out from its base. Each date it goes to the nearest hosting venue near which there
are untrained teams, and invites the nearest facilities that can send a team and keep their cover, until the stations
are full; it is back by the weekend. A crew's trainers stay with it for the round; nobody sits as a guest or lodges;
within a week a venue and a facility belong to one crew. Who goes where when is decided here; the rules' machinery only
finds names, clocks and trainers for it, and what it cannot staff is struck out.
"""

from __future__ import annotations

import dataclasses
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from rivals.release import most_teams
from rivals.standing import homes_of, standing_trainers
from rivals.week_view import WeekFacts, within

from roundplan.domain.crew import Crew
from roundplan.domain.facility import Facility
from roundplan.domain.plan import Plan, Search, Status, Tier
from roundplan.domain.role import Lead, Shift
from roundplan.domain.rules import AIMS
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.assembly import assemble
from roundplan.solver.assembly.measures import plan_values
from roundplan.solver.attendance import Mode
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.outline import Outline
from roundplan.solver.parts import Visit
from roundplan.solver.read_off import read_off
from roundplan.solver.solving import Clock, Limits, solve

SECONDS_A_WEEK = 10.0
"""Time for the names of one crew's week; rarely used up."""


@dataclass(slots=True)
class Week:
    """What one crew means to do in a week.

    Attributes
    ----------
    invited : dict
        Teams by facility, venue and date.
    sleeping : list of str
        Where the crew may sleep, its base first.
    """

    crew: Crew
    dates: tuple[date, ...]
    invited: dict[Visit, int] = field(default_factory=dict)
    sleeping: list[str] = field(default_factory=list)

    def facilities(self) -> set[str]:
        """Return who is invited."""
        return {facility for facility, _, _ in self.invited}


class Greedy:
    """Plans a round by hand.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    seconds : float
        Weeks not begun within this time stay empty.
    seed : int
        Seed of the search for names.
    """

    def __init__(self, training_round: TrainingRound, seconds: float, seed: int) -> None:
        self.round = training_round
        self.facts = Facts(training_round)
        self.until = time.monotonic() + seconds
        self.seed = seed
        self.left = {f.code: f.teams_wanted for f in training_round.facilities}
        self.seated: set[str] = set()
        self.trainers = standing_trainers(training_round)
        self.by_day: dict[tuple[str, date], list[tuple[int, str, Mode]]] = defaultdict(list)
        for (facility, venue, day), modes in self.facts.modes.items():
            mode = next((m for m in modes if not m.nights), None)
            if mode is not None:
                self.by_day[venue, day].append((mode.travel_seconds, facility, mode))

    def plan(self) -> Plan:
        """Return the whole plan."""
        outlines: list[Outline] = []
        for week in self._weeks():
            venues: set[str] = set()
            owner = self._homes_of_trainers()
            for crew in self.round.crews:
                if time.monotonic() > self.until:
                    break
                found = self._crew_week(crew, week, venues, owner)
                if found is not None:
                    outlines.append(found)
        return self._written(outlines)

    def _homes_of_trainers(self) -> dict[str, str]:
        """Return, by facility, the crew to which it belongs at the start of a week."""
        return {code: crew for crew, group in self.trainers.items() for code in homes_of(group, self.round)}

    def _weeks(self) -> Iterator[tuple[date, ...]]:
        days = self.facts.dates
        monday = days[0] - timedelta(days=days[0].weekday())
        while monday <= days[-1]:
            week = tuple(d for k in range(5) if days[0] <= (d := monday + timedelta(days=k)) <= days[-1])
            if week:
                yield week
            monday += timedelta(days=7)

    def _crew_week(
        self, crew: Crew, dates: tuple[date, ...], venues: set[str], owner: dict[str, str]
    ) -> Outline | None:
        week = Week(crew, dates)
        at, pending = crew.base, dict(self.left)
        for day in dates:
            if not self.facts.crew_works(crew, day):
                continue
            for venue in self._by_road(at, day, crew, venues):
                invited = self._invite(venue, day, crew, pending, owner)
                if invited:
                    week.invited |= {(facility, venue, day): teams for facility, teams in invited.items()}
                    for facility, teams in invited.items():
                        pending[facility] -= teams
                    at = venue
                    break
        if not week.invited:
            return None
        self._claim(week, venues, owner)
        week.sleeping = self._beds(week)
        return self._staffed(week)

    def _by_road(self, at: str, day: date, crew: Crew, venues: set[str]) -> list[str]:
        """Return the open venues that the crew can reach in the morning, nearest first."""
        found: list[tuple[int, str]] = []
        for venue in self.facts.venues:
            if venue.code in venues or day not in self.facts.session_starts[venue.code]:
                continue
            arcs = self.facts.arcs(at, venue.code, day, crew)
            ready = min((a.passage.earliest + a.passage.seconds if a.passage else 0 for a in arcs), default=None)
            if ready is not None and self.facts.slots_between(ready + self.facts.set_up, 17 * 3600) >= 2:
                found.append((min(a.wheel for a in arcs), venue.code))
        return [code for _, code in sorted(found)]

    def _invite(
        self, venue: str, day: date, crew: Crew, pending: dict[str, int], owner: dict[str, str]
    ) -> dict[str, int]:
        """Return teams by facility: the nearest that can send some, until the stations are full."""
        free = [t for t in self.trainers[crew.code] if self.facts.trainer_free(t, day)]
        directors = sum(Lead.DIRECTOR in t.leads for t in free)
        seats = crew.seats - crew.drivers
        trainers = min(len(free), seats) // self.round.settings.trainers.per_station
        stations = min(self.round.site(venue).stations, crew.box_models, trainers, directors)
        room = stations * self._teams_a_station()
        found: dict[str, int] = {}
        for _, code, _ in sorted(self.by_day[venue, day], key=lambda entry: entry[:2]):
            facility = self.round.facility(code)
            mine = all(owner.get(x, crew.code) == crew.code for x in (code, facility.refers_to or code))
            if room and pending[code] > 0 and mine:
                teams = self._can_go(facility, day, min(pending[code], room))
                if teams:
                    found[code] = teams
                    room -= teams
        return found

    def _teams_a_station(self) -> int:
        session = self.round.settings.session
        by_slots = (self.facts.most_slots - session.reserve_slots) // session.simulations_per_team
        return max(min(by_slots, session.learners_per_station // 6), 1)

    def _can_go(self, facility: Facility, day: date, most: int) -> int:
        staff = self.round.staff_of(facility.code)
        sitters = [p for p in staff if p.code not in self.seated and self.facts.can_sit(p, day)]
        shift = (day, Shift.DAY)
        return most_teams(
            most, sitters, self.facts.keep_team(facility.code, shift), self.facts.present(facility.code, shift)
        )

    def _claim(self, week: Week, venues: set[str], owner: dict[str, str]) -> None:
        venues.update(venue for _, venue, _ in week.invited)
        for code in week.facilities():
            owner[code] = week.crew.code
            site = self.round.facility(code).refers_to
            if site is not None:
                owner[site] = week.crew.code

    def _beds(self, week: Week) -> list[str]:
        """Return the base, and for each venue the nearest place to sleep."""
        found = [week.crew.base]
        for venue, day in dict.fromkeys((venue, day) for _, venue, day in week.invited):
            ways = [
                (min(a.wheel for a in arcs), site)
                for site in self.facts.sleeping
                if (arcs := self.facts.arcs(venue, site, day, week.crew))
            ]
            found += [site for _, site in sorted(ways)[:1]]
        return list(dict.fromkeys(found))

    def _staffed(self, week: Week) -> Outline | None:
        """Find names, clocks and trainers for what was decided; strike out what cannot be staffed."""
        trainers = tuple(self.trainers[week.crew.code])
        codes = week.facilities() | {code for code in self._sites(week) if self.round.is_facility(code)}
        cut = within(self.round, week.crew, trainers, codes, self.left)
        facts = WeekFacts(self.facts, cut, week.dates, self.seated, tuple(week.sleeping))
        vars(facts)["modes"] = {
            visit: tuple(m for m in self.facts.modes[visit] if not m.nights) for visit in week.invited
        }
        choices = Choices(facts)
        add_limits(choices)
        for sending in choices.sendings:
            visit = (sending.facility, sending.venue, sending.first)
            choices.model.add(sending.teams <= week.invited[visit])
        limits = Limits(SECONDS_A_WEEK, self.seed, 1)
        teams = sum(sending.teams for sending in choices.sendings)
        answer = solve(choices.model, teams, True, Clock(limits), SECONDS_A_WEEK)
        if answer.values is None:
            return None
        values = answer.values
        for sending in choices.sendings:
            self.left[sending.facility] -= values[sending.teams.index]
        outline = read_off(choices, lambda var: int(values[var.index]))
        groups = [group for session in outline.sessions for group in session.groups]
        self.seated.update(seat.person for group in groups for seats in group.seats for seat in seats)
        return outline if groups else None

    @staticmethod
    def _sites(week: Week) -> set[str]:
        return {venue for _, venue, _ in week.invited} | set(week.sleeping)

    def _written(self, outlines: list[Outline]) -> Plan:
        whole = Outline(
            tuple(session for outline in outlines for session in outline.sessions),
            tuple(sorted((day for outline in outlines for day in outline.crew_days), key=lambda d: (d.crew, d.date))),
        )
        plan = assemble(whole, self.facts, (), Search(mode="greedy", seed=self.seed, workers=1))
        values = plan_values(plan, self.facts)
        tiers = tuple(Tier(aim=d.aim, value=values[d.aim], bound=None, status=Status.NO_BOUND) for d in AIMS)
        return dataclasses.replace(plan, tiers=tiers)


def greedy_plan(training_round: TrainingRound, *, seconds: float, seed: int) -> Plan:
    """Return a hand planner's plan of a round.

    Parameters
    ----------
    seconds : float
        Weeks not begun within this time stay empty.
    seed : int
        Seed of the search for names.
    """
    return Greedy(training_round, seconds, seed).plan()
