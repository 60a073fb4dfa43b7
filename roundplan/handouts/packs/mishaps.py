"""What to do if a road closes, a person does not come, or an emergency calls the team away."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from roundplan.domain.plan import Session, Trip
from roundplan.handouts.packs.session_people import Deputy, deputies, reserve_starts
from roundplan.handouts.pdf.blocks import Block, Cell, Grid, Heading, Line, Lines, Together
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.road.travel_days import closed_road_lines
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import list_words, short_date

ON_ONE_PAGE = 15
"""Rows up to which the table of deputies is kept together; more may not fit a page."""


def road_closed(index: PlanIndex, trips: Sequence[Trip]) -> Together:
    """Return what to do on the road."""
    return Together([Heading(say("If a road closes"), 2), Lines(list(closed_road_lines(index, trips)), marked=True)])


def person_missing(index: PlanIndex, sessions: Sequence[Session]) -> list[Block]:
    """Return what to do if a participant or a trainer does not come; who else may hold each lead."""
    settings = index.training_round.settings
    lines: list[Line] = [
        say(
            "A participant: ask whether the standby on the slot sheet can come. Nobody is called away from duty for it."
        ),
        say(
            "A team needs a surgical provider, a surgical assistant and an anaesthetist; "
            "without one of them it does not simulate."
        ),
        say(
            "At most {number} of its other seats may stay empty. "
            "Nobody sits in a role that they are not authorised for.",
            number=settings.teams.empty_seats,
        ),
        several(
            "A trainer: a station runs with {numeral} trainer or more, a director among them; "
            "with fewer it stays closed.",
            "A trainer: a station runs with {numeral} trainers or more, a director among them; "
            "with fewer it stays closed.",
            settings.trainers.per_station,
        ),
        say("Tell the programme manager on the same day who was there and who was not."),
    ]
    grid = deputies_grid(index, sessions)
    return [
        Together([Heading(say("If a person does not come"), 2), Lines(lines, marked=True)]),
        Together([grid]) if len(grid.rows) <= ON_ONE_PAGE else grid,
    ]


def deputies_grid(index: PlanIndex, sessions: Sequence[Session]) -> Grid:
    """Return each lead with those who may step in; sessions in which it is the same stand in one row."""
    alike: dict[tuple[str, str, tuple[Deputy, ...]], list[date]] = {}
    for session in sessions:
        for row in deputies(index, session):
            alike.setdefault(row, []).extend(session.dates)
    rows: list[list[Cell]] = [
        [
            words,
            index.name(holder),
            list_words(_deputy_words(index, one) for one in others) or say("nobody of this crew"),
            list_words(short_date(day) for day in sorted(dates)),
        ]
        for (words, holder, others), dates in alike.items()
    ]
    heads = (say("Lead"), say("Held by"), say("May step in"), say("Dates"))
    return Grid(say("Who may step in for a trainer"), heads, rows, (2.2, 2.2, 2.6, 2.6))


def _deputy_words(index: PlanIndex, deputy: Deputy) -> str:
    name = index.name(deputy.trainer)
    if deputy.closing is None:
        return name
    return say("{name}, if station {number} stays closed", name=name, number=deputy.closing)


def called_away(index: PlanIndex, sessions: Sequence[Session]) -> Together:
    """Return what to do if an emergency calls people away; on which dates no slot is kept free."""
    lines: list[Line] = [
        say("Whoever hears of it says “this is real”. All hands leave the model; the clock stops."),
        say("Those named on the slot sheet leave first. The director closes the sharps box and stays with the model."),
        say("Nothing of the kit goes along to the patient, and nothing of the ward's stays with the kit."),
        say("Before anybody starts again the person in charge says go or no-go, and the sharps are counted."),
        say("The simulation that was lost goes into the slot that the slot sheet keeps free."),
    ]
    full = sorted({day for session in sessions for day in session.dates if not reserve_starts(session, day)})
    if full:
        days = list_words(short_date(day) for day in full)
        lines.append(say("No slot is kept free on {days}: a simulation lost then is left out and reported.", days=days))
    return Together([Heading(say("If an emergency calls the team away"), 2), Lines(lines, marked=True)])


def mishap_blocks(index: PlanIndex, trips: Sequence[Trip], sessions: Sequence[Session]) -> Iterator[Block]:
    """Yield all three."""
    yield Heading(say("If something goes wrong"), 1)
    yield road_closed(index, trips)
    if sessions:
        yield from person_missing(index, sessions)
        yield called_away(index, sessions)
