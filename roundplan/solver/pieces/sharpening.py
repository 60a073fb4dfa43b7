"""Where coverage stays below its bound: how many teams the facilities that lack some can send at all."""

from __future__ import annotations

import pickle

from roundplan.solver.pieces.piece import shared_facts
from roundplan.solver.pieces.workshop import Workshop
from roundplan.solver.skeleton.round_release import most_in_round
from roundplan.solver.skeleton.shape import Shape
from roundplan.tasks import Shared

CHARGE = 0.3
"""Deterministic work that one facility counts for."""


class Sharpening:
    """Tightens the skeleton by what its facilities can really send."""

    def __init__(self, workshop: Workshop, shape: Shape) -> None:
        self.workshop, self.shape = workshop, shape
        self._known: set[str] = set()

    def run(self) -> bool:
        """Look at facilities that lack teams and were not looked at before; returns whether the skeleton is tighter."""
        sent, total = self.workshop.found.taken().teams, self.shape.demand.total
        lacking = [code for code, most in total.items() if sent.get(code, 0) < most and code not in self._known]
        self._known.update(lacking)
        limits = self.workshop.run(FUNCTION, lacking, CHARGE)
        tighter = False
        for code, most in zip(lacking, limits, strict=True):
            if most is not None and most < total[code]:
                self.shape.limit(code, most)
                tighter = True
        return tighter


FUNCTION = "roundplan.solver.pieces.sharpening:run"


def run(payload: bytes, shared: Shared) -> bytes:
    """Return an upper limit of the teams of one facility, in a worker."""
    return pickle.dumps(most_in_round(shared_facts(shared), pickle.loads(payload)))
