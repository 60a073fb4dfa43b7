"""Ready-made stress tests: slow roads, the scarcest trainer ill, the largest vehicle lost, no guests."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta

from roundplan.domain.crew import Crew
from roundplan.domain.scenario import Change, ChangeKind
from roundplan.domain.settings import Settings
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound

SLOWER = 1.5
"""What road times are multiplied by; common practice, no source."""


def changes(training_round: TrainingRound) -> Iterator[Change]:
    """Yield the stress tests that the round can be put to, each a column."""
    yield Change(ChangeKind.ROADS, value=f"{SLOWER:g}")
    trainer, crew = scarcest_trainer(training_round), largest_crew(training_round)
    if trainer is not None:
        yield Change(ChangeKind.ILL, trainer.code, trainer.name)
    if crew is not None:
        yield Change(ChangeKind.LOST, crew.code, crew.code)
    teams = training_round.settings.teams
    if teams.guests or teams.guests_pooled:
        yield Change(ChangeKind.NO_GUESTS)


def settings_of(training_round: TrainingRound, change: Change) -> Settings:
    """Return the settings under a stress test that is one of settings."""
    settings = training_round.settings
    if change.kind is ChangeKind.ROADS:
        travel = dataclasses.replace(
            settings.travel,
            factor_entered=SLOWER * settings.travel.factor_entered,
            factor_modelled=SLOWER * settings.travel.factor_modelled,
        )
        return dataclasses.replace(settings, travel=travel)
    return dataclasses.replace(settings, teams=dataclasses.replace(settings.teams, guests=0, guests_pooled=False))


def scarcest_trainer(training_round: TrainingRound) -> Trainer | None:
    """Return the trainer who is hardest to replace: whose rarest lead fewest others hold on their dates; ties by code.

    None where there is nobody to spare at all: without trainers there is no plan to compare.
    """
    holders = Counter[object]()
    for trainer in training_round.trainers:
        for lead in trainer.leads:
            holders[lead] += _dates(training_round, trainer)

    def scarcity(trainer: Trainer) -> tuple[int, int, int, str]:
        dates = _dates(training_round, trainer)
        rarest = min((holders[lead] - dates for lead in trainer.leads), default=10**9)
        return rarest, -len(trainer.leads), -dates, trainer.code

    found = sorted(training_round.trainers, key=scarcity)
    return found[0] if len(found) > 1 else None


def _dates(training_round: TrainingRound, trainer: Trainer) -> int:
    """Return on how many dates of the round a trainer is to be had."""
    first = trainer.available_from or training_round.settings.round.first_day
    last = trainer.available_to or training_round.settings.round.last_day
    window = training_round.settings.round.window
    days = (first + timedelta(days=n) for n in range(max((last - first).days + 1, 0)))
    return sum(day in window and not training_round.on_leave(trainer.code, day) for day in days)


def largest_crew(training_round: TrainingRound) -> Crew | None:
    """Return the crew whose loss costs most: most box models, then seats, then payload; ties by code."""
    found = sorted(training_round.crews, key=lambda c: (-c.box_models, -c.seats, -c.payload_kg, c.code))
    return found[0] if len(found) > 1 else None
