"""The facilities' half of the brute force: every named seat, every way to travel, cover by exhaustive matching."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import combinations, product

from brute_facts import ONE_DAY, Facts, dates_between

from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.presence import has_roster, present, seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, DutyKind, Include, OnSiteCover, Role, Shift

ShiftKey = tuple[date, Shift]


@dataclass(frozen=True)
class Manner:
    """One way in which people of one facility attend a session."""

    home: str
    away: frozenset[ShiftKey]
    """Shifts in which they are out of reach, or count as if they were."""
    touched: frozenset[ShiftKey]
    dates: frozenset[date]
    dates_away: int
    drive_seconds: int
    money: int
    """Allowances, fares and lodging a person."""
    nights: tuple[tuple[date, str], ...] = ()
    watches: bool = False
    """On site under ``observers``: covers while not seated."""


@dataclass(frozen=True)
class Option:
    """One filled team."""

    seats: tuple[tuple[Role, str | None, bool], ...]
    manners: tuple[tuple[str, Manner], ...]
    """Who attends how."""
    realism: int
    must: int


@dataclass(frozen=True)
class Outcome:
    """What the people's side of a plan amounts to."""

    must: int
    realism: int
    burden: int
    money: int
    slept: tuple[tuple[tuple[date, str], int], ...]
    options: tuple[Option, ...] = field(compare=False)


class PeopleSide:
    """Enumerates seats, ways to travel and cover."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.round = facts.round
        self._cover: dict[object, bool] = {}
        self._hopeless: set[tuple[int, ...]] = set()
        self._manners: dict[object, tuple[Manner, ...]] = {}
        self._options: dict[object, tuple[Option, ...]] = {}

    # --- travelling -------------------------------------------------------------------------------------------------

    def manners(
        self,
        home: str,
        venue: str,
        first: date,
        dates: tuple[date, ...],
        starts: tuple[int, ...],
        ends: tuple[int, ...],
    ) -> tuple[Manner, ...]:
        """Return every way to attend; those that another equals or betters in every respect are left out."""
        key = (home, venue, first, dates, starts, ends)
        if key not in self._manners:
            self._manners[key] = tuple(self._all_manners(*key))
        return self._manners[key]

    def _all_manners(
        self,
        home: str,
        venue: str,
        first: date,
        dates: tuple[date, ...],
        starts: tuple[int, ...],
        ends: tuple[int, ...],
    ) -> Iterator[Manner]:
        near = self.facts.near(home, venue)
        if near:
            yield self._on_site(home, venue, dates)
            return
        simple = list(self._driving(home, venue, dates, starts, ends, False, False))
        if simple:
            yield from simple
            return
        alone = [
            m
            for eve, morrow in ((True, False), (False, True))
            for m in self._driving(home, venue, dates, starts, ends, eve, morrow)
        ]
        yield from alone
        if not alone:
            yield from self._driving(home, venue, dates, starts, ends, True, True)

    def _on_site(self, home: str, venue: str, dates: tuple[date, ...]) -> Manner:
        facility = self.round.facility(home)
        walk = facility.minutes_to_theatre
        far = home != venue or walk is None or walk > self.round.settings.cover.theatre_minutes
        policy = OnSiteCover.NO if far else facility.on_site_cover
        shifts = frozenset((on, Shift.DAY) for on in dates)
        away = shifts if policy is OnSiteCover.NO else frozenset()
        return Manner(home, away, shifts, frozenset(dates), 0, 0, 0, watches=policy is OnSiteCover.OBSERVERS)

    def _driving(
        self, home: str, venue: str, dates: tuple[date, ...], starts: tuple[int, ...], ends: tuple[int, ...],
        eve: bool, morrow: bool,
    ) -> Iterator[Manner]:  # fmt: skip
        travel, facts = self.round.settings.travel, self.facts
        margin = travel.participant_margin
        lodge = self._lodge(venue) if eve or morrow else None
        limit = 3600 * (travel.overnight_limit if eve and morrow else travel.day_limit)
        if (eve or morrow) and lodge is None:
            return
        lodging = eve or morrow
        out_dates = (dates[0] - ONE_DAY,) if eve else dates[:1] if lodging else dates
        back_dates = (dates[-1] + ONE_DAY,) if morrow else dates[-1:] if lodging else dates

        def out(on: date) -> list:
            if eve:
                return list(facts.arriving_by(home, venue, on, 17 * 3600, margin))
            return list(facts.arriving_by(home, venue, on, starts[dates.index(on)], margin))

        def back(on: date) -> list:
            if morrow:
                return list(facts.leaving_from(venue, home, on, 7 * 3600, margin))
            return list(facts.leaving_from(venue, home, on, ends[dates.index(on)], margin))

        for drives in product(*map(out, out_dates), *map(back, back_dates)):
            if any(d.way.seconds > limit for d in drives):
                continue
            outs, backs = drives[: len(out_dates)], drives[len(out_dates) :]
            stays = [
                ((a, o.depart), (b, r.arrive)) for a, o, b, r in zip(out_dates, outs, back_dates, backs, strict=True)
            ]
            nights = dates_between(out_dates[0], back_dates[0] - ONE_DAY) if lodging else ()
            yield self._away(home, stays, drives, tuple((on, lodge) for on in nights if lodge))

    def _away(self, home: str, stays: list, drives: tuple, nights: tuple[tuple[date, str], ...]) -> Manner:
        prices, facility = self.round.settings.prices, self.round.facility(home)
        fare = prices.price("fare_per_km") if facility.transport_price is None else facility.transport_price
        away = frozenset().union(*(self.facts.shifts_touched(*stay) for stay in stays))
        dates = frozenset(on for since, until in stays for on in dates_between(since[0], until[0]))
        money = prices.price("participant_day") * len(dates) + sum(round(d.way.km * fare) for d in drives)
        for _, site in nights:
            own = self.round.site(site).lodging_price
            money += prices.price("participant_night") + (prices.price("lodging") if own is None else own)
        return Manner(home, away, away, dates, len(dates), sum(d.elapsed for d in drives), money, nights)

    def _lodge(self, venue: str) -> str | None:
        if self.round.site(venue).has_lodging:
            return venue
        from roundplan.travel.distance import geodesic_km

        at = self.round.site(venue)
        sites = [s for s in self.round.sites() if s.has_lodging and self.facts.near(s.code, venue)]
        return min(sites, key=lambda s: (geodesic_km(s, at), s.code)).code if sites else None

    # --- seats ------------------------------------------------------------------------------------------------------

    def options(
        self, facility: Facility, venue: str, first: date, dates: tuple[date, ...], starts: tuple, ends: tuple
    ) -> tuple[Option, ...]:
        """Return every way to fill a team, the most real first."""
        key = (facility.code, venue, first, dates, starts, ends)
        teams = self.round.settings.teams
        notice = teams.notice_on_site if self.facts.near(facility.code, venue) else teams.notice_off_site
        if (first - self.round.announce_date()).days < notice:  # guests go by the notice of the team they sit in
            return ()
        if key not in self._options:
            ways = tuple(self.manners(f.code, *key[1:]) for f in self.round.facilities)  # type: ignore[arg-type]
            alike = (facility.code, dates, ways)  # other starts, same consequences: the very same tuple
            if alike not in self._options:
                found = self._fill(
                    facility, dates, dict(zip((f.code for f in self.round.facilities), ways, strict=True))
                )
                self._options[alike] = tuple(sorted(found, key=lambda o: (o.realism, -o.must)))
            self._options[key] = self._options[alike]
        return self._options[key]

    def _fill(
        self, facility: Facility, dates: tuple[date, ...], ways: dict[str, tuple[Manner, ...]]
    ) -> Iterator[Option]:
        if facility.course_days and not all(on in facility.course_days for on in dates):
            return
        usual, teams = facility.usual_team, self.round.settings.teams
        candidates: list[list[Person | None]] = []
        for role in usual:
            fit = [p for p in self.round.people if role in p.roles and self._may(p, dates, ways[p.facility])]
            if teams.guests == 0 and not teams.guests_pooled:
                fit = [p for p in fit if p.facility == facility.code]
            candidates.append(fit + ([] if role in MINIMUM_ROLES else [None]))
        for seated in product(*candidates):
            people = [p for p in seated if p is not None]
            guests = [p for p in people if p.facility != facility.code]
            if len(usual) - len(people) > teams.empty_seats or len({p.code for p in people}) < len(people):
                continue
            if teams.guests_pooled:
                if facility.code != _belongs_to(seated, usual):
                    continue
            elif len(guests) > min(teams.guests, len(people) // 2):
                continue
            yield from self._travelled(facility, usual, seated, people, ways)

    def _travelled(self, facility: Facility, usual: tuple, seated: tuple, people: list, ways: dict) -> Iterator[Option]:
        realism = 4 * sum(p is None for p in seated) + 2 * sum(p.facility != facility.code for p in people)
        realism += sum(p is not None and p.roles[0] is not role for p, role in zip(seated, usual, strict=True))
        must = sum(p.include is Include.MUST for p in people)
        homes = sorted({p.facility for p in people})
        seats = tuple(
            (role, p.code if p else None, bool(p) and p.facility != facility.code)
            for p, role in zip(seated, usual, strict=True)
        )
        for chosen in product(*(ways[home] for home in homes)):
            by_home = dict(zip(homes, chosen, strict=True))
            if all(self._reachable(p, by_home[p.facility]) for p in people):
                yield Option(seats, tuple((p.code, by_home[p.facility]) for p in people), realism, must)

    def _may(self, p: Person, dates: tuple[date, ...], ways: tuple[Manner, ...]) -> bool:
        return bool(ways) and all(seat_obstacle(self.round, p, on) is None for on in dates)

    def _reachable(self, p: Person, manner: Manner) -> bool:
        r = self.round
        return not any(
            r.on_leave(p.code, on)
            or r.located_at(p.code, on) != p.facility
            or any(d.kind is DutyKind.NIGHT for eve in (on, on - ONE_DAY) for d in r.duties_on(p.code, eve))
            for on in manner.dates
        )

    # --- whole plans ------------------------------------------------------------------------------------------------

    def least(self, teams: tuple[tuple[Option, ...], ...]) -> tuple[int, int]:
        """Return the least realism and burden that the teams can have, cover left out."""
        return (
            sum(min(o.realism for o in options) for options in teams),
            sum(min(self._own_burden((o,)) for o in options) for options in teams),
        )

    def outcomes(self, teams: tuple[tuple[Option, ...], ...], better: object) -> Iterator[Outcome]:
        """Yield every lawful way to fill all teams that ``better(must, realism, burden, money)`` lets through."""
        most_must = [max((o.must for o in options), default=0) for options in teams]
        least_realism = [min((o.realism for o in options), default=0) for options in teams]
        everything = tuple(map(id, teams))
        pruned = False
        if everything in self._hopeless:
            return

        def onward(index: int, chosen: tuple[Option, ...]) -> Iterator[Outcome]:
            nonlocal pruned
            must = sum(o.must for o in chosen) + sum(most_must[index:])
            realism = sum(o.realism for o in chosen) + sum(least_realism[index:])
            burden, money = self._own_burden(chosen), self._money(chosen)
            if not better(must, realism, burden, money):  # type: ignore[operator]
                pruned = True
                return
            if index < len(teams):
                again = index > 0 and teams[index] is teams[index - 1]  # like teams: one order of them suffices
                since = teams[index].index(chosen[-1]) if again else 0
                for option in teams[index][since:]:
                    if self._seats_free(chosen, option):
                        yield from onward(index + 1, (*chosen, option))
                return
            thin = self._covered(chosen)
            pruned = pruned or thin is not None
            must = self._named_ones(chosen)
            if thin is not None and better(must, realism, burden + 960 * thin, money):  # type: ignore[operator]
                yield Outcome(must, realism, burden + 960 * thin, money, self._slept(chosen), chosen)

        yield from onward(0, ())
        if not pruned:
            self._hopeless.add(everything)

    def _named_ones(self, chosen: tuple[Option, ...]) -> int:
        """Return how many people whom the manager named have a seat; a second seat makes no second person."""
        people = {code for option in chosen for _, code, _ in option.seats if code is not None}
        return sum(self.round.person(code).include is Include.MUST for code in people)

    def _seats_free(self, chosen: tuple[Option, ...], option: Option) -> bool:
        held = [seat for team in chosen for seat in team.seats if seat[1]]
        for _, code, guest in option.seats:
            if code is None:
                continue
            mine = [seat for seat in held if seat[1] == code]
            if mine:
                own = sum(not seat[2] for seat in mine) + (not guest)
                if not self.round.person(code).second_seat or own > 1 or len(mine) > 1:
                    return False
                dates = dict(option.manners)[code].dates
                if any(dates & dict(team.manners)[code].dates for team in chosen if code in dict(team.manners)):
                    return False
        return True

    def _own_burden(self, chosen: tuple[Option, ...]) -> int:
        total = 0
        for option in chosen:
            for code, manner in option.manners:
                works = self.round.person(code).works_days
                off = [
                    on
                    for on in manner.dates
                    if self.facts.calendar.is_rest_day(on) or (works is not None and on.weekday() not in works)
                ]
                total += 480 * manner.dates_away + 960 * len(off) + manner.drive_seconds // 60
        return total

    def _money(self, chosen: tuple[Option, ...]) -> int:
        return sum(manner.money for option in chosen for _, manner in option.manners)

    def _slept(self, chosen: tuple[Option, ...]) -> tuple[tuple[tuple[date, str], int], ...]:
        counts: dict[tuple[date, str], int] = {}
        for option in chosen:
            for _, manner in option.manners:
                for night in manner.nights:
                    counts[night] = counts.get(night, 0) + 1
        return tuple(sorted(counts.items(), key=str))

    # --- cover ------------------------------------------------------------------------------------------------------

    def _covered(self, chosen: tuple[Option, ...]) -> int | None:
        """Return how many touched facility-shifts are left thin; None if cover fails anywhere."""
        away: dict[ShiftKey, set[str]] = {}
        touched: dict[str, set[ShiftKey]] = {}
        seated: dict[str, list[tuple[ShiftKey, frozenset[str]]]] = {}
        for option in chosen:
            for code, manner in option.manners:
                for shift in manner.away:
                    away.setdefault(shift, set()).add(code)
                touched.setdefault(manner.home, set()).update(manner.touched)
            watching = frozenset(code for code, manner in option.manners if manner.watches)
            for shift in {s for _, manner in option.manners if manner.watches for s in manner.touched}:
                home = next(manner.home for _, manner in option.manners if manner.watches)
                seated.setdefault(home, []).append((shift, watching))
        thin = 0
        for home, shifts in touched.items():
            demands = []
            for shift in sorted(shifts, key=_order):
                there = self._there(home, shift, away)
                demands.append((shift, self._team(home, shift), there))
                thin += any(sum(role in p.cover_roles for p in there) < 2 for role in MINIMUM_ROLES)
            for shift, team in seated.get(home, ()):
                there = [p for p in self._there(home, shift, away) if p.code not in team]
                demands.append((shift, self._team(home, shift), there))
            if not self._kept(home, demands) or not self._referred(home, shifts, away):
                return None
        return thin

    def _there(self, home: str, shift: ShiftKey, away: dict[ShiftKey, set[str]]) -> list[Person]:
        return [p for p in present(self.round, home, *shift) if p.code not in away.get(shift, ())]

    def _team(self, home: str, shift: ShiftKey) -> tuple[Role, ...]:
        team = self.round.keep_team(self.round.facility(home), shift[1])
        spare = self.round.settings.cover.spare_without_roster
        if spare and not has_roster(self.round, home, *shift):
            team = team + MINIMUM_ROLES * spare
        return team

    def _kept(self, home: str, demands: list) -> bool:
        key = (home, tuple((shift, team, tuple(p.code for p in there)) for shift, team, there in demands))
        if key not in self._cover:
            run = self.round.cover_run(self.round.facility(home))
            ordered = sorted(demands, key=lambda d: _order(d[0]))
            self._cover[key] = self._name(ordered, 0, run, {})
        return self._cover[key]

    def _name(self, demands: list, index: int, run: int, named: dict[str, set[int]]) -> bool:
        """Whether the demands from ``index`` on can be named, given the shifts each person is named for so far."""
        if index == len(demands):
            return True
        shift, team, there = demands[index]
        at = _order(shift)
        fresh = [p for p in there if _run(named.get(p.code, set()), at) <= run]
        if len(fresh) < len(team):
            return False
        for group in combinations(fresh, len(team)):
            if matches(team, [p.cover_roles for p in group]):
                later = {code: set(shifts) for code, shifts in named.items()}
                for p in group:
                    later.setdefault(p.code, set()).add(at)
                if self._name(demands, index + 1, run, later):
                    return True
        return False

    def _referred(self, home: str, shifts: set[ShiftKey], away: dict[ShiftKey, set[str]]) -> bool:
        site = self.round.facility(home).refers_to
        if site is None:
            return True
        for shift in shifts:
            facility = self.round.facility(site)
            team = (*self.round.keep_team(facility, shift[1]), Role.ANAESTHETIST, Role.SURGICAL_PROVIDER)
            there = [p.cover_roles for p in self._there(site, shift, away)]
            if not any(matches(team, list(group)) for group in combinations(there, len(team))):
                return False
        return True


def _order(shift: ShiftKey) -> int:
    return 2 * shift[0].toordinal() + (shift[1] is Shift.NIGHT)


def _run(shifts: set[int], at: int) -> int:
    """Return how many consecutive shifts up to ``at`` a person would be named for."""
    length = 1
    while at - length in shifts:
        length += 1
    return length


def matches(roles: tuple[Role, ...], able: list[tuple[Role, ...]]) -> bool:
    """Whether so many people can fill so many roles, one each, by trying every order."""
    if not roles:
        return True
    return any(roles[0] in able[k] and matches(roles[1:], able[:k] + able[k + 1 :]) for k in range(len(able)))


def _belongs_to(seated: tuple[Person | None, ...], usual: tuple[Role, ...]) -> str:
    """Return the facility with most minimum seats of a pooled team; of several the first by code."""
    homes = [p.facility for p, role in zip(seated, usual, strict=True) if p is not None and role in MINIMUM_ROLES]
    return min(homes, key=lambda code: (-homes.count(code), code))
