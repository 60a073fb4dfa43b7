"""A repair: what an announced plan becomes once people, roads or crews are not as they were."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from roundplan.domain.changes import (
    LostTeam,
    Moved,
    SeatRef,
    changes,
    coverage_lost,
    lost_people,
    lost_teams,
    stability,
)
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound

__all__ = [
    "Gain",
    "LostTeam",
    "Measured",
    "Moved",
    "RepairTask",
    "Repaired",
    "SeatRef",
    "changes",
    "coverage_lost",
    "lost_people",
    "lost_teams",
    "stability",
]


@dataclass(frozen=True, slots=True)
class RepairTask:
    """What is to be repaired.

    Attributes
    ----------
    announced : Plan
        What readers were told last.
    training_round : TrainingRound
        The round with all new facts and locks in its tables.
    today : date
        Dates before it are past: they stay as they were.
    confirmed : frozenset of SeatRef
        Seats of the announced plan under lock, for what is reported.
    released : frozenset of SeatRef
        Seats that had been confirmed and whose owners released them: their points count three times.
    """

    announced: Plan
    training_round: TrainingRound
    today: date
    confirmed: frozenset[SeatRef] = frozenset()
    released: frozenset[SeatRef] = frozenset()


@dataclass(frozen=True, slots=True)
class Measured:
    """A figure to be made small, and what no plan can be below; None = nothing is proven."""

    value: int
    bound: int | None

    @property
    def proven(self) -> bool:
        """Whether no plan is better."""
        return self.value == self.bound

    @property
    def gap(self) -> int | None:
        """What a better plan could save at most; None where nothing is proven."""
        return None if self.bound is None else self.value - self.bound


@dataclass(frozen=True, slots=True)
class Gain:
    """A team that could be added to the repaired plan: no seat, day, place, crew or trainer of others would change.

    Attributes
    ----------
    number : int
        Which team of the facility it would be.
    points : int
        What it adds to its tier.
    """

    facility: str
    number: int
    venue: str
    dates: tuple[date, ...]
    points: int


@dataclass(frozen=True, slots=True)
class Repaired:
    """A repaired plan with what it costs.

    Attributes
    ----------
    plan : Plan
        Every team of it was announced, by its facility at least; codes of teams, sessions and trips are those of the
        announced plan wherever they are the same.
    lost : tuple of LostTeam
        Teams that facilities lose.
    coverage_lost, stability : Measured
        As :func:`coverage_lost` and :func:`stability` measure them; the second bound is given the first value.
    moved : tuple of Moved
        What has changed for teams that are kept.
    gains : tuple of Gain
        Teams that could be added, each by itself.
    lost_people : tuple of str
        People whom the manager named, seated before and not now.
    """

    plan: Plan
    lost: tuple[LostTeam, ...]
    coverage_lost: Measured
    stability: Measured
    moved: tuple[Moved, ...]
    gains: tuple[Gain, ...] = ()
    lost_people: tuple[str, ...] = ()
