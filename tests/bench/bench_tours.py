"""Plans the published overnight tours and prints found against published: run ``python tests/bench/bench_tours.py``.

The tables are looked for where OVERNIGHT_TOURS points, else in ../shared/published beside the repository. Every tour
is an ordinary round read from its own folder of tables, planned, audited and compared; pytest does not collect this.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import tempfile
import time
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "published")]

from overnight_tours import Tour, data_folder, published_tours, write_inputs  # noqa: E402

from roundplan.domain.rules import Aim  # noqa: E402
from roundplan.workflow import audit_plan, make_plan, read_round  # noqa: E402

HEAD = "| tour | published days | travel | found days | travel | bound | breaches | seconds |"


def row(tour: Tour, folder: Path, seconds: float, workers: int) -> tuple[str, bool]:
    """Return one line of the table, and whether the published optimum was reached and passed the audit."""
    begun = time.monotonic()
    training_round = read_round(write_inputs(tour, folder)).training_round
    plan = make_plan(training_round, seconds=seconds, seed=1, workers=workers)
    took = time.monotonic() - begun
    days = [day for trip in plan.trips for day in trip.days]
    travel = sum(leg.drive.km for day in days for leg in day.legs)
    breaches = len(audit_plan(plan, training_round))
    cost = next(tier for tier in plan.tiers if tier.aim is Aim.COST)
    off = None if cost.bound is None else cost.value - cost.bound
    bound = "proven" if off == 0 else "none" if off is None else f"{off} off"
    cells = (tour.name, tour.days, tour.travel, len(days), f"{travel:.1f}", bound, breaches, f"{took:.1f}")
    everybody = len({team.facility for team in plan.teams}) == len(tour.points) - 1
    reached = everybody and not breaches and len(days) == tour.days and round(10 * (travel - tour.travel)) <= 0
    return "| " + " | ".join(str(cell) for cell in cells) + " |", reached


def main() -> int:
    """Print the table; 1 if a published optimum was missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=120.0, help="time for each search")
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    data = data_folder()
    if data is None:
        print("the published tables are not there: set OVERNIGHT_TOURS to their folder")
        return 1
    print(f"{platform.machine()}, {os.cpu_count()} cores, ortools {version('ortools')}, {given.workers} workers\n")
    print(HEAD, "| --- " * 8 + "|", sep="\n")
    missed = False
    with tempfile.TemporaryDirectory() as folder:
        for tour in published_tours(data):
            line, reached = row(tour, Path(folder) / tour.name, given.seconds, given.workers)
            missed |= not reached
            print(line, flush=True)
    return int(missed)


if __name__ == "__main__":
    raise SystemExit(main())
