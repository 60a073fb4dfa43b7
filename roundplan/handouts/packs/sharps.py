"""Sheets on which sharps are counted: by station and date for the director, by date of a trip for the crew."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date

from roundplan.domain.plan import Session, Trip
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.handouts.packs.packing import sessions_of
from roundplan.handouts.pdf.blocks import Blank, Block, Cell, Ems, Grid, Heading, Lines, Together
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.words import day_date, quantity, short_date
from roundplan.supplies.quantities import gross_units, simulations_of

_EMPTY_ROWS = 2
_TALL = 8.5


def sharp_items(index: PlanIndex) -> tuple[Item, ...]:
    """Return the items that are counted: those marked sharp; where none is, whatever goes by simulation."""
    items = index.training_round.items
    marked = tuple(item for item in items if item.sharp)
    return marked or tuple(i for i in items if i.per is Per.SIMULATION and i.kind is ItemKind.CONSUMABLE)


def station_units(index: PlanIndex, item: Item, session: Session, station: int, day: date) -> int | None:
    """Return the units of an item planned for a station's date, wastage in; None where it does not go by simulation."""
    if item.per is not Per.SIMULATION or item.kind is not ItemKind.CONSUMABLE:
        return None
    return math.ceil(gross_units(item, {Per.SIMULATION: simulations_of(session, station, day)}))


def station_count(index: PlanIndex, session: Session, station: int, day: date) -> Together:
    """Return the count sheet of one station and date, for its director."""
    heads = (
        say("What"), say("Planned for the day"), say("Counted out"), say("In the sharps box"), say("Counted in unused"),
        say("Missing"),
    )  # fmt: skip
    rows: list[list[Cell]] = []
    for item in sharp_items(index):
        units = station_units(index, item, session, station, day)
        rows.append([item.name, quantity(units, item.unit) if units is not None else say("as loaded"), "", "", "", ""])
    rows += [["", "", "", "", "", ""] for _ in range(_EMPTY_ROWS)]
    where = say(
        "Sharps: {venue}, station {station}, {date}",
        venue=index.name(session.venue), station=station, date=day_date(day),
    )  # fmt: skip
    signed = Lines(
        [
            Blank(say("Box closed and given to, at what time:")),
            Blank(say("Counted by the director:")),
            Blank(say("Counted again by somebody else:")),
        ]
    )
    return Together(
        [Heading(where, 2), Grid("", heads, rows, (3.2, 1.8, 1.3, 1.5, 1.5, 1.2), tall=_TALL, ruled=True), signed]
    )


def director_sheets(index: PlanIndex, session: Session, trainer: str) -> Iterator[Block]:
    """Yield the count sheets of the stations that a trainer directs in a session."""
    for day in session.days:
        for station in session.stations:
            if station.director == trainer and simulations_of(session, station.number, day.date):
                yield station_count(index, session, station.number, day.date)


def trip_count(index: PlanIndex, trip: Trip) -> Iterator[Block]:
    """Yield the crew's count over a trip: boxes and sharps that go out and come back, date by date."""
    sessions = sessions_of(index, trip)
    if not sessions:
        return
    heads = (
        say("Date"),
        say("Venue"),
        say("Sharps boxes out"),
        say("Boxes full, handed to"),
        say("Boxes back"),
        say("Signed"),
    )
    rows: list[list[Cell]] = [
        [short_date(day.date), index.name(session.venue), "", "", "", ""]
        for session in sessions
        for day in session.days
    ]
    loaded: list[list[Cell]] = []
    for item in sharp_items(index):
        units = sum(load.quantity for load in trip.loads if load.item == item.code)
        loaded.append([item.name, quantity(units, item.unit), "", "", ""])
    counted = (say("What"), say("To be loaded"), say("Counted out"), say("Counted back"), say("Missing"))
    title = say("Sharps on trip {code}", code=trip.code)
    yield Together(
        [
            Heading(title, 2),
            Grid("", counted, loaded, (3.4, 1.6, 1.4, 1.4, 1.4), tall=_TALL, ruled=True),
            Grid("", heads, rows, (Ems(), 3, 1.5, 2.2, 1.4, 1.6), tall=_TALL, ruled=True),
        ]
    )
