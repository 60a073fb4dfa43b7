"""Venues' dates and the visits that they allow, laid down in the programme as trips come to them.

A venue and date to which no trip so far leads has no rows, and visits there no columns: the programme stays as small
as its trips. What their rows would cost is worked out beside it, so that a bound and the worth of new trips count
every visit there could be.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from roundplan.domain.rules import Rule
from roundplan.solver.skeleton.day_clock import Ints
from roundplan.solver.skeleton.demand import Demand
from roundplan.solver.skeleton.exact_columns import UNIT, ExactColumns
from roundplan.solver.skeleton.terrain import Terrain

Key = tuple[int, int]
"""Position of a venue and of a date."""


@dataclass(frozen=True, slots=True)
class FacilityRows:
    """Rows of facilities that visits bear on.

    Attributes
    ----------
    sent, alone, goes : dict
        By facility, the row of its teams, of those without guests where not all can be, and of whether it sends any.
    release : sequence of (row, positions of visits)
        What can be away together.
    kept : sequence of (row, positions of visits)
        Visits of which one must be paid.
    """

    sent: Mapping[str, int]
    alone: Mapping[str, int]
    goes: Mapping[str, int]
    release: Sequence[tuple[int, Sequence[int]]]
    kept: Sequence[tuple[int, Sequence[int]]]


class Openings:
    """Rows of venues and dates, and rows and columns of visits, that some trip makes possible.

    Attributes
    ----------
    room, chair, place : dict
        Rows by venue and date: teams' room, learners' chairs, stations.
    link : dict
        By visit, the row that asks for its session.
    own_column, lent_column, used_column : dict
        By visit, the number of the column of its teams without guests, of those with, and of whether anybody goes.
    """

    def __init__(
        self, terrain: Terrain, demand: Demand, chairs: Mapping[int, Sequence[int]], columns: ExactColumns,
        rows: FacilityRows,
    ) -> None:  # fmt: skip
        self.terrain, self.demand, self.facts = terrain, demand, terrain.facts
        self.chairs, self.columns, self.rows = chairs, columns, rows
        self.dates = {day: index for index, day in enumerate(self.facts.dates)}
        self.venue_of = {venue: index for index, venue in enumerate(terrain.venues)}
        self.room: dict[Key, int] = {}
        self.chair: dict[Key, int] = {}
        self.place: dict[Key, int] = {}
        self.link: dict[int, int] = {}
        self.own_column: dict[int, int] = {}
        self.lent_column: dict[int, int] = {}
        self.used_column: dict[int, int] = {}
        self._taught = {(self.venue_of[v.venue], self.dates[d]) for v in demand.visits for d in v.days}
        self._bearing: dict[int, list[int]] = defaultdict(list)
        for row, together in rows.release:
            for index in together:
                self._bearing[index].append(row)
        self._opened: set[Key] = set()
        self._lent: Mapping[str, int] = {}

    @cached_property
    def visits_of(self) -> dict[Key, list[int]]:
        """By venue and start, the visits that such a session allows."""
        found: dict[Key, list[int]] = defaultdict(list)
        for index, visit in enumerate(self.demand.visits):
            for begin in visit.starts:
                found[self.venue_of[visit.venue], self.dates[begin]].append(index)
        return found

    def open(self, sessions: Sequence[Key]) -> None:
        """Lay down what sessions by venue and start bear on, unless it is there."""
        fresh = [key for key in dict.fromkeys(sessions) if key not in self._opened]
        self._opened.update(fresh)
        programme, days = self.columns.programme, self.terrain.days
        keys = dict.fromkeys((venue, start + k) for venue, start in fresh for k in range(days))
        keys = {key: None for key in keys if key in self._taught and key not in self.room}
        free = not self.facts.on(Rule.VENUE_CAPACITY)
        stations = [self.facts.round.site(self.terrain.venues[venue]).stations + free for venue, _ in keys]
        for table, rights in ((self.room, [0] * len(keys)), (self.chair, [0] * len(keys)), (self.place, stations)):
            table |= dict(zip(keys, programme.add_rows(rights), strict=True))
        visits = dict.fromkeys(v for key in fresh for v in self.visits_of.get(key, ()) if v not in self.link)
        self._add_visits(list(visits))

    def _add_visits(self, visits: Sequence[int]) -> None:
        programme = self.columns.programme
        self.link |= dict(zip(visits, programme.add_rows([0] * len(visits)), strict=True))
        large = [index for index in visits if not self._single(index)]
        size = dict(zip(large, programme.add_rows([0] * len(large)), strict=True))
        columns: list[tuple[int, int, dict[int, int]]] = []
        places: list[tuple[dict[int, int], int]] = []
        for index in visits:
            visit, (teams, use) = self.demand.visits[index], self._entries(index)
            more = {size[index]: 1} if index in size else use
            own, lent = self._limits(index)
            if own:
                places.append((self.own_column, index))
                alone = {row: 1 for code, row in self.rows.alone.items() if code == visit.facility}
                columns.append((0, own, teams | more | alone))
            if lent:
                places.append((self.lent_column, index))
                columns.append((-self._lent.get(visit.facility, 0), lent, teams | more))
            if index in size:
                places.append((self.used_column, index))
                columns.append((0, 1, use | {size[index]: -visit.most}))
        for (table, index), number in zip(places, self.columns.add(columns), strict=True):
            table[index] = number

    def _limits(self, index: int) -> tuple[int, int]:
        """Return the most teams of a visit without guests, and the most with."""
        visit = self.demand.visits[index]
        return visit.own, visit.most if visit.facility in self.rows.alone else visit.most - visit.own

    def _single(self, index: int) -> bool:
        """Whether one column says all of a visit."""
        return self.demand.visits[index].most == 1 and min(self._limits(index)) == 0

    def lend(self, lent: Mapping[str, int]) -> dict[int, int]:
        """Set by facility how much less a team counts that needs guests; returns the weights of its columns."""
        self._lent = lent
        return {n: -lent.get(self.demand.visits[i].facility, 0) for i, n in self.lent_column.items()}

    def _entries(self, index: int) -> tuple[dict[int, int], dict[int, int]]:
        """Return what a team of a visit bears on, and what it does that anybody goes."""
        visit = self.demand.visits[index]
        venue, seats = self.venue_of[visit.venue], self.seats(visit.facility)
        teams: Counter[int] = Counter()
        for day in visit.days:
            teams[self.room[venue, self.dates[day]]] += 1
            teams[self.chair[venue, self.dates[day]]] += seats
        for row in self._bearing[index]:
            teams[row] += 1
        teams[self.rows.sent[visit.facility]] -= 1
        use = {self.link[index]: 1, self.rows.goes[visit.facility]: -1}
        return dict(teams), use | {row: -1 for row, visits in self.rows.kept if index in visits}

    def seats(self, facility: str) -> int:
        """Return the chairs that a team of a facility needs."""
        return len(self.facts.round.facility(facility).usual_team)

    # prices -----------------------------------------------------------------------------------------------------

    def prices(self, duals: Ints) -> tuple[Ints, Ints, Ints, Ints]:
        """Return what sessions are paid and asked at the rows' prices: room, place, chair, visit; shape (V, D) each.

        Where no trip leads so far, room has the price at which a full session just leaves out the visit that gains
        least; each visit that gains more pays the rest. Any prices at which no visit gains anything make a true
        bound; these keep the worth of such sessions near to what they could be worth.
        """
        shape = len(self.terrain.venues), len(self.dates)
        room, place, chair, visit = (np.zeros(shape, dtype=np.int64) for _ in range(4))
        for table, rows in ((room, self.room), (place, self.place), (chair, self.chair)):
            for key, row in rows.items():
                table[key] = duals[row]
        for index, row in self.link.items():
            if duals[row]:
                for key in self._far.keys[index]:
                    visit[key] += duals[row]
        self._price_far(duals, room, chair, visit)
        return room, place, chair, visit

    def _price_far(self, duals: Ints, room: Ints, chair: Ints, visit: Ints) -> None:
        """Price the room of dates without rows, and what visits without columns pay for their session."""
        far = self._far
        shut = np.ones(len(far.most), dtype=bool)
        shut[list(self.link)] = False
        if not shut.any():
            return
        gain, once = far.gains(duals)
        gain = gain - UNIT * far.needy * _array(self._lent.get(v.facility, 0) for v in self.demand.visits)
        without = np.ones(room.shape, dtype=bool)
        if self.room:
            without[tuple(np.array(list(self.room)).T)] = False
        chosen = np.flatnonzero(shut & without[far.venue, far.first] & (gain > 0))
        order = chosen[np.lexsort((-gain[chosen], far.first[chosen], far.venue[chosen]))]
        if len(order):
            group = far.venue[order] * room.shape[1] + far.first[order]
            begins = np.flatnonzero(np.append(True, group[1:] != group[:-1]))
            so_far = np.cumsum(far.most[order])
            before = np.repeat(np.append(0, so_far)[begins], np.diff(np.append(begins, len(order))))
            full = np.flatnonzero(so_far - before > self._full[far.venue[order]])
            marginal = full[np.unique(group[full], return_index=True)[1]]
            room[far.venue[order[marginal]], far.first[order[marginal]]] = gain[order[marginal]]
        asked = far.asked(room, chair)
        rest = np.maximum(once + far.most * np.maximum(gain - asked, 0), 0)
        member = shut[far.start_visit]
        np.add.at(visit, (far.start_venue[member], far.start[member]), rest[far.start_visit[member]])

    @cached_property
    def _full(self) -> Ints:
        """By venue, about the teams of a full date."""
        kinds = range(len(self.terrain.kinds))
        levels = (self.terrain.moves(kind, day).levels.max(initial=0) for day in self.facts.dates for kind in kinds)
        most = max(next((level for level in levels if level > 0), 1), 1)
        return np.array([most * (len(self.chairs[i]) - 1) for i in range(len(self.terrain.venues))], dtype=np.int64)

    @cached_property
    def _far(self) -> VisitArrays:
        return VisitArrays(self)


class VisitArrays:
    """All visits as arrays, with what facilities' rows pay them."""

    def __init__(self, openings: Openings) -> None:
        visits, rows = openings.demand.visits, openings.rows
        venue_of, dates = openings.venue_of, openings.dates
        self.most = _array(v.most for v in visits)
        self.needy = _array(not v.own for v in visits)
        self.venue = _array(venue_of[v.venue] for v in visits)
        self.first = _array(dates[v.days[0]] for v in visits)
        self.seats = _array(openings.seats(v.facility) for v in visits)
        self.sent = _array(rows.sent[v.facility] for v in visits)
        self.goes = _array(rows.goes[v.facility] for v in visits)
        self.release = _pairs(rows.release)
        self.kept = _pairs(rows.kept)
        self.keys = [[(venue_of[v.venue], dates[s]) for s in v.starts] for v in visits]
        self.start_visit = _array(i for i, keys in enumerate(self.keys) for _ in keys)
        self.start_venue = _array(venue for keys in self.keys for venue, _ in keys)
        self.start = _array(start for keys in self.keys for _, start in keys)
        self.day_visit = _array(i for i, v in enumerate(visits) for _ in v.days)
        self.day = _array(dates[d] for v in visits for d in v.days)

    def gains(self, duals: Ints) -> tuple[Ints, Ints]:
        """Return what each team of a visit gains before it pays for room, and what the first gains besides."""
        gain, once = duals[self.sent].copy(), duals[self.goes].copy()
        np.subtract.at(gain, self.release[0], duals[self.release[1]])
        np.add.at(once, self.kept[0], duals[self.kept[1]])
        alone = self.most == 1
        return np.where(alone, gain + once, gain), np.where(alone, 0, once)

    def asked(self, room: Ints, chair: Ints) -> Ints:
        """Return what a team of each visit pays for room and chairs on its dates."""
        paid = np.zeros(len(self.most), dtype=np.int64)
        venue = self.venue[self.day_visit]
        each = room[venue, self.day] + self.seats[self.day_visit] * chair[venue, self.day]
        np.add.at(paid, self.day_visit, each)
        return paid


def _array(values: object) -> Ints:
    return np.fromiter(values, dtype=np.int64)  # type: ignore[call-overload, no-any-return]


def _pairs(rows: Sequence[tuple[int, Sequence[int]]]) -> tuple[Ints, Ints]:
    """Return positions of visits and rows, one pair each."""
    return _array(i for _, visits in rows for i in visits), _array(row for row, visits in rows for _ in visits)
