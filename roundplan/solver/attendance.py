"""Ways in which a facility's people can attend a session: on the day, or lodging before or after."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import product

from roundplan.domain.clock import HOUR
from roundplan.domain.facility import Facility
from roundplan.domain.place import Site
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.roadtime import Passage, RoadClock
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.distance import geodesic_km, near

EVE_ARRIVAL = 17 * HOUR
MORROW_DEPARTURE = 7 * HOUR
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Mode:
    """One way to attend from ``dates[0]`` to ``dates[-1]``.

    Attributes
    ----------
    out, back : tuple of Passage
        One a date where people go home each night, else one each; empty near home.
    nights : tuple of date
        Nights lodged, at ``lodging``.
    price : int
        Minor units a person: allowances, fares, lodging.
    travel_seconds : int
        A person's time on the road, breaks included.
    rest_days : int
        Touched dates that are rest days.
    """

    facility: str
    venue: str
    dates: tuple[date, ...]
    before: bool
    after: bool
    is_near: bool
    own_site: bool
    out: tuple[Passage, ...]
    back: tuple[Passage, ...]
    lodging: str | None
    nights: tuple[date, ...]
    price: int
    travel_seconds: int
    rest_days: int

    @property
    def dates_away(self) -> int:
        """Dates on which a person is away."""
        return 0 if self.is_near else len(self.touched_dates)

    @property
    def touched_dates(self) -> tuple[date, ...]:
        """Dates on which a person is away or seated."""
        eve = (self.dates[0] - ONE_DAY,) if self.before else ()
        morrow = (self.dates[-1] + ONE_DAY,) if self.after else ()
        return (*eve, *self.dates, *morrow)

    def out_on(self, day: date) -> Passage | None:
        """Return the drive out on a date of the session, if there is one."""
        if self.before or not self.out:
            return None
        commuting = len(self.out) == len(self.dates)
        if commuting:
            return self.out[self.dates.index(day)]
        return self.out[0] if day == self.dates[0] else None

    def back_on(self, day: date) -> Passage | None:
        """Return the drive back on a date of the session, if there is one."""
        if self.after or not self.back:
            return None
        if len(self.back) == len(self.dates):
            return self.back[self.dates.index(day)]
        return self.back[0] if day == self.dates[-1] else None


class Attendance:
    """Finds the modes for facility, venue and first date."""

    def __init__(
        self, training_round: TrainingRound, roads: RoadClock, calendar: WorkingCalendar, off: frozenset[Rule]
    ) -> None:
        self._round = training_round
        self._settings = training_round.settings
        self._roads = roads
        self._calendar = calendar
        self._off = off
        self._lodging = {site.code: self._lodging_near(site) for site in training_round.sites() if site.stations}

    def lodging_for(self, venue: str) -> str | None:
        """Return the site at which a venue's participants lodge, if any."""
        return self._lodging.get(venue)

    def _lodging_near(self, venue: Site) -> str | None:
        if venue.has_lodging:
            return venue.code
        options = [site for site in self._round.sites() if site.has_lodging and near(site, venue)]
        return min(options, key=lambda s: (geodesic_km(s, venue), s.code)).code if options else None

    def modes(self, facility: Facility, venue: Site, first: date) -> tuple[Mode, ...]:
        """Return every way to attend that no other way makes pointless."""
        dates = tuple(first + k * ONE_DAY for k in range(self._settings.session.days_per_team))
        if near(facility, venue):
            rest = sum(self._calendar.is_rest_day(day) for day in dates)
            return (
                Mode(facility.code, venue.code, dates, False, False, True, facility.code == venue.code, (), (), None,
                     (), 0, 0, rest),
            )  # fmt: skip
        found: list[Mode] = []
        for before, after in product((False, True), repeat=2):
            found += self._travelling(facility, venue, dates, before, after)
        on_the_day = [m for m in found if not m.before and not m.after and self._always_fits(m)]
        return (on_the_day[0],) if on_the_day else tuple(found)

    def _always_fits(self, mode: Mode) -> bool:
        """Whether the drives fit round any teaching day without leaving before the day shift starts."""
        session, cover = self._settings.session, self._settings.cover
        return all(
            p.latest >= 0
            and max(p.earliest, cover.day_from) + p.seconds <= session.teach_from
            and p.latest + p.seconds >= session.teach_from
            for p in mode.out
        ) and all(
            p.latest >= session.teach_to
            and p.earliest <= session.teach_from
            and session.teach_to + p.seconds <= cover.night_from
            for p in mode.back
        )

    def _limits(self, mode_nights: bool) -> float:
        travel = self._settings.travel
        if Rule.PARTICIPANT_TRAVEL in self._off:
            return 24 * HOUR
        return (travel.overnight_limit if mode_nights else travel.day_limit) * HOUR

    def _travelling(
        self, facility: Facility, venue: Site, dates: tuple[date, ...], before: bool, after: bool
    ) -> list[Mode]:
        lodging = self.lodging_for(venue.code)
        overnight = before or after
        if overnight and lodging is None:
            return []
        limit = self._limits(before and after)
        margin = self._settings.travel.participant_margin
        out_dates = (dates[0] - ONE_DAY,) if before else (dates[:1] if overnight else dates)
        back_dates = (dates[-1] + ONE_DAY,) if after else (dates[-1:] if overnight else dates)
        outs = self._drives(facility.code, venue.code, out_dates, margin, limit, eve=before)
        backs = self._drives(venue.code, facility.code, back_dates, margin, limit, morrow=after)
        nights: tuple[date, ...] = ()
        if overnight:
            nights = ((dates[0] - ONE_DAY,) if before else ()) + dates[:-1] + ((dates[-1],) if after else ())
        return [
            self._priced(facility, venue, dates, before, after, out, back, lodging if nights else None, nights)
            for out, back in product(outs, backs)
        ]

    def _drives(
        self, start: str, end: str, dates: tuple[date, ...], margin: int, limit: float, eve: bool = False,
        morrow: bool = False,
    ) -> list[tuple[Passage, ...]]:  # fmt: skip
        """Return, for each alternative way, its passages on all the dates; none if one date fails."""
        options = [
            [p for p in self._roads.passages(start, end, day, margin) if self._usable(p, limit, eve, morrow)]
            for day in dates
        ]
        if not all(options):
            return []
        if len(dates) == 1:
            return [(p,) for p in options[0]]
        return [tuple(day[0] for day in options)]

    @staticmethod
    def _usable(passage: Passage, limit: float, eve: bool, morrow: bool) -> bool:
        if passage.way.seconds > limit:
            return False
        if eve:
            return min(passage.latest, EVE_ARRIVAL - passage.seconds) >= passage.earliest
        return not morrow or max(passage.earliest, MORROW_DEPARTURE) <= passage.latest

    def _priced(
        self, facility: Facility, venue: Site, dates: tuple[date, ...], before: bool, after: bool,
        out: tuple[Passage, ...], back: tuple[Passage, ...], lodging: str | None, nights: tuple[date, ...],
    ) -> Mode:  # fmt: skip
        prices = self._settings.prices
        fare = facility.transport_price if facility.transport_price is not None else prices.price("fare_per_km")
        mode = Mode(facility.code, venue.code, dates, before, after, False, False, out, back, lodging, nights, 0, 0, 0)
        money = prices.price("participant_day") * mode.dates_away + prices.price("participant_night") * len(nights)
        money += sum(round(p.way.km * fare) for p in (*out, *back))
        if lodging is not None:
            money += lodging_price(self._round, lodging) * len(nights)
        return Mode(
            facility.code, venue.code, dates, before, after, False, False, out, back, lodging, nights, money,
            sum(p.seconds for p in (*out, *back)),
            sum(self._calendar.is_rest_day(day) for day in mode.touched_dates),
        )  # fmt: skip


def lodging_price(training_round: TrainingRound, site: str) -> int:
    """Return the price of a person-night at a site, its own or the round's, in minor units."""
    own = training_round.site(site).lodging_price
    return own if own is not None else training_round.settings.prices.price("lodging")
