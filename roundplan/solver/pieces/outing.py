"""A trip of the skeleton in the hands of a crew."""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.solver.parts import Visit
from roundplan.solver.skeleton.pricing import Trip


@dataclass(frozen=True, slots=True)
class Outing:
    """A trip of the skeleton given to a crew, with the visits that are paid on it and what they are worth."""

    worth: int
    crew: str
    trip: Trip
    liked: frozenset[Visit]
