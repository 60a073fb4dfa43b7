"""What a search tells of its tiers while it runs."""

from __future__ import annotations

from rounds import tiny_round

from roundplan.domain.progress import Progress
from roundplan.domain.rules import Aim
from roundplan.solver.facts import Facts
from roundplan.solver.solving import Limits
from roundplan.solver.tiers import Tiers


def test_no_bound_below_nought_is_shown() -> None:
    """A relaxation may prove no more than that the cost is above a number below nought."""
    told: list[Progress] = []
    tiers = Tiers(Facts(tiny_round()), Limits(seconds=1, seed=1, workers=1), told.append)
    tiers.watch(Aim.COST, Aim.COST)(4321, -3331)
    tiers.watch(Aim.COST, Aim.COST)(4321, 17)
    tiers.watch(Aim.FIRST_TEAMS, None)(6, -1)
    assert [(p.value, p.bound) for p in told] == [(4321, 0), (4321, 17), (None, None)]
