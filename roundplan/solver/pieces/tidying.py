"""Later tiers of a plan in pieces: realism, burden and cost improved tour by tour, with coverage held."""

from __future__ import annotations

from collections.abc import Callable
from itertools import zip_longest

from roundplan.domain.role import Include
from roundplan.domain.rules import AIMS, Aim, AimDefinition
from roundplan.solver.pieces.neighbourhoods import Neighbourhoods
from roundplan.solver.pieces.piece import Piece
from roundplan.solver.pieces.tours import Tour
from roundplan.solver.pieces.workshop import BATCH, Workshop

SECONDS, WORK = 5.0, 2.5
"""Most seconds of a piece; the same as deterministic work, in reproducible mode."""
END_SHARE = 0.9
"""Share of the time after which the later tiers are taken as they are; the rest is for their bounds."""
LATER = AIMS[3:]
"""The tiers after coverage."""


class Tidying:
    """Improves the later tiers of each tour; each keeps its teams and what it reached before."""

    def __init__(self, workshop: Workshop, neighbourhoods: Neighbourhoods) -> None:
        self.workshop, self.neighbourhoods = workshop, neighbourhoods
        self.reached: dict[int, dict[Aim, int]] = {}
        self._alive: list[Tour] = []  # so that no other tour gets the identity of one that is remembered
        self._must = {p.code for p in workshop.facts.round.people if p.include is Include.MUST}

    def run(self, told: Callable[[Aim], None]) -> None:
        """Improve tier after tier, each for its share of the time that is left."""
        begun = self.workshop.used()
        for position, definition in enumerate(LATER):
            until = begun + (END_SHARE - begun) * (position + 1) / len(LATER)
            earlier = {d.aim for d in LATER[:position]}
            while self.workshop.used() < until and self._all(definition, until, earlier):
                pass
            told(definition.aim)

    def _all(self, definition: AimDefinition, until: float, earlier: set[Aim]) -> bool:
        """Improve one tier of each tour once; returns whether that was worth doing again."""
        workshop, reached = self.workshop, self.reached
        order = sorted(workshop.found.tours, key=lambda tour: (tour.span, sorted(tour.crews)))
        half = (len(order) + 1) // 2
        queue = [tour for pair in zip_longest(order[:half], order[half:]) for tour in pair if tour is not None]
        again = False
        while queue and workshop.used() < until:
            batch, queue = queue[:BATCH], queue[BATCH:]
            before = [{a: v for a, v in reached.get(id(tour), {}).items() if a in earlier} for tour in batch]
            pieces = [self._piece(definition, *entry) for entry in zip(batch, before, strict=True)]
            old = [reached.get(id(tour), {}).get(definition.aim) for tour in batch]
            merged = workshop.merge(pieces, [(tour,) for tour in batch])
            queue = [batch[i] for i in merged.clashing] + queue
            for planned in merged.planned.values():
                again = again or planned.measures.get(definition.aim) not in old
                for tour in planned.tours or ():
                    if len(planned.tours or ()) == 1:
                        reached[id(tour)] = planned.measures
                        self._alive.append(tour)
        return again

    def _piece(self, definition: AimDefinition, tour: Tour, earlier: dict[Aim, int]) -> Piece:
        """Return the piece that improves one tier of a tour."""
        workshop = self.workshop
        return Piece(
            self.neighbourhoods.as_it_is(tour),
            workshop.found.taken([tour]),
            aim=definition.aim,
            limits=earlier | {Aim.MUST_PEOPLE: len(self._must & tour.taken.seated)},
            teams=tour.taken.teams,
            locks=tour.taken.locks,
            free=self.neighbourhoods.window([tour]),
            hint=tour.names,
            seed=workshop.seed(),
            seconds=SECONDS,
            work=WORK if workshop.limits.reproducible else 0.0,
        )
