"""What facilities could send, looked at side by side in the workers."""

from __future__ import annotations

import pickle
from collections.abc import Sequence

from roundplan.solver.pieces.piece import shared_facts
from roundplan.solver.pieces.workshop import Workshop
from roundplan.solver.skeleton.demand import Asked
from roundplan.solver.skeleton.facility_demand import facility_demand
from roundplan.tasks import Shared, stopping

FUNCTION = "roundplan.solver.pieces.asking:run"
CHARGE = 0.05
"""Deterministic work that one facility counts for."""


def ask(workshop: Workshop, codes: Sequence[str]) -> Asked:
    """Look at facilities as tasks, one each."""
    return workshop.run(FUNCTION, codes, CHARGE)


def run(payload: bytes, shared: Shared) -> bytes:
    """Look at one facility, in a worker."""
    return pickle.dumps(facility_demand(shared_facts(shared), pickle.loads(payload), stopping))
