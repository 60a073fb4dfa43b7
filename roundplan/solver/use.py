"""What a session uses up, in whole numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Use:
    """Counts of one session that stands outside a model.

    Attributes
    ----------
    start : date
        First date of the session.
    """

    start: date
    stations: int
    simulations: int
    walls: int
    participants: int
    held: int = 1
