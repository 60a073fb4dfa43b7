"""How much daylight a drive has left when it arrives, and how late it may run before the daylight rule is broken."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Drive
from roundplan.handouts.plan_index import PlanIndex

SHORT_DRIVE = 15 * MINUTE
"""A drive that need only end before sunset (DEVELOPERS.md, daylight)."""

TIGHT = 30 * MINUTE
"""Daylight left, or delay to spare, under which the report names a drive."""


class Light(IntEnum):
    """Daylight left on arrival, in classes that the map draws apart."""

    UNDER_HALF_AN_HOUR = 0
    UNDER_ONE_HOUR = 1
    UNDER_TWO_HOURS = 2
    TWO_HOURS_OR_MORE = 3


@dataclass(frozen=True, slots=True)
class Margin:
    """A drive's daylight, in seconds.

    Attributes
    ----------
    sunset : int
        Sunset where it ends, after local midnight.
    left : int
        From arrival to sunset; negative after dark.
    to_spare : int or None
        Delay after which the daylight rule would be broken; None where the round does not keep to daylight.
    """

    sunset: int
    left: int
    to_spare: int | None

    @property
    def tight(self) -> bool:
        """Whether there is less than half an hour of daylight left, or of delay to spare."""
        return self.left < TIGHT or (self.to_spare is not None and self.to_spare < TIGHT)

    @property
    def light(self) -> Light:
        """The class of the daylight left."""
        limits = (TIGHT, 60 * MINUTE, 120 * MINUTE)
        return Light(sum(self.left >= limit for limit in limits))


def margin(index: PlanIndex, drive: Drive, *, crew: bool) -> Margin:
    """Return a drive's daylight.

    Parameters
    ----------
    crew : bool
        Whether a crew drives; participants have a margin of their own.
    """
    travel = index.training_round.settings.travel
    sunset = index.daylight.sunset(drive.end, drive.date)
    left = sunset - drive.arrive
    if not travel.daylight:
        return Margin(sunset, left, None)
    wanted = 0 if drive.drive_seconds <= SHORT_DRIVE else travel.crew_margin if crew else travel.participant_margin
    return Margin(sunset, left, left - wanted * MINUTE)
