"""Ways: how one gets from one site to another, how long it takes and which crossings it uses."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from roundplan.travel.roadway import Stretch


@dataclass(frozen=True, slots=True)
class Gate:
    """A crossing with hours on a way.

    Attributes
    ----------
    enter_after, leave_after : int
        Driving seconds from the start at which the crossing is entered and left.
    open_from, open_to : int
        Seconds after midnight between which it must be entered and left.
    """

    enter_after: int
    leave_after: int
    open_from: int
    open_to: int


@dataclass(frozen=True, slots=True)
class Way:
    """A way between two sites.

    Attributes
    ----------
    seconds : int
        Time at the wheel with the road-time factor, rounded up; breaks not counted.
    km : float
        Length.
    source : str
        ``entered`` (one road row with hours as it stands), ``network``, ``straight line``, or ``near``
        where no drive is needed.
    factor : float
        Road-time factor, mixed by time where a path holds entered and computed hours.
    via : tuple of str
        Codes of the sites passed, both ends left out.
    gates : tuple of Gate
        Crossings with hours, in the order passed.
    """

    start: str
    end: str
    seconds: int
    km: float
    source: str
    factor: float
    via: tuple[str, ...] = ()
    gates: tuple[Gate, ...] = ()


def way_along(path: tuple[Stretch, ...], source: str) -> Way:
    """Return the way over stretches that follow one another."""
    gates: list[Gate] = []
    driven = Fraction(0)
    for stretch in path:
        before, driven = driven, driven + stretch.seconds
        if stretch.gate is not None:
            gates.append(Gate(math.floor(before), math.ceil(driven), *stretch.gate))
    bare = math.fsum(stretch.bare_seconds for stretch in path)
    return Way(
        start=path[0].start,
        end=path[-1].end,
        seconds=math.ceil(driven),
        km=round(math.fsum(s.km for s in path), 6),
        source=source,
        factor=round(float(driven) / bare, 9) if bare else 1.0,
        via=tuple(stretch.end for stretch in path[:-1]),
        gates=tuple(gates),
    )
