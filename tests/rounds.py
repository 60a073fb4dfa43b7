"""Builders of tiny training rounds, written in code; every figure is invented so that sums can be done by hand.

The base round: Monday 1 to Thursday 4 June 2026 on the equator (sun from about 05:54 to 18:01 UTC), a base, two
facilities (ALFA hosts one station and has beds, BETA hosts nothing) with two people a role, one crew, four trainers
who live at the base. A team runs two simulations in slots of 40 minutes, so a day with one team lasts 110 minutes.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from roundplan.domain.crew import Crew
from roundplan.domain.facility import Facility
from roundplan.domain.person import Person
from roundplan.domain.place import Place, Road
from roundplan.domain.role import MINIMUM_ROLES, Lead, PlaceKind, Role, SessionRoom
from roundplan.domain.settings import PriceSettings, RoundSettings, SessionSettings, Settings
from roundplan.domain.supply import Case, Item, ItemKind, Per
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound

MONDAY = date(2026, 6, 1)
P, A, N = MINIMUM_ROLES
"""Surgical provider, surgical assistant, anaesthetist."""
LETTERS = {"P": P, "A": A, "N": N, "S": Role.SCRUB, "C": Role.CIRCULATING, "B": Role.NEWBORN_CARE}


def day(number: int) -> date:
    """Return the date so many days after Monday 1 June 2026."""
    return MONDAY + timedelta(days=number)


def facility(code: str, latitude: float, longitude: float, **more: Any) -> Facility:
    """Return a facility that wants one minimum team and cannot host."""
    base: dict[str, Any] = {"name": code.title(), "district": "Midland", "teams_wanted": 1, "usual_team": MINIMUM_ROLES}
    return Facility(code=code, latitude=latitude, longitude=longitude, **base | more)


def host(code: str, latitude: float, longitude: float, **more: Any) -> Facility:
    """Return a facility with one station in a spare room three minutes from theatre."""
    base: dict[str, Any] = {"stations": 1, "session_room": SessionRoom.SPARE_ROOM, "minutes_to_theatre": 3}
    return facility(code, latitude, longitude, **base | more)


def place(code: str, latitude: float, longitude: float, *kinds: PlaceKind, **more: Any) -> Place:
    """Return a place that is no facility."""
    kinds = kinds or (PlaceKind.BASE, PlaceKind.STORE)
    base: dict[str, Any] = {"name": code.title(), "kinds": frozenset(kinds)}
    return Place(code=code, latitude=latitude, longitude=longitude, **base | more)


def hall(code: str, latitude: float, longitude: float, **more: Any) -> Place:
    """Return a place that hosts one station."""
    return place(code, latitude, longitude, PlaceKind.VENUE, **{"stations": 1} | more)


def person(code: str, home: str, *roles: Role, **more: Any) -> Person:
    """Return a member of staff who covers the roles they are authorised for."""
    return Person(code=code, name=code, facility=home, roles=roles, **{"cover_roles": roles} | more)


def staff(home: str, letters: str = "PPAANN", **more: Any) -> tuple[Person, ...]:
    """Return staff of one role each: ``PPA`` makes CODE-P1, CODE-P2 and CODE-A1."""
    counts: dict[str, int] = {}
    people = []
    for letter in letters:
        counts[letter] = counts.get(letter, 0) + 1
        people.append(person(f"{home}-{letter}{counts[letter]}", home, LETTERS[letter], **more))
    return tuple(people)


def varied(people: Iterable[Any], code: str, **changes: Any) -> tuple[Any, ...]:
    """Return the rows with the one of that code changed."""
    rows = tuple(people)
    if code not in {row.code for row in rows}:
        raise KeyError(code)
    return tuple(dataclasses.replace(row, **changes) if row.code == code else row for row in rows)


def trainer(code: str, leads: str, **more: Any) -> Trainer:
    """Return a trainer of the base; leads by letter: d(irector), s(urgery), a(naesthesia), n(ewborn care)."""
    letters = {"d": Lead.DIRECTOR, "s": Lead.SURGERY, "a": Lead.ANAESTHESIA, "n": Lead.NEWBORN_CARE}
    base: dict[str, Any] = {"name": code, "lives_at": "BASE", "languages": ("en",)}
    return Trainer(code=code, leads=frozenset(letters[letter] for letter in leads), **base | more)


def crew(code: str = "CREW", **more: Any) -> Crew:
    """Return a crew of the base with room for five passengers and two box models."""
    base: dict[str, Any] = {"base": "BASE", "seats": 6, "payload_kg": 2000.0, "box_models": 2}
    return Crew(code=code, **base | {"price_per_km": 1, "price_per_day": 7} | more)


def road(start: str, end: str, hours: float, km: float, **more: Any) -> Road:
    """Return a road with entered hours."""
    return Road(start=start, end=end, hours=hours, km=km, **more)


def settings(base: Settings | None = None, **sections: dict[str, Any]) -> Settings:
    """Return the tiny round's settings with keys changed: ``settings(cover={"run": 3})``."""
    changed = base or tiny_settings()
    for name, keys in sections.items():
        group = dataclasses.replace(getattr(changed, name), **keys)
        changed = dataclasses.replace(changed, **{name: group})
    return changed


def tiny_settings() -> Settings:
    """Return short slots, whole prices, four dates, and two months between announcement and start."""
    return Settings(
        round=RoundSettings(
            name="Tiny", first_day=MONDAY, last_day=day(3), plan_date=date(2026, 4, 1), announce_on=date(2026, 4, 1)
        ),
        session=SessionSettings(
            opening=20, brief=5, simulate=10, debrief=15, reset=10, lunch=30, closing=10, simulations_per_team=2
        ),
        prices=PriceSettings(
            participant_day=3,
            participant_night=4,
            trainer_day=10,
            trainer_night=5,
            driver_day=2,
            driver_night=3,
            fare_per_km=1,
            lunch=1,
            venue_day=20,
            lodging=6,
            printing=1,
        ),
    )


def thread(quantity: float = 1, per: Per = Per.SIMULATION, **more: Any) -> Item:
    """Return a consumable in packs of one, without wastage, two a pack price."""
    base: dict[str, Any] = {"name": "Thread", "unit": "piece", "pack_price": 2, "lead_days": 5}
    return Item(code="THREAD", kind=ItemKind.CONSUMABLE, per=per, quantity=quantity, **base | more)


CASES = tuple(Case(code=f"C{n}", name=f"Case {n}", stop_rule="on the stop word") for n in range(1, 5))
TRAINERS = (
    trainer("T1", "ds", day_price=10),
    trainer("T2", "a", day_price=8),
    trainer("T3", "dsn", day_price=12),
    trainer("T4", "an", day_price=9),
)
ROADS = (
    road("BASE", "ALFA", 1.0, 50),
    road("BASE", "BETA", 1.5, 75),
    road("ALFA", "BETA", 0.5, 30),
)


def tiny_round(**changes: Any) -> TrainingRound:
    """Return the base round with whole tables changed."""
    tables: dict[str, Any] = {
        "settings": tiny_settings(),
        "facilities": (host("ALFA", 0.3, 0.3, lodging_price=6, lodging_beds=20), facility("BETA", 0.3, 0.6)),
        "people": staff("ALFA") + staff("BETA"),
        "trainers": TRAINERS,
        "places": (place("BASE", 0.0, 0.0),),
        "crews": (crew(),),
        "roads": ROADS,
        "items": (thread(),),
        "cases": CASES,
    }
    return TrainingRound(**tables | changes)
