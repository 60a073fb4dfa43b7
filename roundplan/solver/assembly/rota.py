"""Who simulates at which station in which slot: one small exact search a session."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from ortools.sat.python import cp_model

from roundplan.domain.role import OnSiteCover
from roundplan.domain.rules import Rule
from roundplan.solver.assembly.exact import settle
from roundplan.solver.assembly.teams import Draft
from roundplan.solver.facts import Facts
from roundplan.solver.outline import SessionOutline

MISSING, UNSEEN, PAIR, APART = 100_000, 2_000, 1_000, 100
"""Penalties: a simulation left out or on top of another (only where a rule is switched off), a team that no other
team can watch, back-to-back simulations, own teams of the host at different stations; the rest is how late."""


class SlotsNotLaid(RuntimeError):
    """A session's simulations do not fit its slots."""

    def __init__(self, venue: str, start: date) -> None:
        super().__init__(f"the simulations at {venue} from {start.isoformat()} do not fit the slots")


@dataclass(frozen=True, slots=True)
class Turn:
    """One simulation of a team; ``index`` tells simulations in one and the same slot apart."""

    team: str
    station: int
    date: date
    number: int
    index: int = 0


@dataclass(frozen=True, slots=True)
class Rota:
    """Where each team is and when it simulates."""

    station: dict[str, int]
    turns: tuple[Turn, ...]

    def at(self, day: date, number: int) -> frozenset[str]:
        """Return the teams that simulate in a slot."""
        return frozenset(t.team for t in self.turns if (t.date, t.number) == (day, number))


def lay_turns(session: SessionOutline, teams: Sequence[Draft], facts: Facts) -> Rota:
    """Deal teams to stations and simulations to slots.

    Raises
    ------
    SlotsNotLaid
        If they do not fit.
    """
    search = _Search(session, teams, facts)
    solver = settle(search.model)
    if solver is None:
        raise SlotsNotLaid(session.venue, session.start)
    station = {t.code: next(s for s in search.stations if solver.boolean_value(search.at[t.code, s])) for t in teams}
    turns = [Turn(c, station[c], day, k) for (c, day, k), var in search.turn.items() if solver.boolean_value(var)]
    if not facts.on(Rule.SLOT_ORDER) and facts.on(Rule.SIMULATIONS_PER_TEAM):
        turns += _doubled(turns, session, teams, station, facts)
    return Rota(station, tuple(sorted(turns, key=lambda t: (t.date, t.number, t.station, t.team, t.index))))


def _doubled(
    turns: Sequence[Turn], session: SessionOutline, teams: Sequence[Draft], station: dict[str, int], facts: Facts
) -> Iterator[Turn]:
    """Yield what does not fit, in the last slot, where simulations may overlap."""
    for team in teams:
        for day in team.dates:
            held = sum((turn.team, turn.date) == (team.code, day) for turn in turns)
            for index in range(held, facts.sims_on(team.dates[0], day)):
                yield Turn(team.code, station[team.code], day, session.clocks[day][1], index + 1)


class _Search:
    """The model of one session."""

    def __init__(self, session: SessionOutline, teams: Sequence[Draft], facts: Facts) -> None:
        self.model = cp_model.CpModel()
        self.session, self.teams, self.facts = session, teams, facts
        self.stations = range(1, max(sum(session.stations.values()), 1) + 1)
        self.penalties: list[cp_model.LinearExprT] = []
        self._variables()
        for station in self.stations:
            for day, (_, slots) in session.clocks.items():
                self._station_day(station, day, slots)
        self._pairs()
        self._own_teams()
        self._watchable()
        self.model.minimize(sum(self.penalties))

    def _variables(self) -> None:
        self.at: dict[tuple[str, int], cp_model.IntVar] = {}
        self.turn: dict[tuple[str, date, int], cp_model.IntVar] = {}
        demonstrations = self.facts.settings.session.demonstrations
        for index, team in enumerate(self.teams):
            for s in self.stations:
                self.at[team.code, s] = self.model.new_bool_var(f"at[{team.code},{s}]")
                if s > 1:
                    # Stations are alike, so the next one opens only once the one before has a team.
                    earlier = [self.at[other.code, s - 1] for other in self.teams[:index]]
                    self.model.add(self.at[team.code, s] <= sum(earlier))
            self.model.add_exactly_one(self.at[team.code, s] for s in self.stations)
            for day in team.dates:
                _, slots = self.session.clocks[day]
                numbers = range(demonstrations + 1, slots + 1)
                for k in numbers:
                    self.turn[team.code, day, k] = self.model.new_bool_var(f"turn[{team.code},{day},{k}]")
                    self.penalties.append(k * self.turn[team.code, day, k])
                self._all_run(team, day, [self.turn[team.code, day, k] for k in numbers])

    def _all_run(self, team: Draft, day: date, turns: list[cp_model.IntVar]) -> None:
        sims = self.facts.sims_on(team.dates[0], day)
        missing = self.model.new_int_var(0, sims, f"missing[{team.code},{day}]")
        self.model.add(sum(turns) + missing == sims)
        if self.facts.on(Rule.SIMULATIONS_PER_TEAM) and self.facts.on(Rule.SLOT_ORDER):
            self.model.add(missing == 0)
        self.penalties.append(MISSING * missing)

    def _station_day(self, station: int, day: date, slots: int) -> None:
        """One simulation at a time; where several teams are at the station, the last slots stay in reserve."""
        model, settings = self.model, self.facts.settings.session
        there = [t for t in self.teams if day in t.dates]
        several = model.new_bool_var(f"several[{station},{day}]")
        count = sum(self.at[t.code, station] for t in there)
        model.add(count <= 1 + len(there) * several)
        model.add(count >= 2 * several)
        for k in range(settings.demonstrations + 1, slots + 1):
            here = []
            for team in there:
                both = model.new_bool_var(f"here[{team.code},{station},{day},{k}]")
                at, turn = self.at[team.code, station], self.turn[team.code, day, k]
                model.add_multiplication_equality(both, [at, turn])
                here.append(both)
                if k > slots - settings.reserve_slots:
                    self._reserve(both, several)
            above = model.new_int_var(0, max(len(there), 1), f"above[{station},{day},{k}]")
            model.add(sum(here) <= 1 + above)
            if self.facts.on(Rule.SLOT_ORDER):
                model.add(above == 0)
            self.penalties.append(MISSING * above)

    def _reserve(self, both: cp_model.IntVar, several: cp_model.IntVar) -> None:
        if self.facts.on(Rule.DAY_FITS) and self.facts.on(Rule.SLOT_ORDER):
            self.model.add_implication(both, ~several)
        else:
            used = self.model.new_bool_var("reserve used")
            self.model.add(used >= both + several - 1)
            self.penalties.append(PAIR * used)

    def _pairs(self) -> None:
        for (code, day, k), turn in self.turn.items():
            after = self.turn.get((code, day, k + 1))
            if after is not None:
                pair = self.model.new_bool_var(f"pair[{code},{day},{k}]")
                self.model.add(pair >= turn + after - 1)
                self.penalties.append(PAIR * pair)

    def _own_teams(self) -> None:
        """The host's own teams take turns, since each is cover while the other simulates."""
        own: dict[str, list[Draft]] = defaultdict(list)
        for team in self.teams:
            facility = self.facts.round.facility(team.facility)
            if team.on_site and self.facts.on_site_cover(facility) is OnSiteCover.OBSERVERS:
                own[team.facility].append(team)
        for teams in own.values():
            for a, b in combinations(teams, 2):
                apart = self.model.new_bool_var(f"apart[{a.code},{b.code}]")
                for s in self.stations:
                    self.model.add(apart >= self.at[a.code, s] - self.at[b.code, s])
                self.penalties.append(APART * apart)
                for (code, day, k), turn in self.turn.items():
                    other = self.turn.get((b.code, day, k))
                    if code == a.code and other is not None and self.facts.on(Rule.COVER_ON_SITE):
                        self.model.add_at_most_one(turn, other)

    def _watchable(self) -> None:
        """Each team simulates at least once while another team is free to watch, where there is another."""
        for team in self.teams:
            chances = []
            for (code, day, k), turn in self.turn.items():
                others = [o for o in self.teams if o is not team and day in o.dates]
                if code != team.code or not others:
                    continue
                chance = self.model.new_bool_var(f"chance[{code},{day},{k}]")
                self.model.add_implication(chance, turn)
                self.model.add(chance <= sum(1 - self.turn[o.code, day, k] for o in others))
                chances.append(chance)
            if chances:
                unseen = self.model.new_bool_var(f"unseen[{team.code}]")
                self.model.add(sum(chances) + unseen >= 1)
                self.penalties.append(UNSEEN * unseen)
