"""What a model may decide: the rest of the round is as a plan so far has it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.solver.parts import Visit

Move = tuple[str, str]
"""From one site to another; a sleeping place and a venue, or two sleeping places."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A part of a round; fewer choices leave fewer plans, never false ones.

    Attributes
    ----------
    visits : frozenset of (facility, venue, first date)
        Teams that may be sent.
    guests : frozenset of (facility, venue, first date)
        Facilities that may lend guests.
    holds : frozenset of (crew, venue, start)
        Sessions that a crew may hold.
    moves : mapping of (crew, date) to frozenset of (from, to)
        Drives that a crew may make; a crew stays at its base on a date that is not there.
    trainers : mapping of trainer to frozenset of crew, or None
        With which crews a trainer may go; None = with all.
    """

    visits: frozenset[Visit]
    guests: frozenset[Visit]
    holds: frozenset[tuple[str, str, date]]
    moves: Mapping[tuple[str, date], frozenset[Move]]
    trainers: Mapping[str, frozenset[str]] | None = None

    def sleeping(self, crew: str, base: str, among: tuple[str, ...]) -> tuple[str, ...]:
        """Return the places where a crew may sleep, its base first."""
        used = {site for (code, _), moves in self.moves.items() if code == crew for move in moves for site in move}
        return (base, *(site for site in among if site in used and site != base))

    def allows(self, crew: str, day: date, start: str, end: str) -> bool:
        """Whether a crew may make a move on a date."""
        return (start, end) in self.moves.get((crew, day), ())
