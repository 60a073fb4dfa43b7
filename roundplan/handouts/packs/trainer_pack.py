"""A trainer's pack on paper: itinerary, slot sheets, debrief, what can go wrong, packing, sharps, safety."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roundplan.domain.plan import Aboard, CrewDay, Session, Trip
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.debrief import debrief_blocks
from roundplan.handouts.packs.front import dates_fact, facts, pack, whom_to_call
from roundplan.handouts.packs.itinerary import trainer_trip
from roundplan.handouts.packs.mishaps import mishap_blocks
from roundplan.handouts.packs.session_people import lead_words
from roundplan.handouts.packs.sharps import director_sheets
from roundplan.handouts.pdf.blocks import Block, Heading, Lines, NewPage, Printed, Together
from roundplan.handouts.safety import Reader, safety_lines
from roundplan.handouts.speech import say
from roundplan.handouts.words import capital, dates_words, list_words

Travelled = dict[str, tuple[Trip, list[tuple[CrewDay, Aboard]]]]
"""A trainer's dates by trip."""


def trainer_pack(binder: Binder, trainer: str, path: str, *, version: int | None = None) -> Printed:
    """Return a trainer's pack.

    Parameters
    ----------
    trainer : str
        Code of the trainer.
    path : str
        Its path in the output folder; messages about it name it.
    version : int or None
        Version of this pack's own last change; None = the plan's.
    """
    index = binder.index
    days = tuple(index.days_aboard(trainer))
    sessions = tuple(index.sessions[code] for code in dict.fromkeys(c for _, day, _ in days for c in day.sessions))
    trips: Travelled = {}
    for trip, day, aboard in days:
        trips.setdefault(trip.code, (trip, []))[1].append((day, aboard))
    blocks = tuple(_blocks(binder, trainer, trips, sessions))
    return pack(
        index, path, index.name(trainer), say("Trainer pack"), blocks, {s.code for s in sessions}, version=version
    )


def _blocks(binder: Binder, trainer: str, trips: Travelled, sessions: Sequence[Session]) -> Iterator[Block]:
    index = binder.index
    days = [day.date for _, dates in trips.values() for day, _ in dates]
    crews = list_words(dict.fromkeys(trip.crew for trip, _ in trips.values()))
    held = [
        say(
            "{dates}: {venue}, {leads}",
            dates=capital(dates_words(session.dates)),
            venue=index.name(session.venue),
            leads=list_words(lead_words(session, trainer)) or say("trainer, no lead"),
        )
        for session in sessions
    ]
    yield facts(
        [
            (say("On the road"), dates_fact(index, days) if days else ""),
            (say("Crew"), crews),
            (say("At the wheel"), say("The crew's driver, nobody else.") if days else ""),
            (say("Sessions"), held or [say("No session in this round.")]),
        ]
    )
    venues = tuple(session.venue for session in sessions)
    yield from whom_to_call(index, venues, binder.contacts)
    for trip, dates in trips.values():
        yield from trainer_trip(binder, trip, dates)
    for session in sessions:
        yield from binder.slot_sheets(session)
    yield NewPage()
    if sessions:
        yield from debrief_blocks(index)
    yield from mishap_blocks(index, [trip for trip, _ in trips.values()], sessions)
    yield safety_block(Reader.TRAINER)
    for trip, _ in trips.values():
        yield NewPage()
        yield from binder.packing(trip)
    sheets = [sheet for session in sessions for sheet in director_sheets(index, session, trainer)]
    if sheets:
        yield NewPage()
        yield Heading(say("Count sheets for sharps"), 1)
        yield from sheets


def safety_block(reader: Reader) -> Together:
    """Return the safety lines of a reader."""
    return Together([Heading(say("Safety"), 1), Lines(list(safety_lines(reader)), marked=True)])
