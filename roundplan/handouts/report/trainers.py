"""What the plan asks of each trainer: days, sessions, nights, longest runs beside their limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from markupsafe import Markup

from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.charts import Bar, bar_chart
from roundplan.handouts.speech import say, several

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class TrainerLoad:
    """One trainer's share of the round.

    Attributes
    ----------
    teaching, travelling : int
        Dates with a session; other dates with a crew.
    sessions, stations : int
        Sessions taken part in; stations directed, summed over sessions.
    nights : int
        Nights spent with a crew away from home.
    run, run_limit : int
        Longest stretch of working days, and its limit.
    nights_run, nights_limit : int
        Longest stretch of nights away, and its limit.
    """

    code: str
    name: str
    teaching: int
    travelling: int
    sessions: int
    stations: int
    nights: int
    run: int
    run_limit: int
    nights_run: int
    nights_limit: int


def trainer_loads(index: PlanIndex) -> Iterator[TrainerLoad]:
    """Yield the load of every trainer of the round, those who stay at home too."""
    settings = index.training_round.settings.trainers
    for trainer in index.training_round.trainers:
        rows = list(index.days_aboard(trainer.code))
        held = {code for _, day, _ in rows for code in day.sessions}
        nights = list(_nights(index, trainer.code))
        limit = settings.nights_limit if trainer.nights_away_limit is None else trainer.nights_away_limit
        yield TrainerLoad(
            code=trainer.code,
            name=trainer.name,
            teaching=sum(bool(day.sessions) for _, day, _ in rows),
            travelling=sum(not day.sessions for _, day, _ in rows),
            sessions=len(held),
            stations=sum(s.director == trainer.code for code in held for s in index.sessions[code].stations),
            nights=len(nights),
            run=_longest(day.date for _, day, _ in rows if day.sessions or day.legs),
            run_limit=settings.days_in_a_row,
            nights_run=_longest(nights),
            nights_limit=limit,
        )


def _nights(index: PlanIndex, trainer: str) -> Iterator[date]:
    """Yield the nights that a trainer spends with a crew, those near home left out."""
    lives_at = index.training_round.trainer(trainer).lives_at
    rows = list(index.days_aboard(trainer))
    for (trip, day, aboard), (next_trip, after, joining) in pairwise(rows):
        together = next_trip.code == trip.code and after.date == day.date + _ONE_DAY
        stays = together and aboard.leaves_at is None and joining.joins_at is None
        if stays and day.night is not None and not index.roads.near(lives_at, day.night):
            yield day.date


def _longest(days: Iterable[date]) -> int:
    """Return the longest run of consecutive dates."""
    best = run = 0
    before: date | None = None
    for day in sorted(days):
        run = run + 1 if before is not None and day == before + _ONE_DAY else 1
        best, before = max(best, run), day
    return best


def load_table(loads: Iterable[TrainerLoad]) -> Table:
    """Return the load of each trainer."""
    heads = (say("Trainer"), say("Days teaching"), say("Other days with a crew"), say("Sessions"),
             say("Stations directed"), say("Nights away"), say("Working days in a row (limit)"),
             say("Nights away in a row (limit)"))  # fmt: skip
    rows = [
        (
            load.name,
            str(load.teaching),
            str(load.travelling),
            str(load.sessions),
            str(load.stations),
            str(load.nights),
            say("{run} ({limit})", run=load.run, limit=load.run_limit),
            say("{run} ({limit})", run=load.nights_run, limit=load.nights_limit),
        )
        for load in loads
    ]
    return Table(say("Load of each trainer"), heads, rows, numbers=frozenset(range(1, 8)), grid=True)


def load_chart(loads: Iterable[TrainerLoad]) -> Markup:
    """Draw the days of each trainer who travels."""
    bars = [
        Bar(load.name, (load.teaching, load.travelling), _figure(load))
        for load in loads
        if load.teaching + load.travelling
    ]
    parts = (say("days teaching"), say("other days with a crew"))
    return bar_chart("trainers", say("Days of each trainer"), parts, bars)


def _figure(load: TrainerLoad) -> str:
    days = several("{number} day", "{number} days", load.teaching + load.travelling)
    nights = several("{number} night", "{number} nights", load.nights)
    return say("{days}, {nights} away", days=days, nights=nights)
