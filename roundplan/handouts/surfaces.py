"""What a drive runs on: the road rows between the points it passes, as the road network chose them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise

from roundplan.domain.place import Road
from roundplan.domain.plan import Drive
from roundplan.domain.role import Surface
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.terms import surface_word
from roundplan.handouts.words import kilometres, list_words
from roundplan.travel.roadway import stretches


@dataclass(frozen=True, slots=True)
class Hop:
    """A part of a drive between two points that follow one another.

    Attributes
    ----------
    km : float or None
        Length of its road; None where no row joins the two points.
    surface : Surface or None
        Surface entered for its road; None where none is.
    """

    start: str
    end: str
    km: float | None
    surface: Surface | None


class Surfaces:
    """The surfaces of drives, looked up in the road table."""

    def __init__(self, index: PlanIndex) -> None:
        self._index = index
        self._rows: dict[frozenset[str], list[tuple[int, Road]]] = defaultdict(list)
        for number, road in enumerate(index.training_round.roads):
            self._rows[frozenset((road.start, road.end))].append((number, road))

    def hops(self, drive: Drive) -> tuple[Hop, ...]:
        """Return the parts of a drive in order."""
        stops = (drive.start, *drive.via, drive.end)
        return tuple(self._hop(start, end, drive) for start, end in pairwise(stops))

    def _hop(self, start: str, end: str, drive: Drive) -> Hop:
        """Return a part with the fastest row that was open then, as the network takes it."""
        r = self._index.training_round
        wet, closed = self._index.roads.state(drive.date)
        found = []
        for number, road in self._rows.get(frozenset((start, end)), ()):
            if number in closed or (drive.source == "entered" and road.hours is None):
                continue
            ends = (r.site(road.start), r.site(road.end))
            ways = [s for s in stretches(road, ends, r.settings.travel, wet) if (s.start, s.end) == (start, end)]
            found += [(way.seconds, number, way.km, road.surface) for way in ways]
        if not found:
            return Hop(start, end, None, None)
        _, _, km, surface = min(found, key=lambda row: row[:2])
        return Hop(start, end, km, surface)

    def words(self, drive: Drive) -> str:
        """Say what a drive runs on: ``gravel 38 km and paved 3 km``; the longest part first."""
        hops = self.hops(drive)
        kinds = {hop.surface for hop in hops if hop.surface is not None}
        if not kinds:
            return say("surface not entered")
        if len(kinds) == 1 and all(hop.surface is not None or hop.km is None for hop in hops):
            return surface_words(hops[0].surface or kinds.pop())
        lengths: dict[Surface | None, float] = defaultdict(float)
        for hop in hops:
            lengths[hop.surface] += hop.km or 0.0
        ordered = sorted(lengths.items(), key=lambda entry: (-entry[1], str(entry[0])))
        parts = [(surface, km) for surface, km in ordered if km]
        return list_words(
            say("{surface} {length}", surface=surface_words(surface), length=kilometres(km)) for surface, km in parts
        )


def surface_words(surface: Surface | None) -> str:
    """Say a road's surface, or that none is entered."""
    return say("surface not entered") if surface is None else surface_word(surface)
