"""Tiny rounds in which a crew may hold several short sessions on one date, and every plan of them by enumeration.

Four facilities train one team each at home, in sessions of 70 minutes (opening 20, one slot of 40, closing 10) without
lunch; nobody but the crew travels. Set-up takes 30 minutes, pack-up 20, and all drives are whole steps of 5 minutes, so
a crew that starts each session as soon as it can loses nothing. T1 and T2 are the cheapest trainers and suffice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations, pairwise, permutations, product
from typing import Any

from rounds import crew, day, facility, host, place, road, settings, staff, thread, tiny_round

from roundplan.domain.facility import Facility
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.daylight import Daylight

MINUTE, HOUR = 60, 3600
HOURS = {
    ("BASE", "ALFA"): (1.0, 50), ("BASE", "BETA"): (1.5, 75), ("BASE", "GAMA"): (1.0, 52), ("BASE", "DELT"): (1.25, 60),
    ("ALFA", "BETA"): (0.5, 30), ("ALFA", "GAMA"): (0.75, 40), ("ALFA", "DELT"): (0.25, 21),
    ("BETA", "GAMA"): (0.75, 35), ("BETA", "DELT"): (0.5, 20), ("GAMA", "DELT"): (0.5, 25),
}  # fmt: skip
SESSION = 70 * MINUTE
TRAINERS_DAY, DRIVER_DAY, VEHICLE_DAY, LUNCH = 10 + 8, 2, 7, 1
TRAINER_NIGHT, DRIVER_NIGHT, BED = 5, 3, 6
EACH_SESSION = 20 + 3 * (1 + 1) + 2
"""The room 20; three participants' lunch and sheets at 1 each; one simulation's thread at 2."""


def hosts(**more: Any) -> tuple[Facility, ...]:
    """Return the four facilities; ALFA has beds."""
    return (
        host("ALFA", 0.3, 0.3, lodging_price=BED, lodging_beds=20, **more),
        host("BETA", 0.3, 0.6, **more),
        host("GAMA", 0.0, 0.5, **more),
        host("DELT", 0.2, 0.45, **more),
    )


def short_round(dates: int = 2, drivers: int = 1, **sections: dict[str, Any]) -> TrainingRound:
    """Return the round of so many dates with sections of its settings changed."""
    base = {
        "round": {"last_day": day(dates - 1)},
        "session": {"short_sessions": True, "simulations_per_team": 1, "lunch": 0},
        "travel": {"day_limit": 0.0, "overnight_limit": 0.0, "set_up": 30, "pack_up": 20},
        "teams": {"guests": 0},
    }
    changed = {name: base.get(name, {}) | sections.get(name, {}) for name in {*base, *sections}}
    four = hosts()
    return tiny_round(
        settings=settings(**changed),
        facilities=four,
        people=sum((staff(f.code) for f in four), ()),
        places=(place("BASE", 0.0, 0.0),),
        roads=tuple(road(a, b, *entered) for (a, b), entered in HOURS.items()),
        crews=(crew(drivers=drivers),),
        items=(thread(),),
    )


def visited_round(**more: Any) -> TrainingRound:
    """Return a round in which GAMA and DELT cannot host and send their teams to ALFA and BETA, guests allowed."""
    four = hosts()
    sending = (facility("GAMA", 0.0, 0.5), facility("DELT", 0.2, 0.45))
    base = short_round(session={"lunch": 30}, travel={"day_limit": 2.0}, teams={"guests": 1}, **more)
    return base.replace(facilities=(*four[:2], *sending))


def drive(a: str, b: str) -> tuple[int, int]:
    """Return seconds and kilometres of a drive."""
    if a == b:
        return 0, 0
    hours, km = HOURS.get((a, b)) or HOURS[b, a]
    return round(hours * HOUR), km


@dataclass(frozen=True)
class ShortBest:
    """The most first teams, and the least that a plan with so many costs."""

    teams: int
    cost: int


class ShortBrute:
    """Tries every order of facilities on every date, with a night at the base or at ALFA between two dates."""

    def __init__(self, training_round: TrainingRound) -> None:
        self.settings = training_round.settings
        self.crew = training_round.crews[0]
        self.sun = Daylight(training_round)
        self.dates = tuple(self.settings.round.window)

    def best(self) -> ShortBest:
        """Return the best plan's values."""
        found = [
            (len(orders_of(chosen)), self._cost(chosen, nights))
            for chosen in self._shares(("ALFA", "BETA", "GAMA", "DELT"), len(self.dates))
            for nights in product(("BASE", "ALFA"), repeat=len(self.dates) - 1)
            if self._possible(chosen, ("BASE", *nights, "BASE"))
        ]
        most = max(teams for teams, _ in found)
        return ShortBest(most, min(cost for teams, cost in found if teams == most))

    def _shares(self, left: Sequence[str], dates: int) -> Iterator[tuple[tuple[str, ...], ...]]:
        """Yield an order of facilities for each date, none twice."""
        if dates == 0:
            yield ()
            return
        for size in range(len(left) + 1):
            for some in combinations(left, size):
                for rest in self._shares([code for code in left if code not in some], dates - 1):
                    for order in permutations(some):
                        yield (order, *rest)

    def _possible(self, chosen: Sequence[tuple[str, ...]], sleeps: Sequence[str]) -> bool:
        rows = zip(self.dates, chosen, sleeps, sleeps[1:], strict=False)
        return all(self._fits(on, order, start, end) for on, order, start, end in rows)

    def _fits(self, on: date, order: Sequence[str], start: str, end: str) -> bool:
        """Whether a date can be driven and taught, each session as early as it can be."""
        if not order:
            seconds, _ = drive(start, end)
            return self._by_driver([seconds])
        session, travel = self.settings.session, self.settings.travel
        stops = (start, *order, end)
        legs = [drive(a, b)[0] for a, b in pairwise(stops)]
        sunrise = -(-self.sun.sunrise(start, on) // MINUTE) * MINUTE
        free, begun = (sunrise if legs[0] else 0), 0
        for number, venue in enumerate(order):
            ready = free + legs[number] + travel.set_up * MINUTE
            clock = max(session.teach_from, -(-ready // 300) * 300)
            if number == 0:
                begun = clock - travel.set_up * MINUTE - legs[0]
            if legs[number] and clock - travel.set_up * MINUTE > self._dark(venue, on, legs[number]):
                return False
            if clock + SESSION > session.teach_to:
                return False
            free = clock + SESSION + travel.pack_up * MINUTE
        home = free + legs[-1]
        in_light = not legs[-1] or home <= self._dark(end, on, legs[-1])
        return in_light and home - begun <= travel.duty_day * HOUR and self._by_driver(legs)

    def _dark(self, site: str, on: date, wheel: int) -> int:
        margin = self.settings.travel.crew_margin * MINUTE if wheel > 15 * MINUTE else 0
        return (self.sun.sunset(site, on) - margin) // MINUTE * MINUTE

    def _by_driver(self, legs: Sequence[int]) -> bool:
        most = self.settings.travel.wheel_hours * HOUR
        return any(
            all(sum(s for s, d in zip(legs, dealt, strict=True) if d == n) <= most for n in range(self.crew.drivers))
            for dealt in product(range(self.crew.drivers), repeat=len(legs))
        )

    def _cost(self, chosen: Sequence[tuple[str, ...]], nights: Sequence[str]) -> int:
        sleeps, drivers = ("BASE", *nights, "BASE"), self.crew.drivers
        cost = EACH_SESSION * len(orders_of(chosen))
        for order, start, end in zip(chosen, sleeps, sleeps[1:], strict=False):
            stops = (start, *order, end)
            cost += sum(drive(a, b)[1] for a, b in pairwise(stops))
            if order or start != "BASE" or end != "BASE":
                cost += VEHICLE_DAY + DRIVER_DAY * drivers
            if order:
                cost += TRAINERS_DAY + LUNCH * (2 + drivers)
            if end != "BASE":
                cost += (DRIVER_NIGHT + BED) * drivers + (2 * (TRAINER_NIGHT + BED) if order else 0)
        return cost


def orders_of(chosen: Sequence[tuple[str, ...]]) -> list[str]:
    """Return all facilities trained."""
    return [code for order in chosen for code in order]
