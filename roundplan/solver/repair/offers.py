"""What a plan does not do yet and could: other crews for its sessions, other sessions for its teams, new sessions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Set
from dataclasses import dataclass, field
from datetime import date

from roundplan.domain.crew import Crew
from roundplan.domain.plan import Team
from roundplan.domain.repair import RepairTask
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.frame import Move
from roundplan.solver.parts import Visit
from roundplan.solver.repair.stored import Hold, Part, Stored
from roundplan.travel.distance import geodesic_km

NEW_SESSIONS = 8
"""New sessions that are offered at a time."""
VENUES = 3
"""Venues offered to a team beside its own: the nearest to it."""
CREWS = 2
"""Crews offered for a new session: those nearest to it."""


@dataclass(slots=True)
class Offer:
    """Moves and sessions of crews, and visits, beside those of the plan."""

    moves: Mapping[tuple[str, date], Set[Move]] = field(default_factory=dict)
    holds: frozenset[Hold] = frozenset()
    visits: frozenset[Visit] = frozenset()


class Offers:
    """Finds what could stand in place of what is hurt.

    Parameters
    ----------
    teams : tuple of Team
        Teams that may have to go elsewhere.
    """

    def __init__(self, stored: Stored, task: RepairTask, teams: tuple[Team, ...]) -> None:
        self.stored, self.task, self.teams, self.facts = stored, task, teams, stored.facts
        self._out = {(trip.crew, day.date) for trip in stored.plan.trips for day in trip.days}

    def other_crews(self, parts: Collection[Part]) -> Offer:
        """Offer the sessions of trips to crews that are idle on all their dates, from their own bases."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        holds: set[Hold] = set()
        for part in parts:
            for trip in part.trips:
                base = self.facts.round.crew(trip.crew).base
                days = [day.date for day in trip.days]
                for crew in self.facts.round.crews:
                    if crew.code == trip.crew or not all(self._idle(crew, day) for day in days):
                        continue
                    swap = {base: crew.base}
                    for stay in self.stored.stays(trip):
                        ends = stay.moves() | {(stay.start, stay.night)}
                        moves[crew.code, stay.day.date] |= {(swap.get(a, a), swap.get(b, b)) for a, b in ends}
                    taught = {code for day in trip.days for code in day.sessions}
                    held = (self.stored.session[code] for code in taught)
                    holds |= {(crew.code, session.venue, session.dates[0]) for session in held}
        return Offer(moves, frozenset(holds))

    def visits_to(self, parts: Collection[Part]) -> frozenset[Visit]:
        """Return the visits that the facilities of the teams could pay to the sessions of some parts."""
        found = set()
        session = self.facts.settings.session
        for held in (s for part in parts for s in part.sessions if s.dates[0] >= self.task.today):
            for first in held.dates[: session.days - session.days_per_team + 1]:
                for facility in {team.facility for team in self.teams}:
                    if self.facts.visiting.modes(facility, held.venue, first):
                        found.add((facility, held.venue, first))
        return frozenset(found)

    def new_sessions(self, may_visit: Callable[[str, str, date], bool]) -> Offer:
        """Offer new sessions near the dates of the teams, on which somebody could come and some crew is idle."""
        moves: dict[tuple[str, date], set[Move]] = defaultdict(set)
        holds: set[Hold] = set()
        visits: set[Visit] = set()
        chosen: set[tuple[str, date]] = set()
        for venue, start in self._candidates(may_visit):
            if len(chosen) == NEW_SESSIONS:
                break
            for crew in self._near_crews(venue, start)[:CREWS]:
                chosen.add((venue, start))
                holds.add((crew.code, venue, start))
                for key, found in self._there_and_back(crew, venue, start).items():
                    moves[key] |= found
        for facility in {team.facility for team in self.teams}:
            for venue, start in chosen:
                for first in self.facts.session_dates(start):
                    if first in self.facts.visiting.firsts(venue) and self.facts.visiting.modes(facility, venue, first):
                        visits.add((facility, venue, first))
        return Offer(moves, frozenset(holds), frozenset(visit for visit in visits if may_visit(*visit)))

    def _candidates(self, may_visit: Callable[[str, str, date], bool]) -> Iterator[tuple[str, date]]:
        """Yield venue and start, those nearest to the announced dates first."""
        used = {(s.venue, day) for s in self.stored.plan.sessions for day in s.dates}
        found: dict[tuple[str, date], tuple[int, str, date]] = {}
        for team in self.teams:
            for venue in self._venues(team):
                for start in self.facts.session_starts[venue]:
                    dates = self.facts.session_dates(start)
                    if any((venue, day) in used for day in dates) or not may_visit(team.facility, venue, start):
                        continue
                    if start >= self.task.today:
                        away = (abs((start - team.dates[0]).days), venue, start)
                        found[venue, start] = min(found.get((venue, start), away), away)
        yield from sorted(found, key=lambda key: found[key])

    def _venues(self, team: Team) -> list[str]:
        """Return where a team was to train, and the venues nearest to its facility."""
        home = self.facts.round.facility(team.facility)
        order = sorted(self.facts.venues, key=lambda v: (geodesic_km(v, home), v.code))
        own = self.stored.session[team.session].venue
        open_ = {venue.code for venue in self.facts.venues}
        return [*([own] if own in open_ else []), *(v.code for v in order if v.code != own)][: VENUES + 1]

    def _near_crews(self, venue: str, start: date) -> list[Crew]:
        site = self.facts.round.site(venue)
        dates = self.facts.session_dates(start)
        idle = [crew for crew in self.facts.round.crews if all(self._idle(crew, day) for day in dates)]
        return sorted(idle, key=lambda c: (geodesic_km(self.facts.round.site(c.base), site), c.code))

    def _idle(self, crew: Crew, day: date) -> bool:
        return (crew.code, day) not in self._out and self.facts.crew_works(crew, day)

    def _there_and_back(self, crew: Crew, venue: str, start: date) -> dict[tuple[str, date], set[Move]]:
        """Return the moves of a trip to one session, with nights where its participants lodge."""
        dates, base = self.facts.session_dates(start), crew.base
        beds = self.facts.attendance.lodging_for(venue)
        sleeping = [base] if beds is None else [base, beds]
        moves = {(crew.code, day): {m for bed in sleeping for m in ((bed, venue), (venue, bed))} for day in dates}
        for day, move in ((dates[0] - ONE_DAY, (base, beds)), (dates[-1] + ONE_DAY, (beds, base))):
            if beds is not None and day in self.facts.dates and self._idle(crew, day):
                moves[crew.code, day] = {move, (base, base)}  # type: ignore[arg-type]
        return moves
