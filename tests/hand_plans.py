"""A plan written by hand for the tests of supplies and costs, small enough to count on paper.

One crew, one trip of two dates, one session at ALFA: on Monday a demonstration and ALFA's team with two simulations,
on Tuesday a demonstration and BETA's team with two. BETA's three people drive over on Monday, sleep at ALFA, and drive
home on Tuesday. T3 lives at ALFA, the other trainers at the base.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from datetime import date
from typing import Any

from rounds import MINIMUM_ROLES, crew, day, settings, thread, tiny_round, trainer

from roundplan.domain.plan import (
    Aboard,
    CrewDay,
    Drive,
    Leg,
    Outing,
    Plan,
    Seat,
    Session,
    SessionDay,
    Slot,
    SlotKind,
    Station,
    Team,
    Trip,
)
from roundplan.domain.supply import Item
from roundplan.domain.training_round import TrainingRound

MON, TUE = day(0), day(1)
HOUR = 3600
SHOWN = {"s": SlotKind.SIMULATION, "d": SlotKind.DEMONSTRATION, "r": SlotKind.RESERVE}


def drive(start: str, end: str, on: date, km: float) -> Drive:
    """Return a drive of one hour from 07:00."""
    return Drive(
        date=on, start=start, end=end, depart=7 * HOUR, arrive=8 * HOUR, drive_seconds=HOUR, km=km, source="entered"
    )


def slots(letters: str, on: date, station: int = 1) -> tuple[Slot, ...]:
    """Return slots by letter: d(emonstration), s(imulation), r(eserve), 40 minutes each from 09:00."""
    return tuple(
        Slot(
            date=on,
            station=station,
            number=number,
            start=9 * HOUR + 2400 * (number - 1),
            end=9 * HOUR + 2400 * number,
            kind=SHOWN[letter],
        )
        for number, letter in enumerate(letters, start=1)
    )


def session(code: str, venue: str, shown: dict[date, str], *, crews: Iterable[str] = ("CREW",)) -> Session:
    """Return a session in which each crew runs one station, all with the same slots."""
    stations = tuple(
        Station(number=number, crew=crew_code, director="T1") for number, crew_code in enumerate(crews, start=1)
    )
    rows = [slots(letters, on, s.number) for s in stations for on, letters in shown.items()]
    return Session(
        code=code,
        venue=venue,
        days=tuple(SessionDay(date=on, start=8 * HOUR, end=15 * HOUR) for on in shown),
        crews=tuple(crews),
        stations=stations,
        leads=(),
        slots=tuple(slot for group in rows for slot in group),
    )


def team(code: str, facility: str, of: str, *dates: date, station: int = 1, outings: tuple[Outing, ...] = ()) -> Team:
    """Return the facility's minimum team of its first people."""
    seats = tuple(
        Seat(role=role, person=f"{facility}-{letter}1") for role, letter in zip(MINIMUM_ROLES, "PAN", strict=True)
    )
    return Team(
        code=code, facility=facility, number=1, session=of, station=station, dates=dates, seats=seats, outings=outings
    )


def aboard(*codes: str) -> tuple[Aboard, ...]:
    """Return trainers with the crew, who neither join nor leave that date."""
    return tuple(Aboard(trainer=code) for code in codes)


def trip(code: str, *days: CrewDay, crew_code: str = "CREW", box_models: int = 1) -> Trip:
    """Return a trip without loads."""
    return Trip(code=code, crew=crew_code, days=days, box_models=box_models)


def hand_round(items: tuple[Item, ...] | None = None, **changes: Any) -> TrainingRound:
    """Return the round of the hand-written plan."""
    base: dict[str, Any] = {
        "crews": (crew(price_per_km=7, price_per_day=40),),
        "trainers": (
            trainer("T1", "ds", day_price=10),
            trainer("T2", "a", day_price=8),
            trainer("T3", "dsn", day_price=12, lives_at="ALFA"),
            trainer("T4", "an"),
        ),
        "items": items if items is not None else (thread(quantity=5, pack_size=10, pack_price=25),),
        "settings": settings(prices={"contingency_percent": 10.0}),
    }
    return tiny_round(**base | changes)


def hand_plan() -> Plan:
    """Return the plan that the module's first lines tell."""
    people = ("BETA-P1", "BETA-A1", "BETA-N1")
    outing = Outing(
        facility="BETA",
        people=people,
        drives=(drive("BETA", "ALFA", MON, 30.5), drive("ALFA", "BETA", TUE, 30.5)),
        nights=((MON, "ALFA"),),
    )
    at_home = Outing(facility="ALFA", people=("ALFA-P1", "ALFA-A1", "ALFA-N1"))
    everyone = aboard("T1", "T2", "T3", "T4")
    return Plan(
        round_name="Tiny",
        sessions=(session("S1", "ALFA", {MON: "dss", TUE: "dssr"}),),
        teams=(
            team("T01", "ALFA", "S1", MON, outings=(at_home,)),
            team("T02", "BETA", "S1", TUE, outings=(outing,)),
        ),
        trips=(
            trip(
                "K1",
                CrewDay(
                    date=MON,
                    legs=(Leg(drive=drive("BASE", "ALFA", MON, 50.5)),),
                    sessions=("S1",),
                    night="ALFA",
                    aboard=everyone,
                ),
                CrewDay(
                    date=TUE, legs=(Leg(drive=drive("ALFA", "BASE", TUE, 50.5)),), sessions=("S1",), aboard=everyone
                ),
            ),
        ),
    )


def with_trips(plan: Plan, *trips: Trip) -> Plan:
    """Return the plan with other trips."""
    return dataclasses.replace(plan, trips=trips)
