"""A planner for tiny rounds that tries everything; written from DEVELOPERS.md, apart from solver and audit.

It returns the six tier values of a lexicographically best plan, and the choice behind them. What it leaves out is
left out because something kept is as good in every respect (each place says so). Rounds that use more than it
enumerates raise ``NotCovered``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import combinations_with_replacement, pairwise, product

from brute_crew import CrewSide, Meeting
from brute_facts import ONE_DAY, Facts, NotCovered, day_end
from brute_people import Option, Outcome, PeopleSide

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.place import Site
from roundplan.domain.role import Include, Role, SessionRoom
from roundplan.domain.rules import Aim
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.domain.training_round import TrainingRound


@dataclass(frozen=True)
class Block:
    """A venue and the dates of one session there."""

    venue: str
    dates: tuple[date, ...]


@dataclass(frozen=True)
class Visit:
    """One team of a facility at a session, from the date with that index on."""

    facility: str
    block: Block
    offset: int


@dataclass(frozen=True)
class Setting:
    """How one session is held: stations, who stands where, slots and starts of each date."""

    block: Block
    visits: tuple[Visit, ...]
    station_of: tuple[int, ...]
    slots: tuple[int, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    realism: int

    @property
    def stations(self) -> int:
        """Stations that run."""
        return max(self.station_of) + 1


@dataclass(frozen=True)
class Best:
    """The best plan's values, and what was chosen."""

    values: dict[Aim, int]
    settings: tuple[Setting, ...]
    options: tuple[Option, ...]


class BruteForce:
    """Tries every plan of one tiny round."""

    def __init__(self, training_round: TrainingRound) -> None:
        self.round = training_round
        self.facts = Facts(training_round)
        self.crew = CrewSide(self.facts)
        self.people = PeopleSide(self.facts)
        self._representatives: dict[object, list[int]] = {}
        self._arranged: dict[object, set[tuple[frozenset[int], int]]] = {}
        s = training_round.settings
        if s.session.short_sessions or s.aims.floor_per_district or any(s.aims.give_up.values()):
            raise NotCovered("short sessions, floors, give-up")

    # --- what a plan is made of -------------------------------------------------------------------------------------

    def blocks(self) -> tuple[Block, ...]:
        """Return every venue and stretch of dates at which a session may be held."""
        days = self.round.settings.session.days
        found = []
        for site in self.round.sites():
            if site.stations and getattr(site, "session_room", None) is not SessionRoom.ONLY_THEATRE:
                for first in self.round.settings.round.window:
                    dates = tuple(first + k * ONE_DAY for k in range(days))
                    if all(self.facts.calendar.venue_open(site.code, on) for on in dates):
                        found.append(Block(site.code, dates))
        return tuple(found)

    def skeletons(self) -> Iterator[tuple[Visit, ...]]:
        """Yield every set of teams with the session that each attends; one crew: one session a date."""
        session = self.round.settings.session
        places = [(b, k) for b in self.blocks() for k in range(session.days - session.days_per_team + 1)]
        choices = []
        for f in self.round.facilities:
            visits = [Visit(f.code, block, offset) for block, offset in places]
            choices.append(
                [group for k in range(f.teams_wanted + 1) for group in combinations_with_replacement(visits, k)]
            )
        for picked in product(*choices):
            visits = tuple(v for group in picked for v in group)
            taken = {v.block for v in visits}
            dates = [on for block in taken for on in block.dates]
            if visits and len(dates) == len(set(dates)):
                yield visits

    def coverage(self, visits: tuple[Visit, ...]) -> tuple[int, int]:
        """Return the points of first and of further teams."""
        first = further = 0
        for f in self.round.facilities:
            teams = sum(v.facility == f.code for v in visits)
            first += self.round.weight(f) if teams else 0
            further += sum(self.round.team_points(f, number) for number in range(2, teams + 1))
        return first, further

    # --- how a session is held --------------------------------------------------------------------------------------

    def ways_to_hold(self, block: Block, visits: tuple[Visit, ...]) -> Iterator[Setting]:
        """Yield stations, slots and starts; of starts one for each set of consequences."""
        session, site = self.round.settings.session, self.round.site(block.venue)
        most = min(site.stations, self.crew.crew.box_models, len(visits))
        for station_of in _partitions(len(visits), most):
            stations = max(station_of) + 1
            if stations > 1 and len({v.facility for v in visits if v.facility == block.venue}) < sum(
                v.facility == block.venue for v in visits
            ):
                raise NotCovered("two stations with two teams of the venue's own staff")
            learners = [self._learners(visits, index) for index in range(len(block.dates))]
            if any(n > session.learners_per_station * stations for n in learners):
                if stations == len(visits) < min(site.stations, self.crew.crew.box_models):
                    raise NotCovered("a station without a team, for the learners' sake")
                continue
            sims = [self._simulations(visits, index) for index in range(len(block.dates))]
            least = tuple(self._slots_needed(station_of, counts) for counts in sims)
            kept: list[tuple[tuple[int, ...], int]] = []
            for more in sorted(product(*(range(sum(counts) + 1) for counts in sims)), key=sum):
                slots = tuple(a + b for a, b in zip(least, more, strict=True))
                if any(all(a <= b for a, b in zip(n, slots, strict=True)) and r == 0 for n, r in kept):
                    continue
                realism = self._watching(station_of, sims, slots)
                # a longer day is never better in itself: it must buy realism
                if not any(all(a <= b for a, b in zip(n, slots, strict=True)) and r <= realism for n, r in kept):
                    kept.append((slots, realism))
                    yield from self._timed(block, visits, station_of, slots, realism)

    def _timed(self, block: Block, visits: tuple, station_of: tuple, slots: tuple, realism: int) -> Iterator[Setting]:
        session = self.round.settings.session
        for starts in product(*(self.starts(block, index, n) for index, n in enumerate(slots))):
            ends = tuple(day_end(session, s, n) or 0 for s, n in zip(starts, slots, strict=True))
            yield Setting(block, visits, station_of, slots, starts, ends, realism)

    def _learners(self, visits: tuple[Visit, ...], index: int) -> int:
        days = self.round.settings.session.days_per_team
        there = [v for v in visits if v.offset <= index < v.offset + days]
        return sum(len(self.round.facility(v.facility).usual_team) for v in there)

    def _simulations(self, visits: tuple[Visit, ...], index: int) -> tuple[int, ...]:
        session = self.round.settings.session
        least, more = divmod(session.simulations_per_team, session.days_per_team)
        inside = [index - v.offset for v in visits]
        return tuple(least + (k < more) if 0 <= k < session.days_per_team else 0 for k in inside)

    def _slots_needed(self, station_of: tuple[int, ...], sims: tuple[int, ...]) -> int:
        session, needed = self.round.settings.session, 0
        for station in set(station_of):
            mine = [n for at, n in zip(station_of, sims, strict=True) if at == station and n]
            reserve = session.reserve_slots if len(mine) > 1 else 0
            needed = max(needed, sum(mine) + reserve + (session.demonstrations if mine else 0))
        return needed

    def _watching(self, station_of: tuple[int, ...], sims: list[tuple[int, ...]], slots: tuple[int, ...]) -> int:
        """Return the least penalty for teams nobody observes (2 each) and back-to-back pairs (1 each)."""
        outcomes = {(frozenset[int](), 0)}
        for counts, length in zip(sims, slots, strict=True):
            day = self._days(station_of, counts, length)
            outcomes = {(seen | more, pairs + extra) for seen, pairs in outcomes for more, extra in day}
        return min(2 * (len(station_of) - len(seen)) + pairs for seen, pairs in outcomes)

    def _days(self, station_of: tuple, counts: tuple, length: int) -> set[tuple[frozenset[int], int]]:
        key = (station_of, counts, length)
        if key not in self._arranged:
            self._arranged[key] = self._arrange(*key)
        return self._arranged[key]

    def _arrange(self, station_of: tuple, counts: tuple, length: int) -> set[tuple[frozenset[int], int]]:
        """Return what every arrangement of a day gives: teams observed, back-to-back pairs."""
        session = self.round.settings.session
        rows = []
        for station in sorted(set(station_of)):
            mine = [team for team, at in enumerate(station_of) if at == station for _ in range(counts[team])]
            reserve = session.reserve_slots if len(set(mine)) > 1 else 0
            shown = session.demonstrations if mine else 0
            free = length - shown - reserve
            rows.append(list(_orders(tuple(mine), free - len(mine))))
        found = set()
        present = {team for team, n in enumerate(counts) if n}
        for day in product(*rows):
            width = max(len(row) for row in day)
            columns = [{row[k] for row in day if k < len(row)} for k in range(width)]
            seen = {team for column in columns for team in column if team is not None and present - column}
            pairs = sum(a is not None and a == b for row in day for a, b in pairwise(row))
            found.add((frozenset(seen), pairs))
        return found

    def starts(self, block: Block, index: int, slots: int) -> list[int]:
        """Return one start of each kind: starts with the same consequences for crew and teams are one kind."""
        session = self.round.settings.session
        key = (block, index, slots)
        if key not in self._representatives:
            kinds: dict[object, int] = {}
            for start in range(session.teach_from, session.teach_to, session.start_step):
                end = day_end(session, start, slots)
                if end is not None:
                    kinds.setdefault(self._consequences(block, index, start, end), start)
            self._representatives[key] = list(kinds.values())
        return self._representatives[key]

    def _consequences(self, block: Block, index: int, start: int, end: int) -> object:
        on, count = block.dates[index], len(block.dates)
        fake = Meeting(block.venue, block.dates, (start,) * count, (end,) * count, 1, frozenset(), False, (0,) * count)
        sites = (self.crew.crew.base, *self.crew.beds)
        crew = tuple(self.crew._drives(on, a, b, fake) for a, b in product(sites, sites))
        manners = tuple(
            self.people.manners(f.code, block.venue, block.dates[0], (on,), (start,), (end,))
            for f in self.round.facilities
        )
        return crew, manners

    # --- the search -------------------------------------------------------------------------------------------------

    def best(self) -> Best | None:
        """Return a best plan, or None if no team can be trained."""
        best: Best | None = None
        best_key: tuple[int, ...] | None = None
        must_most = sum(p.include is Include.MUST for p in self.round.people)
        by_bound = sorted(self.skeletons(), key=lambda v: _negative(*self.coverage(v)))
        for visits in by_bound:
            first, further = self.coverage(visits)
            if best_key is not None and (-first, -must_most, -further) > best_key[:3]:
                continue
            for settings in self._held(visits):
                found = self._filled(settings, first, further, best_key)
                if found is not None:
                    best_key, best = found
        return best

    def _held(self, visits: tuple[Visit, ...]) -> list[tuple[Setting, ...]]:
        blocks = sorted({v.block for v in visits}, key=lambda b: b.dates)
        ways = [list(self.ways_to_hold(b, tuple(v for v in visits if v.block == b))) for b in blocks]
        return sorted(product(*ways), key=lambda held: sum(s.realism for s in held))

    def _filled(
        self, settings: tuple[Setting, ...], first: int, further: int, incumbent: tuple[int, ...] | None
    ) -> tuple[tuple[int, ...], Best] | None:
        fixed = sum(s.realism for s in settings)

        def key(must: int, realism: int, burden: int, money: int) -> tuple[int, ...]:
            return (-first, -must, -further, fixed + realism, burden, money)

        must_most = sum(p.include is Include.MUST for p in self.round.people)
        if incumbent is not None and key(must_most, 0, 0, 0) >= incumbent:
            return None
        meetings = tuple(self._meeting(s) for s in settings)
        teams = tuple(self._options(s, v) for s in settings for v in s.visits)
        if not all(teams) or key(must_most, *self.people.least(teams), 0) >= (incumbent or key(0, 10**9, 0, 0)):
            return None
        crew_money = self.crew.cheapest(meetings, {})
        if crew_money is None:
            return None
        best: Best | None = None

        def better(must: int, realism: int, burden: int, money: int) -> bool:
            return incumbent is None or key(must, realism, burden, self._grown(crew_money + money)) < incumbent

        for outcome in self.people.outcomes(teams, better):
            money = self._money(settings, outcome, meetings)
            if money is None:
                continue
            reached = key(outcome.must, outcome.realism, outcome.burden, money)
            if (incumbent is None or reached < incumbent) and self._locked(settings, outcome):
                values = dict(zip(Aim, (first, outcome.must, further, *reached[3:]), strict=True))
                incumbent, best = reached, Best(values, settings, outcome.options)
        return None if best is None or incumbent is None else (incumbent, best)

    def _options(self, s: Setting, visit: Visit) -> tuple[Option, ...]:
        days = slice(visit.offset, visit.offset + self.round.settings.session.days_per_team)
        facility = self.round.facility(visit.facility)
        return self.people.options(
            facility, s.block.venue, s.block.dates[0], s.block.dates[days], s.starts[days], s.ends[days]
        )

    def _meeting(self, s: Setting) -> Meeting:
        homes = [self.round.facility(v.facility) for v in s.visits]
        return Meeting(
            s.block.venue,
            s.block.dates,
            s.starts,
            s.ends,
            s.stations,
            frozenset(self.round.working_language(f) for f in homes),
            any(Role.NEWBORN_CARE in f.usual_team for f in homes),
            tuple(self._learners(s.visits, index) for index in range(len(s.block.dates))),
        )

    # --- money and decisions ----------------------------------------------------------------------------------------

    def _grown(self, money: int) -> int:
        return money + math.ceil(round(self.round.settings.prices.contingency_percent * money, 6) / 100)

    def _money(self, settings: tuple[Setting, ...], outcome: Outcome, meetings: tuple[Meeting, ...]) -> int | None:
        prices = self.round.settings.prices
        crew = self.crew.cheapest(meetings, dict(outcome.slept))
        if crew is None:
            return None
        heads = sum(code is not None for option in outcome.options for _, code, _ in option.seats)
        money = crew + outcome.money
        money += heads * (self.round.settings.session.days_per_team * prices.price("lunch") + prices.price("printing"))
        money += sum(self._venue(self.round.site(s.block.venue)) * len(s.block.dates) for s in settings)
        for item in self.round.items:
            if item.kind is ItemKind.CONSUMABLE:
                bought = self._bought(item, settings, heads)
                if bought is None:
                    return None
                money += bought
        money = self._grown(money)
        return None if prices.cap is not None and money > prices.cap else money

    def _venue(self, site: Site) -> int:
        return self.round.settings.prices.price("venue_day") if site.day_price is None else site.day_price

    def _bought(self, item: Item, settings: tuple[Setting, ...], heads: int) -> int | None:
        counts = {
            Per.STATION: sum(s.stations for s in settings),
            Per.SESSION: len(settings),
            Per.SIMULATION: sum(self._played(s, k) for s in settings for k in range(s.stations)),
            Per.WALL: sum(-(-self._played(s, k) // 2) for s in settings for k in range(s.stations)),
            Per.PARTICIPANT: heads,
        }
        if item.per not in counts or item.wastage_percent or item.quantity % 1 or item.pack_size != 1:
            raise NotCovered(f"item {item.code}: whole units without wastage, packs of one")
        held = sum(row.quantity for row in self.round.stock if row.item == item.code)
        short = item.quantity * counts[item.per] + item.spare - held
        if short <= 0:
            return 0
        return None if item.pack_price is None else round(short) * item.pack_price

    def _played(self, s: Setting, station: int) -> int:
        """Return simulations and demonstrations of a station over a session."""
        session, total = self.round.settings.session, 0
        for index in range(len(s.block.dates)):
            sims = self._simulations(s.visits, index)
            mine = sum(n for at, n in zip(s.station_of, sims, strict=True) if at == station)
            total += mine + (session.demonstrations if mine else 0)
        return total

    def _locked(self, settings: tuple[Setting, ...], outcome: Outcome) -> bool:
        return all(self._occurs(lock, settings, outcome) is (lock.do is Do.KEEP) for lock in self.round.locks)

    def _occurs(self, lock: Lock, settings: tuple[Setting, ...], outcome: Outcome) -> bool:
        visits = [v for s in settings for v in s.visits]
        days = self.round.settings.session.days_per_team

        def fits(block: Block, dates: tuple[date, ...]) -> bool:
            return lock.place in (None, block.venue) and (lock.date is None or lock.date in dates)

        if lock.kind is LockKind.SESSION:
            return any(fits(s.block, s.block.dates) and lock.crew in (None, self.crew.crew.code) for s in settings)
        for visit, option in zip(visits, outcome.options, strict=True):
            if not fits(visit.block, visit.block.dates[visit.offset : visit.offset + days]):
                continue
            seats = [role for role, code, _ in option.seats if code == lock.who]
            if lock.kind in (LockKind.VISIT, LockKind.FACILITY) and visit.facility == lock.who:
                return True
            if lock.kind is LockKind.PERSON and seats:
                return True
            if lock.kind is LockKind.SEAT and seats and lock.role in (None, *seats):
                return True
        return False


def _partitions(teams: int, most: int) -> Iterator[tuple[int, ...]]:
    """Yield every way to spread teams over at most so many like stations."""
    for spread in product(range(most), repeat=teams):
        if all(k in spread[:at] or k == len(set(spread[:at])) for at, k in enumerate(spread)):
            yield spread


def _orders(teams: tuple[int, ...], idle: int) -> Iterator[tuple[int | None, ...]]:
    """Yield every distinct order of simulations and idle slots."""
    if not teams and not idle:
        yield ()
    for team in sorted(set(teams)):
        at = teams.index(team)
        for rest in _orders(teams[:at] + teams[at + 1 :], idle):
            yield (team, *rest)
    if idle:
        for rest in _orders(teams, idle - 1):
            yield (None, *rest)


def _negative(*values: int) -> tuple[int, ...]:
    return tuple(-value for value in values)


def best_plan(training_round: TrainingRound) -> Best | None:
    """Return a lexicographically best plan of a tiny round by trying every plan, or None if there is none."""
    return BruteForce(training_round).best()
