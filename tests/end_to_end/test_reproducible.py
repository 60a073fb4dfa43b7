"""Reproducible mode: the same tables give the same plan and the same documents, to the byte, in any process."""

from __future__ import annotations

import subprocess
import time
from pathlib import Path

from command_runs import ENVIRONMENT, PROGRAM, tree
from rounds import day, facility, host, settings, staff, tiny_round

from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.codec import plan_to_json
from roundplan.intake import write_round
from roundplan.solver import find_plan

WORK = 2.0
"""Deterministic work allowed, in the solver's unit: a second or two on common machines."""


def small_round() -> TrainingRound:
    """Return the tiny round with two dates and further teams wanted, so that many plans are equally good."""
    search = {"reproducible": True, "work_limit": WORK, "workers": 2}
    hosting = host("ALFA", 0.3, 0.3, lodging_price=6, lodging_beds=20, teams_wanted=2)
    return tiny_round(
        settings=settings(round={"last_day": day(1)}, search=search),
        facilities=(hosting, facility("BETA", 0.3, 0.6, teams_wanted=2)),
        people=staff("ALFA", "PPPAAANNN") + staff("BETA", "PPPAAANNN"),
    )


def planned(seed: int, seconds: float = 60) -> str:
    return plan_to_json(find_plan(small_round(), seconds=seconds, seed=seed, workers=2, reproducible=True))


def test_two_searches_give_the_same_bytes_however_long_they_may_take() -> None:
    first = planned(seed=5)
    assert '"reproducible": true' in first
    begun = time.monotonic()
    assert planned(seed=5, seconds=0.1) == first, "seconds do not count in this mode"
    assert time.monotonic() - begun > 0.1


def test_two_runs_write_the_same_documents_whatever_the_order_of_sets(tmp_path: Path) -> None:
    """The hash seed changes the order in which sets are walked; nothing written may show it."""
    write_round(small_round(), tmp_path / "in")
    trees = []
    for hash_seed in ("1", "2"):
        out = tmp_path / f"OUT{hash_seed}"
        done = subprocess.run(
            [*PROGRAM, "plan", str(tmp_path / "in"), "--out", str(out)],
            env={**ENVIRONMENT, "PYTHONHASHSEED": hash_seed},
            capture_output=True,
            encoding="utf-8",
            timeout=120,
        )
        assert done.returncode == 0, done.stderr
        trees.append(tree(out))
    differing = [name for name in trees[0].keys() | trees[1].keys() if trees[0].get(name) != trees[1].get(name)]
    assert differing == ["record.sqlite"], "the record alone says when it was"
