"""labels.html: labels for boxes and bags, each with the training-only marking; ten a page of A4 or US letter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roundplan.domain.plan import Plan, Trip
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.page import frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import message, say
from roundplan.handouts.store.picks import picks
from roundplan.handouts.words import full_date, quantity, span_words

TRAINING_ONLY = message("TRAINING ONLY – NOT FOR PATIENTS")
"""The marking that every kit and every bag carries, as a message to be said."""

LABELS_A_PAGE = 10


@dataclass(frozen=True, slots=True)
class Label:
    """One label.

    Attributes
    ----------
    what : str
        What it is stuck on.
    owner : str
        Whose it is: crew, trip and dates.
    notes : tuple of str
        How much, sharps, latex, date of expiry, where it is loaded.
    """

    what: str
    owner: str
    notes: tuple[str, ...] = ()


def render(plan: Plan, training_round: TrainingRound, *, version: int | None = None) -> str:
    """Return the labels as HTML; the same plan gives the same page.

    Parameters
    ----------
    version : int or None
        Version of the page's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    found = (*box_labels(index), *bag_labels(index))
    return render_page(
        "labels.html.j2",
        **frame(plan, say("Labels"), version),
        marking=say(TRAINING_ONLY),
        pages=[found[n : n + LABELS_A_PAGE] for n in range(0, len(found), LABELS_A_PAGE)],
    )


def box_labels(index: PlanIndex) -> Iterator[Label]:
    """Yield a label for each box model and for the consumables of each trip."""
    for trip in _trips(index):
        for box in range(1, trip.box_models + 1):
            yield Label(say("Box model {box} of {boxes}", box=box, boxes=trip.box_models), _owner(trip))
        yield Label(say("Consumables – count out and in"), _owner(trip))


def bag_labels(index: PlanIndex) -> Iterator[Label]:
    """Yield a label for each item that a trip takes on board, place by place."""
    for pick in picks(index):
        item = pick.item
        notes = [quantity(pick.load.quantity, item.unit)]
        if item.sharp:
            notes.append(say("sharps: count out and in"))
        if item.latex:
            notes.append(say("contains latex"))
        if item.expiry is not None:
            notes.append(say("use by {date}", date=full_date(item.expiry)))
        notes.append(say("loaded at {place}, {date}", place=index.name(pick.load.place),
                         date=full_date(pick.load.date)))  # fmt: skip
        yield Label(item.name, _owner(pick.trip), tuple(notes))


def _trips(index: PlanIndex) -> Iterator[Trip]:
    for crew in index.crews_used():
        yield from index.trips_of(crew)


def _owner(trip: Trip) -> str:
    return say(
        "Crew {crew}, trip {trip}, {dates}",
        crew=trip.crew,
        trip=trip.code,
        dates=span_words(trip.days[0].date, trip.days[-1].date),
    )
