"""The prices in force: what the tables say, else what round.toml says, else nothing."""

from __future__ import annotations

import dataclasses

from roundplan.domain.decision import CostLine
from roundplan.domain.settings import PriceSettings
from roundplan.domain.trainer import Trainer
from roundplan.domain.training_round import TrainingRound
from roundplan.travel.distance import near

_LINE_OF = {
    "participant_day": CostLine.PARTICIPANTS,
    "participant_night": CostLine.PARTICIPANTS,
    "trainer_day": CostLine.TRAINERS,
    "trainer_night": CostLine.TRAINERS,
    "driver_day": CostLine.CREW_DAYS,
    "driver_night": CostLine.CREW_DAYS,
    "fare_per_km": CostLine.PARTICIPANT_TRAVEL,
    "lunch": CostLine.LUNCHES,
    "venue_day": CostLine.VENUES,
    "lodging": CostLine.LODGING,
    "printing": CostLine.PRINTING,
}


class PriceList:
    """Prices in minor units; None where a line has no price and so yields nothing."""

    def __init__(self, training_round: TrainingRound) -> None:
        self.round = training_round
        self._prices = training_round.settings.prices

    def of(self, key: str) -> int | None:
        """Return a price of ``[prices]``."""
        if key in self._prices.left_out:
            return None
        value: int | None = getattr(self._prices, key)
        return value

    def trainer_day(self, trainer: Trainer) -> int | None:
        """Return a trainer's day price: their own, else the round's."""
        return trainer.day_price if trainer.day_price is not None else self.of("trainer_day")

    def venue_day(self, site: str) -> int | None:
        """Return the price of a venue a date: its own, else the round's."""
        own = self.round.site(site).day_price
        return own if own is not None else self.of("venue_day")

    def lodging(self, site: str) -> int | None:
        """Return the price of a person-night at a site: its own, else the round's."""
        own = self.round.site(site).lodging_price
        return own if own is not None else self.of("lodging")

    def fare(self, facility: str) -> int | None:
        """Return the fare a person-km of a facility's people: its own, else the round's."""
        own = self.round.facility(facility).transport_price
        return own if own is not None else self.of("fare_per_km")

    def away_from_home(self, trainer: Trainer, site: str) -> bool:
        """Whether a night at a site is one away from home for a trainer."""
        return not near(self.round.site(trainer.lives_at), self.round.site(site))

    def left_out(self) -> tuple[str, ...]:
        """Return in plain words the lines left out on purpose."""
        meanings = {field.name: field.metadata["meaning"] for field in dataclasses.fields(PriceSettings)}
        return tuple(f"{line.value}: {meanings[key]}" for key, line in _LINE_OF.items() if key in self._prices.left_out)
