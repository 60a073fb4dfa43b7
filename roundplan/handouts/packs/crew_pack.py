"""A crew's pack on paper, kept in the vehicle: itinerary, sessions by the clock, packing, sharps, safety."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.crew import Crew
from roundplan.domain.plan import Trip
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.front import dates_fact, facts, pack, whom_to_call
from roundplan.handouts.packs.itinerary import crew_trip
from roundplan.handouts.packs.mishaps import road_closed
from roundplan.handouts.packs.packing import sessions_of
from roundplan.handouts.packs.sharps import trip_count
from roundplan.handouts.packs.trainer_pack import safety_block
from roundplan.handouts.pdf.blocks import Blank, Block, Cell, Ems, Grid, Heading, Lines, NewPage, Printed
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.safety import SHARPS, Reader
from roundplan.handouts.speech import say
from roundplan.handouts.words import arrival, clock, clock_span, kilometres, list_words, short_date
from roundplan.supplies.quantities import participants_of, walls_of


def crew_pack(binder: Binder, crew: str, path: str, *, version: int | None = None) -> Printed:
    """Return a crew's pack; of people it names the trainers alone.

    Parameters
    ----------
    crew : str
        Code of the crew.
    path : str
        Its path in the output folder; messages about it name it.
    version : int or None
        Version of this pack's own last change; None = the plan's.
    """
    index = binder.index
    blocks = tuple(_blocks(binder, index.training_round.crew(crew)))
    sessions = {code for trip in index.trips_of(crew) for day in trip.days for code in day.sessions}
    return pack(index, path, say("Crew {code}", code=crew), say("Crew pack"), blocks, sessions, version=version)


def _blocks(binder: Binder, vehicle: Crew) -> Iterator[Block]:
    index = binder.index
    trips = index.trips_of(vehicle.code)
    days = [day.date for trip in trips for day in trip.days]
    km = sum(leg.drive.km for trip in trips for day in trip.days for leg in day.legs)
    names = dict.fromkeys(one.trainer for trip in trips for day in trip.days for one in day.aboard)
    drivers: list[tuple[str, Cell]] = [
        (say("Driver") if vehicle.drivers == 1 else say("Driver {number}", number=number), Blank())
        for number in range(1, vehicle.drivers + 1)
    ]
    yield facts(
        [
            (say("On the road"), dates_fact(index, days) if days else say("No trip in this round.")),
            (say("From and back to"), index.name(vehicle.base)),
            (say("In all"), kilometres(km)),
            (say("Trainers"), list_words(index.name(code) for code in names)),
            *drivers,
        ]
    )
    venues = tuple(index.sessions[code].venue for trip in trips for day in trip.days for code in day.sessions)
    yield from whom_to_call(index, venues, binder.contacts)
    if venues:
        yield sessions_grid(index, trips, vehicle.code)
    for trip in trips:
        yield from crew_trip(binder, trip)
    yield Heading(say("If something goes wrong"), 1)
    yield road_closed(index, trips)
    yield safety_block(Reader.CREW)
    for trip in trips:
        yield NewPage()
        yield from binder.packing(trip)
    if venues:
        yield NewPage()
        yield Heading(say("Count sheets for sharps"), 1)
        yield Lines([say(SHARPS)])
        for trip in trips:
            yield from trip_count(index, trip)


def sessions_grid(index: PlanIndex, trips: tuple[Trip, ...], crew: str) -> Grid:
    """Return the sessions by the clock: where to set up when, how many stations, walls and participants."""
    rows: list[list[Cell]] = []
    for session in (session for trip in trips for session in sessions_of(index, trip)):
        stations = [station.number for station in session.stations if station.crew == crew]
        for day in session.days:
            walls = sum(walls_of(session, number) for number in stations)
            rows.append(
                [
                    short_date(day.date),
                    index.name(session.venue),
                    clock(index.set_up_from(session, day.date)),
                    clock_span(day.start, day.end),
                    arrival(index.packed_up_by(session, day.date)),
                    str(len(stations)),
                    str(walls) if day.date == session.dates[0] else "",
                    str(participants_of(session, index.plan, crew)),
                ]
            )
    heads = (
        say("Date"), say("Venue"), say("There by"), say("Session"), say("Packed up"), say("Stations"), say("Walls"),
        say("Participants"),
    )  # fmt: skip
    return Grid(
        say("Sessions"),
        heads,
        rows,
        (Ems(), 1, Ems(4.8), Ems(6.6), Ems(5.6), Ems(), Ems(), Ems()),
        frozenset({5, 6, 7}),
    )
