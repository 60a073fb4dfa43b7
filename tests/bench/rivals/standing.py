"""Standing crews: every trainer with one crew for the whole round, as a hand planner keeps them."""

from __future__ import annotations

from collections.abc import Iterable

from roundplan.domain.crew import Crew
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.distance import geodesic_km

NEIGHBOURHOOD_KM = 30
"""Bases within the same multiple of it count as equally near."""


def standing_trainers(training_round: TrainingRound) -> dict[str, list[Trainer]]:
    """Return trainers by crew: their own, else the nearest one that has the fewest.

    Staff of one facility teach with one crew only, so that its cover, and that of the site it refers to, is one crew's
    business; the others stay at home.
    """
    found: dict[str, list[Trainer]] = {crew.code: [] for crew in training_round.crews}
    for trainer in training_round.trainers:
        if trainer.crew is not None:
            found[trainer.crew].append(trainer)
    for trainer in training_round.trainers:
        if trainer.crew is None and training_round.crews:
            found[_nearest(trainer, training_round, found).code].append(trainer)
    taken: dict[str, str] = {}
    for code, group in found.items():
        for trainer in list(group):
            sites = homes_of((trainer,), training_round)
            if any(taken.get(site, code) != code for site in sites):
                group.remove(trainer)
            else:
                taken |= dict.fromkeys(sites, code)
    return found


def homes_of(trainers: Iterable[Trainer], training_round: TrainingRound) -> set[str]:
    """Return the facilities whose cover suffers when the trainers teach: where they are staff, and its referral."""
    homes = {training_round.person(t.person).facility for t in trainers if t.person is not None}
    return homes | {site for code in homes if (site := training_round.facility(code).refers_to) is not None}


def _nearest(trainer: Trainer, training_round: TrainingRound, found: dict[str, list[Trainer]]) -> Crew:
    home = training_round.site(trainer.lives_at)

    def order(crew: Crew) -> tuple[float, int, str]:
        km = geodesic_km(home, training_round.site(crew.base))
        return km // NEIGHBOURHOOD_KM, len(found[crew.code]), crew.code

    return min(training_round.crews, key=order)
