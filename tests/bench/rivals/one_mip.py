"""The skeleton of a round as one MIP in HiGHS: crews' paths, stations, teams by facility, venue and date.

A rival at skeleton level: nobody is named, no clock is set, no trainer is dealt to a crew and guests come from nowhere,
so its coverage is what it claims before staffing, and may be more than any plan can hold. Its bound is one of the
skeleton only; with legs to the nearest places alone (large rounds) it is no bound at all and is not reported.
"""

from __future__ import annotations

import time
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta

from rivals.mip import Mip
from rivals.release import most_teams

from roundplan.domain.crew import Crew
from roundplan.domain.facility import Facility
from roundplan.domain.role import OnSiteCover, Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.facts import Arc, Facts

NEAREST = 12
"""Legs to the nearest places alone are kept in rounds of more facilities than SMALL."""
SMALL = 30
SHARES = {"first teams": 0.6, "further teams": 1.0}
ONE_DAY = timedelta(days=1)


@dataclass(slots=True)
class Skeleton:
    """What one tier came to.

    Attributes
    ----------
    value : dict
        Coverage by tier, claimed before staffing; a tier without any solution is missing.
    bound : dict
        Proven for the skeleton with all its legs; empty where legs were left out.
    """

    value: dict[str, int] = field(default_factory=dict)
    bound: dict[str, int] = field(default_factory=dict)
    columns: int = 0
    rows: int = 0


class OneMip:
    """The model.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    seconds : float
        Time for building and solving together.
    seed : int
        Of the MIP solver.
    workers : int
        Threads.
    """

    def __init__(self, training_round: TrainingRound, seconds: float, seed: int, workers: int) -> None:
        self.until = time.monotonic() + seconds
        self.round = training_round
        self.facts = Facts(training_round)
        self.complete = len(training_round.facilities) <= SMALL
        self.mip = Mip(seed, workers)
        self._declare()
        self._teams()
        for crew in training_round.crews:
            self._crew(crew)
        self._capacity()
        self._coverage()

    def _declare(self) -> None:
        facts, session = self.facts, self.round.settings.session
        self.sims = session.simulations_per_team
        self.reserve = session.reserve_slots
        self.team: dict[tuple[str, str, date], int] = {}
        self.stations: dict[tuple[str, str, date], int] = {}
        self.holds: dict[tuple[str, date], list[int]] = defaultdict(list)
        self.by_venue: dict[tuple[str, date], list[int]] = defaultdict(list)
        self.room: dict[tuple[str, date], list[tuple[int, float]]] = defaultdict(list)
        self.sites = tuple(facts.sleeping)

    # teams ------------------------------------------------------------------------------------------------------

    def _teams(self) -> None:
        """Make teams by facility, venue and date, within what each facility can release on each date.

        People who train at home and count as cover there are limited by their number alone.
        """
        away: dict[tuple[str, date], list[int]] = defaultdict(list)
        any_venue: dict[tuple[str, date], list[int]] = defaultdict(list)
        for (code, venue, day), modes in self.facts.modes.items():
            facility = self.round.facility(code)
            if not facility.teams_wanted:
                continue
            column = self.team[code, venue, day] = self.mip.column(facility.teams_wanted)
            any_venue[code, day].append(column)
            self.by_venue[venue, day].append(column)
            if not modes[0].own_site or self.facts.on_site_cover(facility) is OnSiteCover.NO:
                away[code, day].append(column)
        for (code, day), columns in any_venue.items():
            facility = self.round.facility(code)
            keep = self.facts.keep_team(code, (day, Shift.DAY))
            self.mip.row(((c, 1.0) for c in away[code, day]), 0, self._release(facility, day, keep))
            self.mip.row(((c, 1.0) for c in columns), 0, self._release(facility, day, ()))

    def _release(self, facility: Facility, day: date, keep: tuple[Role, ...]) -> int:
        facts = self.facts
        sitters = [p for p in self.round.staff_of(facility.code) if facts.can_sit(p, day)]
        there = facts.present(facility.code, (day, Shift.DAY))
        return most_teams(facility.teams_wanted, sitters, keep, there, min(facts.settings.teams.guests, 1))

    # crews ------------------------------------------------------------------------------------------------------

    def _crew(self, crew: Crew) -> None:
        """Make a crew's path: nights, moves to and from venues, moves between places to sleep."""
        facts = self.facts
        at = {
            (day, site): self.mip.column(1.0)
            for day in (facts.dates[0] - ONE_DAY, *facts.dates)
            for site in dict.fromkeys((crew.base, *self.sites))
        }
        for day in (facts.dates[0] - ONE_DAY, facts.dates[-1]):
            self.mip.row([(at[day, crew.base], 1.0)], 1, 1)
        for day in facts.dates:
            self._crew_day(crew, day, at)

    def _crew_day(self, crew: Crew, day: date, at: dict[tuple[date, str], int]) -> None:
        leaving: dict[str, list[int]] = defaultdict(list)
        coming: dict[str, list[int]] = defaultdict(list)
        wheel: list[tuple[int, float]] = []
        sites = tuple(dict.fromkeys((crew.base, *self.sites)))
        works = self.facts.crew_works(crew, day)
        for start in sites:
            for arc in self._moves(start, sites, day, crew) if works else ():
                column = self.mip.column(1.0)
                leaving[start].append(column)
                coming[arc.end].append(column)
            if not works:
                column = self.mip.column(1.0 if start == crew.base else 0.0)
                leaving[start].append(column)
                coming[start].append(column)
        if works:
            for venue in self.facts.venues:
                if (venue.code, day) in self.by_venue:
                    self._teaching(crew, day, venue.code, sites, leaving, coming, wheel)
        for site in sites:
            self.mip.row([*((c, 1.0) for c in leaving[site]), (at[day - ONE_DAY, site], -1.0)], 0, 0)
            self.mip.row([*((c, 1.0) for c in coming[site]), (at[day, site], -1.0)], 0, 0)
        if wheel:
            self.mip.row(wheel, 0, self.round.settings.travel.wheel_hours * crew.drivers)

    def _moves(self, start: str, sites: tuple[str, ...], day: date, crew: Crew) -> list[Arc]:
        """Return the fastest way to each place to sleep, itself included; the nearest alone in a large round."""
        found: list[Arc] = []
        for end in sites:
            arcs = self.facts.arcs(start, end, day, crew)
            if arcs:
                found.append(min(arcs, key=lambda arc: arc.wheel))
        found.sort(key=lambda arc: (arc.wheel, arc.end))
        if self.complete:
            return found
        return found[:NEAREST] + [arc for arc in found[NEAREST:] if arc.end == crew.base]

    def _teaching(
        self,
        crew: Crew,
        day: date,
        venue: str,
        sites: tuple[str, ...],
        leaving: dict[str, list[int]],
        coming: dict[str, list[int]],
        wheel: list[tuple[int, float]],
    ) -> None:
        """Make a session that the crew may hold on the date, with the ways there and from there."""
        facts, travel = self.facts, self.round.settings.travel
        latest, earliest = max(facts.day_table.values()), facts.starts[0]
        most = min(self.round.site(venue).stations, crew.box_models, (crew.seats - crew.drivers) // 2)
        ways: list[tuple[dict[str, list[int]], list[tuple[int, float]]]] = []
        for table, out in ((leaving, False), (coming, True)):
            room: list[tuple[int, float]] = []
            for arc in self._ways(venue, sites, day, crew, out):
                passage = arc.passage
                if out:
                    until = latest if passage is None else min(latest, passage.latest - travel.pack_up * 60)
                    slots = facts.slots_between(earliest, until)
                else:
                    ready = 0 if passage is None else passage.earliest + passage.seconds
                    slots = facts.slots_between(ready + travel.set_up * 60, latest)
                teams = self._teams_in(slots)
                if teams:
                    column = self.mip.column(1.0)
                    table[arc.end if out else arc.start].append(column)
                    wheel.append((column, arc.wheel / 3600))
                    room.append((column, float(teams * most)))
            ways.append((table, room))
        hold = self.mip.column(1.0)
        self.holds[venue, day].append(hold)
        stations = self.stations[crew.code, venue, day] = self.mip.column(float(most))
        self.mip.row([(stations, 1.0), (hold, -float(most))], -most, 0)
        for _, room in ways:
            self.mip.row([*((c, 1.0) for c, _ in room), (hold, -1.0)], 0, 0)
        capacity = self.mip.column(float(most * self._teams_in(facts.most_slots)))
        self.room[venue, day].append((capacity, 1.0))
        self.mip.row([(capacity, 1.0), (stations, -float(self._teams_in(facts.most_slots)))], -1e3, 0)
        for _, room in ways:
            self.mip.row([(capacity, 1.0), *((c, -factor) for c, factor in room)], -1e3, 0)

    def _ways(self, venue: str, sites: tuple[str, ...], day: date, crew: Crew, out: bool) -> list[Arc]:
        found = [
            arc
            for site in sites
            for arc in (self.facts.arcs(venue, site, day, crew) if out else self.facts.arcs(site, venue, day, crew))
        ]
        found.sort(key=lambda arc: (arc.wheel, arc.start, arc.end))
        if self.complete:
            return found
        base = [arc for arc in found[NEAREST:] if crew.base in (arc.start, arc.end)]
        return found[:NEAREST] + base

    def _teams_in(self, slots: int) -> int:
        """Return the teams that a station has time for."""
        several = (slots - self.reserve) // self.sims
        return several if several > 1 else min(slots // self.sims, 1)

    # rows over all ------------------------------------------------------------------------------------------------

    def _capacity(self) -> None:
        """Keep teams within the stations of all crews at a venue, and stations and learners within its room."""
        learners = self.round.settings.session.learners_per_station
        for (venue, day), columns in self.by_venue.items():
            rooms = self.room.get((venue, day), [])
            self.mip.row([*((c, 1.0) for c in columns), *((c, -factor) for c, factor in rooms)], -1e3, 0)
            here = [
                (self.stations[crew.code, venue, day], 1.0)
                for crew in self.round.crews
                if (crew.code, venue, day) in self.stations
            ]
            if here:
                self.mip.row(here, 0, self.round.site(venue).stations)
                seats = [
                    (column, float(len(self.round.facility(code).usual_team)))
                    for code in (f.code for f in self.round.facilities)
                    if (column := self.team.get((code, venue, day))) is not None
                ]
                self.mip.row([*seats, *((c, -float(learners)) for c, _ in here)], -1e4, 0)

    def _coverage(self) -> None:
        """Make the steps of coverage: a facility's first team, its second, each later one."""
        self.aims: dict[str, list[tuple[int, int]]] = {"first teams": [], "further teams": []}
        sent: dict[str, list[int]] = defaultdict(list)
        for (code, _, _), column in self.team.items():
            sent[code].append(column)
        for code, columns in sent.items():
            facility = self.round.facility(code)
            steps = []
            for number in range(1, facility.teams_wanted + 1):
                step = self.mip.column(1.0)
                steps.append(step)
                if number == 1:
                    self.aims["first teams"].append((step, self.round.weight(facility)))
                else:
                    self.aims["further teams"].append((step, self.round.team_points(facility, number)))
                    self.mip.row([(steps[-2], 1.0), (step, -1.0)], 0, 1)
            self.mip.row([*((c, 1.0) for c in columns), *((s, -1.0) for s in steps)], 0, 0)

    def solve(self) -> Skeleton:
        """Solve tier by tier, each with the earlier held."""
        self.mip.load()
        found = Skeleton(columns=len(self.mip.upper), rows=len(self.mip.rows))
        for aim, steps in self.aims.items():
            now = time.monotonic()
            answer = self.mip.maximise(steps, now + (self.until - now) * SHARES[aim])
            if answer is None:
                break
            found.value[aim], bound = answer
            if self.complete and bound is not None:
                found.bound[aim] = bound
        return found


def skeleton_by_mip(training_round: TrainingRound, *, seconds: float, seed: int, workers: int) -> Skeleton:
    """Return the coverage that one MIP of the skeleton claims, and its bound.

    Parameters
    ----------
    seconds : float
        Time for building and solving together.
    seed, workers : int
        Seed and threads of the MIP solver.
    """
    return OneMip(training_round, seconds, seed, workers).solve()
