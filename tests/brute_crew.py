"""The crew's half of the brute force: every path of one crew, every set of trainers aboard, the cheapest of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import product

from brute_facts import ONE_DAY, Facts, NotCovered

from roundplan.domain.role import Lead, Weekend
from roundplan.domain.trainer import Trainer


@dataclass(frozen=True)
class Meeting:
    """One session as its crew sees it."""

    venue: str
    dates: tuple[date, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    stations: int
    languages: frozenset[str]
    newborn: bool
    learners: tuple[int, ...]


@dataclass(frozen=True)
class DayOut:
    """One date of a crew's path."""

    on: date
    morning: str
    evening: str
    meeting: Meeting | None
    legs: int
    money: int


@dataclass(frozen=True)
class Aboard:
    """One way in which a trainer serves in a round."""

    trainer: Trainer
    dates: frozenset[date]
    money: int
    away: frozenset[date]
    """Nights spent with the crew away from home."""


class CrewSide:
    """Prices the cheapest lawful tour of the crew through given sessions."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.round = facts.round
        self.crew = facts.round.crews[0]
        if len(facts.round.crews) != 1 or any(t.person for t in facts.round.trainers):
            raise NotCovered("one crew, trainers who are no facility staff")
        if any(i.unit_weight_kg or i.unit_volume_l for i in facts.round.items):
            raise NotCovered("items without weight")
        sites = self.round.sites()
        self.beds = [s.code for s in sites if s.has_lodging and s.code != self.crew.base]
        self._tours: dict[object, int | None] = {}
        self._days: dict[object, list[DayOut]] = {}
        self._teaching: dict[object, bool] = {}

    def cheapest(self, meetings: tuple[Meeting, ...], slept: dict[tuple[date, str], int]) -> int | None:
        """Return the least money for crew and trainers, or None if no lawful tour exists.

        ``slept`` counts participants who lodge, by night and site; a site's beds are shared with them.
        """
        short = {
            key: people for key, people in slept.items() if self.round.site(key[1]).lodging_beds is not None
        }  # fmt: skip
        if any(people > (self.round.site(site).lodging_beds or 0) for (_, site), people in short.items()):
            return None
        key = (meetings, frozenset(short.items()))
        if key not in self._tours:
            self._tours[key] = self._search(meetings, short)
        return self._tours[key]

    def _search(self, meetings: tuple[Meeting, ...], slept: dict[tuple[date, str], int]) -> int | None:
        best: int | None = None
        if not all(self._teachable(m) for m in meetings):
            return None
        for path in sorted(self._paths(meetings), key=lambda p: sum(d.money for d in p)):
            money = sum(d.money for d in path)
            if best is not None and money >= best:
                break
            crewed = self._trainers(path, slept, None if best is None else best - money)
            if crewed is not None and (best is None or money + crewed < best):
                best = money + crewed
        return best

    def _paths(self, meetings: tuple[Meeting, ...]) -> Iterator[tuple[DayOut, ...]]:
        taught = {on: m for m in meetings for on in m.dates}
        window = list(self.round.settings.round.window)

        def onward(index: int, at: str, path: tuple[DayOut, ...]) -> Iterator[tuple[DayOut, ...]]:
            if index == len(window):
                if at == self.crew.base:
                    yield path
                return
            on = window[index]
            if at == self.crew.base and on not in taught:
                yield from onward(index + 1, at, path)
            for step in self._steps(on, at, taught.get(on)):
                yield from onward(index + 1, step.evening, (*path, step))

        return onward(0, self.crew.base, ())

    def _steps(self, on: date, at: str, meeting: Meeting | None) -> list[DayOut]:
        key = (on, at, meeting)
        if key not in self._days:
            found = []
            if self._works(on):
                for evening in (self.crew.base, *self.beds):
                    drives = self._drives(on, at, evening, meeting)
                    if drives is not None and (drives[0] or meeting or at != self.crew.base):
                        legs, money = drives
                        money += self._day_money(meeting, evening)
                        if self._rest_fits(on, legs, meeting, evening):
                            found.append(DayOut(on, at, evening, meeting, legs, money))
            self._days[key] = found
        return self._days[key]

    def _works(self, on: date) -> bool:
        first, last = self.crew.available_from or date.min, self.crew.available_to or date.max
        return first <= on <= last and not self.round.on_leave(self.crew.code, on)

    def _rest_fits(self, on: date, legs: int, meeting: Meeting | None, evening: str) -> bool:
        weekend = self.round.settings.trainers.weekend
        if not self.facts.calendar.is_rest_day(on) or weekend is Weekend.EITHER:
            return True
        if weekend is Weekend.AWAY:
            return legs == 0
        return legs == 0 and meeting is None and evening == self.crew.base

    def _day_money(self, meeting: Meeting | None, evening: str) -> int:
        prices, drivers = self.round.settings.prices, self.crew.drivers
        money = self.crew.price_per_day + drivers * prices.price("driver_day")
        if meeting:
            money += drivers * prices.price("lunch")
        if evening != self.crew.base:
            money += drivers * (prices.price("driver_night") + self.bed_price(evening))
        return money

    def bed_price(self, site: str) -> int:
        """Return the price of a person-night."""
        own = self.round.site(site).lodging_price
        return self.round.settings.prices.price("lodging") if own is None else own

    def _drives(self, on: date, at: str, evening: str, meeting: Meeting | None) -> tuple[int, int] | None:
        """Return number and price of the date's legs, or None if they cannot be driven."""
        travel = self.round.settings.travel
        per_km, margin = self.crew.price_per_km, travel.crew_margin
        near = self.facts.near
        if meeting is None:
            if near(at, evening):
                return (0, 0) if at == evening else None
            trips = list(self.facts.leaving_from(at, evening, on, 0, margin))
            prices = [round(t.way.km * per_km) for t in trips if self._lawful([t], t.depart, t.arrive)]
            return (1, min(prices)) if prices else None
        index = meeting.dates.index(on)
        ready = meeting.starts[index] - (60 * travel.set_up if index == 0 else 0)
        free = meeting.ends[index] + (60 * travel.pack_up if on == meeting.dates[-1] else 0)
        out = [None] if near(at, meeting.venue) else [*self.facts.arriving_by(at, meeting.venue, on, ready, margin)]
        back = (
            [None]
            if near(meeting.venue, evening)
            else [*self.facts.leaving_from(meeting.venue, evening, on, free, margin)]
        )
        prices = []
        for pair in product(out, back):
            legs = [leg for leg in pair if leg]
            begin, finish = pair[0].depart if pair[0] else ready, pair[1].arrive if pair[1] else free
            if self._lawful(legs, begin, finish):
                prices.append((len(legs), sum(round(leg.way.km * per_km) for leg in legs)))
        return min(prices, key=lambda p: p[1], default=None)

    def _lawful(self, legs: list, begin: int, finish: int) -> bool:
        travel = self.round.settings.travel
        wheel = [leg.way.seconds for leg in legs]
        most = travel.wheel_hours * 3600
        at_wheel = max(wheel, default=0) if self.crew.drivers > 1 else sum(wheel)
        return at_wheel <= most and finish - begin <= travel.duty_day * 3600

    def _teachable(self, meeting: Meeting) -> bool:
        """Whether the venue and the whole pool of trainers could ever hold the session."""
        everybody = tuple(self.round.trainers)
        if meeting not in self._teaching:
            self._teaching[meeting] = self._staffed(meeting, everybody)
        return self._teaching[meeting]

    def _trainers(self, path: tuple[DayOut, ...], slept: dict, budget: int | None) -> int | None:
        best, found = budget, None

        def choose(index: int, options: tuple[tuple[Aboard, ...], ...]) -> None:
            nonlocal best, found
            if not all(options) or (best is not None and sum(min(o.money for o in own) for own in options) >= best):
                return
            if index == len(path):
                chosen = tuple(min(own, key=lambda o: o.money) for own in options)
                if self._fits(path, chosen, slept):
                    best = found = sum(c.money for c in chosen)
                return
            step = path[index]
            for mask in product((False, True), repeat=len(options)):
                here = tuple(t for t, taken in zip(self.round.trainers, mask, strict=True) if taken)
                if step.meeting is None or self._staffed(step.meeting, here):
                    kept = (
                        tuple(o for o in own if (step.on in o.dates) is taken)
                        for own, taken in zip(options, mask, strict=True)
                    )
                    choose(index + 1, tuple(kept))

        choose(0, tuple(tuple(self._services(t, path)) for t in self.round.trainers))
        return found

    def _fits(self, path: tuple[DayOut, ...], chosen: tuple[Aboard, ...], slept: dict) -> bool:
        settings, crew = self.round.settings, self.crew
        travel = settings.travel
        whole: dict[Meeting, list[set[str]]] = {}
        for step in path:
            here = [c.trainer for c in chosen if step.on in c.dates]
            people = len(here) + crew.drivers
            if people > crew.seats or people * (travel.person_kg + travel.luggage_kg) > crew.payload_kg * (
                1 - travel.payload_reserve
            ):
                return False
            if step.evening != crew.base:
                beds = self.round.site(step.evening).lodging_beds
                away = sum(step.on in c.away for c in chosen)
                if beds is not None and away + crew.drivers + slept.get((step.on, step.evening), 0) > beds:
                    return False
            if step.meeting:
                whole.setdefault(step.meeting, []).append({t.code for t in here})
                if not self._room(step.meeting, step.on, len(here)):
                    return False
        return all(
            self._led(m, tuple(t for t in self.round.trainers if all(t.code in day for day in days)))
            for m, days in whole.items()
        )

    def _room(self, meeting: Meeting, on: date, trainers: int) -> bool:
        session, site = self.round.settings.session, self.round.site(meeting.venue)
        limit = site.room_limit if site.room_limit is not None else session.room_limit * meeting.stations
        learners = meeting.learners[meeting.dates.index(on)]
        return learners + trainers + session.volunteers_per_station * meeting.stations <= limit

    def _staffed(self, meeting: Meeting, trainers: tuple[Trainer, ...]) -> bool:
        enough = len(trainers) >= self.round.settings.trainers.per_station * meeting.stations
        return enough and self._led(meeting, trainers)

    def _led(self, meeting: Meeting, trainers: tuple[Trainer, ...]) -> bool:
        if not all(any(tongue in t.languages for t in trainers) for tongue in meeting.languages):
            return False
        needs = [Lead.DIRECTOR] * meeting.stations + [Lead.ANAESTHESIA, Lead.SURGERY]
        needs += [Lead.NEWBORN_CARE] if meeting.newborn else []

        def fill(index: int, held: tuple[tuple[Lead, str], ...]) -> bool:
            if index == len(needs):
                return True
            lead = needs[index]
            for t in trainers:
                mine = [other for other, code in held if code == t.code]
                both = lead is Lead.SURGERY and mine == [Lead.DIRECTOR]
                if lead in t.leads and (not mine or both) and fill(index + 1, (*held, (lead, t.code))):
                    return True
            return False

        return fill(0, ())

    def _services(self, t: Trainer, path: tuple[DayOut, ...]) -> list[Aboard]:
        """Return every way in which a trainer can serve along a path, none at all included."""
        days = {step.on: step for step in path if self._trainer_free(t, step.on)}
        if t.crew not in (None, self.crew.code):
            days = {}
        found = {}
        for mask in product((False, True), repeat=len(days)):
            dates = frozenset(on for on, taken in zip(days, mask, strict=True) if taken)
            # to part wherever one can saves nights, beds and money alike, so one way for each set of dates will do
            best = min(self._stretches(t, sorted(dates), days), key=lambda way: (len(way[1]), way[0]), default=None)
            if best is not None:
                found[dates] = best
        return [Aboard(t, dates, money, away) for dates, (money, away) in found.items()]

    def _trainer_free(self, t: Trainer, on: date) -> bool:
        first, last = t.available_from or date.min, t.available_to or date.max
        return first <= on <= last and not self.round.on_leave(t.code, on)

    def _stretches(
        self, t: Trainer, dates: list[date], days: dict[date, DayOut]
    ) -> Iterator[tuple[int, frozenset[date]]]:
        """Yield the money and nights of every lawful way to cut the dates into stretches."""
        settings = self.round.settings
        day_price = settings.prices.price("trainer_day") if t.day_price is None else t.day_price
        nights_most = settings.trainers.nights_limit if t.nights_away_limit is None else t.nights_away_limit
        worked = [on for on in dates if days[on].legs or days[on].meeting]
        if _longest_run(worked) > settings.trainers.days_in_a_row:
            return
        money = day_price * len(dates) + settings.prices.price("lunch") * sum(bool(days[on].meeting) for on in dates)
        links = [
            on for on in dates if on + ONE_DAY in dates and days[on].evening != self.crew.base
        ]  # fmt: skip
        for kept in product((True, False), repeat=len(links)):
            slept = [on for on, stays in zip(links, kept, strict=True) if stays]
            joins = [on for on in dates if on - ONE_DAY not in slept]
            leaves = [on for on in dates if on not in slept]
            if not all(self._joins(t, days[on]) for on in joins) or not all(self._leaves(t, days[on]) for on in leaves):
                continue
            away = [on for on in slept if not self.facts.near(t.lives_at, days[on].evening)]
            if _longest_run(away) <= nights_most:
                night = settings.prices.price("trainer_night")
                yield money + sum(night + self.bed_price(days[on].evening) for on in away), frozenset(away)

    def _joins(self, t: Trainer, step: DayOut) -> bool:
        """Whether the trainer can come aboard before the date's session, or at any time on a date without."""
        return self._at_home(t, (step.morning, step.meeting.venue if step.meeting else step.evening))

    def _leaves(self, t: Trainer, step: DayOut) -> bool:
        """Whether the trainer can leave after the date's session, or at any time on a date without."""
        return self._at_home(t, (step.meeting.venue if step.meeting else step.morning, step.evening))

    def _at_home(self, t: Trainer, places: tuple[str, ...]) -> bool:
        return any(self.facts.near(a, b) for a in places for b in (t.lives_at, self.crew.base))


def _longest_run(dates: list[date]) -> int:
    best = run = 0
    for on in dates:
        run = run + 1 if on - ONE_DAY in dates else 1
        best = max(best, run)
    return best
