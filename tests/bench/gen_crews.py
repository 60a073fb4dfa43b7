"""Invented crews: vehicles in the larger towns, the trainers who live round them, the stock in their stores.

Every figure is invented (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from gen_land import Land, Spot
from gen_names import FAMILY, GIVEN

from roundplan.domain.crew import Crew
from roundplan.domain.person import Person
from roundplan.domain.place import Place
from roundplan.domain.role import Lead, PlaceKind, Role
from roundplan.domain.supply import Item, ItemKind, Per, Stock
from roundplan.domain.trainer import Trainer

D, U, N, B = Lead.DIRECTOR, Lead.SURGERY, Lead.ANAESTHESIA, Lead.NEWBORN_CARE
POSTS: tuple[frozenset[Lead], ...] = (
    frozenset({D, U}),
    frozenset({N}),
    frozenset({D, B}),
    frozenset({D, U}),
    frozenset({N, U}),
    frozenset({B, D}),
)
"""What a crew's five or six trainers lead; the first three run one station, four run two."""
TEAMS_A_BOX_DAY = 2
"""Teams that one station has time for on a date, default rules."""
LEADING_ROLE = {U: Role.SURGICAL_PROVIDER, N: Role.ANAESTHETIST, B: Role.NEWBORN_CARE}


@dataclass(frozen=True, slots=True)
class Fleet:
    """Crews with all that belongs to them."""

    crews: tuple[Crew, ...]
    trainers: tuple[Trainer, ...]
    bases: tuple[Place, ...]
    stock: tuple[Stock, ...]


def make_fleet(
    land: Land,
    people: dict[str, tuple[Person, ...]],
    items: tuple[Item, ...],
    crews: int,
    dates: tuple[date, ...],
    teams: int | None,
    rng: Random,
) -> Fleet:
    """Return the crews of a round.

    Parameters
    ----------
    people : dict
        Staff by facility; some of them are trainers too.
    dates : tuple of date
        The round's weekdays.
    teams : int or None
        Teams that the crews have time for if every date is a full session; None = crews are there throughout.
    """
    boxes = [rng.choice((2, 2, 3)) if teams is None else 1 + (number % 4 == 3) for number in range(crews)]
    working = None if teams is None else max(round(teams / (TEAMS_A_BOX_DAY * sum(boxes))), 1)
    towns = larger_towns(land, max(1, -(-crews // 2)))
    bases = tuple(_base(town, number) for number, town in enumerate(towns))
    made: list[Crew] = []
    trainers: list[Trainer] = []
    taken: set[str] = set()
    for number in range(crews):
        base, town = bases[number % len(bases)], towns[number % len(towns)]
        code = f"CREW{number + 1:02d}"
        crew = _crew(code, base, boxes[number], _stretch(number, crews, dates, working), rng)
        made.append(crew)
        homes = [f for f in land.facilities() if f.district == town.district and f.km_to(town) < 30]
        for post in range(5 + number % 2):
            code = f"T{len(trainers) + 1:03d}"
            trainers.append(_trainer(code, post, crew, base, homes, people, taken, dates, rng))
    return Fleet(tuple(made), tuple(trainers), bases, _stock(items, bases, made, dates[0]))


def larger_towns(land: Land, count: int) -> list[Spot]:
    """Return district towns, each the farthest from those before, the first the most central."""
    middle = Spot("", 0.0, 0.0, 0)
    left = sorted(land.hospitals, key=lambda s: (s.km_to(middle), s.code))
    chosen = [left.pop(0)]
    while len(chosen) < min(count, len(land.hospitals)):
        farthest = max(left, key=lambda s: (min(s.km_to(c) for c in chosen), s.code))
        left.remove(farthest)
        chosen.append(farthest)
    return chosen


def _base(town: Spot, number: int) -> Place:
    spot = Spot(f"BASE{number + 1:02d}", town.x + 0.6, town.y - 0.5, town.district)
    return Place(
        code=spot.code,
        name=f"Training store {number + 1}",
        kinds=frozenset({PlaceKind.BASE, PlaceKind.STORE}),
        latitude=spot.latitude,
        longitude=spot.longitude,
    )


def _stretch(number: int, crews: int, dates: tuple[date, ...], working: int | None) -> tuple[date | None, date | None]:
    """Return from when to when a crew is to be had: stretches of so many weekdays, spread over the round."""
    if working is None or working >= len(dates):
        return None, None
    spare = len(dates) - working
    first = spare * number // (crews - 1) if crews > 1 else spare // 2
    return dates[first], dates[first + working - 1]


def _crew(code: str, base: Place, boxes: int, window: tuple[date | None, date | None], rng: Random) -> Crew:
    seats = rng.choice((6, 7, 7, 8))
    return Crew(
        code=code,
        base=base.code,
        seats=seats,
        payload_kg=float(seats * 120 + rng.choice((60, 100, 140))),
        space_l=float(rng.choice((1400, 1500, 1700))),
        box_models=boxes,
        price_per_km=100 * rng.choice((900, 950, 1020)),
        price_per_day=100 * 45000,
        available_from=window[0],
        available_to=window[1],
    )


def _trainer(
    code: str,
    post: int,
    crew: Crew,
    base: Place,
    homes: list[Spot],
    people: dict[str, tuple[Person, ...]],
    taken: set[str],
    dates: tuple[date, ...],
    rng: Random,
) -> Trainer:
    """Return one trainer: the first three of a crew are there throughout, the others for most of the round."""
    home = rng.choice(homes)
    lives_at = base.code if rng.random() < 0.5 else home.code
    west = home.x < 0
    own, other = ("ny", "tum") if west else ("tum", "ny")
    languages = (own, other, "en") if post in (0, 1) or rng.random() < 0.35 else (own, "en")
    window: tuple[date | None, date | None] = (None, None)
    if post >= 3 and rng.random() < 0.5:
        length = round(len(dates) * rng.uniform(0.5, 0.8))
        first = rng.randrange(len(dates) - length + 1)
        window = (dates[first], dates[first + length - 1])
    person = None
    if post >= 2 and rng.random() < 0.3:
        person = _colleague(people[home.code], POSTS[post], taken)
    if person is not None:
        lives_at = home.code
        taken.add(person.code)
    return Trainer(
        code=code,
        name=person.name if person else f"{rng.choice(GIVEN)} {rng.choice(FAMILY)}",
        lives_at=lives_at,
        leads=POSTS[post],
        languages=languages,
        available_from=window[0],
        available_to=window[1],
        nights_away_limit=rng.choice((None, None, 5)) if post >= 2 else None,
        day_price=100 * 48000 if rng.random() < 0.2 else None,
        person=person.code if person else None,
        crew=crew.code if post < 3 else None,
    )


def _colleague(staff: tuple[Person, ...], leads: frozenset[Lead], taken: set[str]) -> Person | None:
    """Return a member of staff whose main role fits what the trainer leads; none from a thin service."""
    fitting = {LEADING_ROLE[lead] for lead in leads if lead in LEADING_ROLE}
    for role in sorted(fitting):
        group = [p for p in staff if p.roles[0] is role and not p.learner and p.code not in taken]
        if len(group) >= 4:
            return group[0]
    return None


def _stock(items: tuple[Item, ...], bases: tuple[Place, ...], crews: list[Crew], first_day: date) -> tuple[Stock, ...]:
    """Return what lies in the stores: kit for every crew, consumables for a week, one delivery under way."""
    found: list[Stock] = []
    for base in bases:
        own = [crew for crew in crews if crew.base == base.code]
        models = sum(crew.box_models for crew in own)
        for item in items:
            number = len(own) if item.per is Per.CREW else models
            if item.kind is ItemKind.REUSABLE:
                quantity = item.quantity * number + item.spare
            else:
                quantity = item.quantity * number * (12 if item.per is Per.PARTICIPANT else 6)
            found.append(Stock(item=item.code, place=base.code, quantity=float(round(quantity))))
    first_item = next(item for item in items if item.kind is ItemKind.CONSUMABLE)
    due = first_day - timedelta(days=10)
    return (*found, Stock(item=first_item.code, place=bases[0].code, quantity=60.0, due=due))
