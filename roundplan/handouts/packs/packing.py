"""What a trip carries: lists with boxes to tick, walls to assemble, weights against the limit, where to restock."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Load, Session, Trip
from roundplan.domain.supply import ItemKind, Per
from roundplan.handouts.pdf.blocks import Blank, Block, Cell, Ems, Grid, Heading, Lines, Tick, Together
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.crew_page import restock_lines, weight_lines
from roundplan.handouts.speech import say
from roundplan.handouts.words import day_date, duration, kilograms, number, quantity, short_date
from roundplan.supplies.loads import boards, payload_limit
from roundplan.supplies.quantities import walls_of


def packing_blocks(index: PlanIndex, trip: Trip) -> Iterator[Block]:
    """Yield all of a trip's packing."""
    vehicle = index.training_round.crew(trip.crew)
    yield Heading(say("Packing for trip {code}", code=trip.code), 1)
    yield Lines([*weight_lines(index, vehicle, trip), *restock_lines(index, vehicle, trip)], marked=True)
    yield from (load_grid(index, trip, place, day) for place, day in _stops(trip))
    walls = walls_grid(index, trip)
    if walls.rows:
        yield walls
        yield Lines(list(_wall_lines(index)))
    if trip.loads:
        yield Together((weights_grid(index, trip),))


def _stops(trip: Trip) -> tuple[tuple[str, date], ...]:
    return tuple(dict.fromkeys((x.place, x.date) for x in sorted(trip.loads, key=lambda load: (load.date, load.place))))


def load_grid(index: PlanIndex, trip: Trip, place: str, day: date) -> Grid:
    """Return what is taken on board at one place: boxes to tick when it is packed and when it is brought back."""
    loads = [load for load in trip.loads if (load.place, load.date) == (place, day)]
    reusable = ItemKind.REUSABLE

    def order(load: Load) -> tuple[bool, str]:
        return index.training_round.item(load.item).kind is not reusable, index.name(load.item)

    rows: list[list[Cell]] = []
    weight = 0.0
    for load in sorted(loads, key=order):
        item = index.training_round.item(load.item)
        kg = load.quantity * item.unit_weight_kg
        weight += kg
        marks = [word for flag, word in ((item.sharp, say("sharp")), (item.latex, say("latex"))) if flag]
        name = say("{name} ({marks})", name=item.name, marks=", ".join(marks)) if marks else item.name
        back: Cell = Tick() if item.kind is reusable else Blank(say("left over"))
        weighs = number(kg) if kg >= 0.05 else say("under 0.1")
        rows.append([Tick(), name, quantity(load.quantity, item.unit), weighs, back])
    rows.append(["", say("All of it"), "", number(weight), ""])
    caption = say("To load at {place} on {date}", place=index.name(place), date=day_date(day))
    heads = (say("Packed"), say("Item"), say("Quantity"), say("kg"), say("Brought back"))
    return Grid(caption, heads, rows, (Ems(), 4.8, 1.8, 1.3, 1.9), frozenset({2, 3}), total=True)


def walls_grid(index: PlanIndex, trip: Trip) -> Grid:
    """Return the walls to assemble before each session, by station."""
    minutes = index.training_round.settings.session.wall_minutes
    rows: list[list[Cell]] = []
    for session in sessions_of(index, trip):
        for station in session.stations:
            walls = walls_of(session, station.number)
            if station.crew == trip.crew and walls:
                rows.append(
                    [
                        Tick(),
                        index.name(session.venue),
                        short_date(session.dates[0]),
                        str(station.number),
                        str(walls),
                        duration(walls * minutes * MINUTE),
                    ]
                )
    heads = (say("Done"), say("For the session at"), say("First date"), say("Station"), say("Walls"), say("Work"))
    return Grid(say("Walls to assemble"), heads, rows, (Ems(), 4, Ems(), Ems(), Ems(), Ems()), frozenset({3, 4, 5}))


def _wall_lines(index: PlanIndex) -> Iterator[str]:
    """Yield what one wall takes."""
    items = [item for item in index.training_round.items if item.per is Per.WALL]
    if items:
        parts = "; ".join(
            say("{quantity} of {item}", quantity=quantity(i.quantity, i.unit), item=i.name) for i in items
        )
        yield say("One wall takes {parts}. It serves two simulations, one at each end.", parts=parts)


def weights_grid(index: PlanIndex, trip: Trip) -> Grid:
    """Return what the vehicle carries on each date against what it may carry."""
    limit = payload_limit(index.training_round.crew(trip.crew), index.training_round.settings.travel)
    rows: list[list[Cell]] = [
        [
            short_date(board.date),
            say("{weight} ({people} people)", weight=kilograms(board.people_kg), people=board.people),
            kilograms(board.kit_kg),
            kilograms(board.weight_kg),
            kilograms(limit),
            kilograms(limit - board.weight_kg),
        ]
        for board in boards(trip, index.plan, index.training_round)
    ]
    heads = (say("Date"), say("People and luggage"), say("Kit"), say("On board"), say("Limit"), say("Free"))
    return Grid(say("Weight by date"), heads, rows, (Ems(), 2.4, 1.3, 1.3, 1.3, 1.3), frozenset({1, 2, 3, 4, 5}))


def sessions_of(index: PlanIndex, trip: Trip) -> tuple[Session, ...]:
    """Return the sessions of a trip in order."""
    codes = dict.fromkeys(code for day in trip.days for code in day.sessions)
    return tuple(index.sessions[code] for code in codes)
