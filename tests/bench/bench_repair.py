"""Times repairs of a stored plan: run ``python tests/bench/bench_repair.py --size 12``.

A round is planned once and its plan kept in a folder; then one thing after another befalls it, each from that plan:
a holder declines, a trainer is ill, a road is closed. Printed are the seconds until the repaired plan is there and
audited, where they went, what is lost and changed, and what is proven. Pytest does not collect it.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import pickle
import sys
import time
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

from bench_common import ROOT, breaches, machine, table
from bench_search import SIZES
from generator import generate

sys.path.insert(0, str(ROOT))

GIVEN = {"12": 2.0, "60": 10.0}
"""Seconds in which a repair after one decline is to be there, audited."""
DAYS_BEFORE = 20
"""Today is so many days before the round's first day."""
HEAD = (
    "what befell",
    "seconds",
    "reading",
    "openings",
    "last opening",
    "writing",
    "audit",
    "lost",
    "points",
    "breaches",
)


def stored_plan(size: str, seed: int, seconds: float, folder: Path) -> tuple[Any, Any]:
    """Return a round and its plan, planned if it has not been before."""
    from roundplan.draft import completed
    from roundplan.solver import find_plan

    shape = SIZES[size]
    training_round = generate(shape.facilities, shape.days, shape.crews, seed=seed)
    file = folder / f"stored_{size}_{seed}.pickle"
    if not file.is_file():
        folder.mkdir(parents=True, exist_ok=True)
        plan = completed(find_plan(training_round, seconds=seconds, seed=seed, workers=2), training_round)
        file.write_bytes(pickle.dumps(plan))
    return training_round, pickle.loads(file.read_bytes())


def befallen(number: int, kind: str, plan: Any, training_round: Any) -> tuple[str, Any]:
    """Return in words what happens, and the round with it in its tables."""
    from roundplan.domain.person import Absence

    rng = Random(f"bench repair {number}")
    if kind == "decline":
        team = rng.choice(plan.teams)
        seat = rng.choice(team.seats)
        absence = Absence(who=seat.person, first=team.dates[0], last=team.dates[-1])
        return f"{seat.role} declines", training_round.replace(absences=(*training_round.absences, absence))
    if kind == "trainer":
        days = [(day.date, e.trainer) for trip in plan.trips for day in trip.days if day.sessions for e in day.aboard]
        on, code = rng.choice(days)
        absence = Absence(who=code, first=on, last=on)
        return "trainer is ill", training_round.replace(absences=(*training_round.absences, absence))
    legs = [leg.drive for trip in plan.trips for day in trip.days for leg in day.legs]
    drive = rng.choice(legs)
    path = {*drive.via, drive.start, drive.end}
    used = [n for n, road in enumerate(training_round.roads) if {road.start, road.end} <= path]
    roads = list(training_round.roads)
    for n in used[:1]:
        closures = (*roads[n].closures, (drive.date, drive.date + timedelta(days=2)))
        roads[n] = dataclasses.replace(roads[n], closures=closures)
    return "road closed for three dates", training_round.replace(roads=tuple(roads))


def repaired(words: str, plan: Any, training_round: Any, seconds: float, workers: int) -> tuple[str, ...]:
    """Return a row of the table."""
    from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
    from roundplan.domain.repair import RepairTask
    from roundplan.solver import repair_plan

    notes: list[tuple[float, str]] = []
    today = training_round.settings.round.first_day - timedelta(days=DAYS_BEFORE)
    begun = time.monotonic()
    try:
        found = repair_plan(
            RepairTask(plan, training_round, today),
            seconds=seconds,
            seed=1,
            workers=workers,
            gains=False,
            progress=lambda report: notes.append((time.monotonic() - begun, report.note)),
        )
    except (ProvenImpossible, TimeRanOut) as ended:
        return words, f"{time.monotonic() - begun:.2f}", *[""] * 5, str(ended)[:60], "", ""
    done = time.monotonic() - begun
    broken = breaches(found.plan, training_round)
    whole = time.monotonic() - begun
    openings = [entry for entry in notes if entry[1] != "writing"]
    first = openings[0][0] if openings else done
    writing = next((at for at, note in reversed(notes) if note == "writing"), done)
    seconds_of = (whole, first, writing - first)
    after = (done - writing, whole - done)
    return (
        words,
        *(f"{taken:.2f}" for taken in seconds_of),
        openings[-1][1] if openings else "none",
        *(f"{taken:.2f}" for taken in after),
        _measured(found.coverage_lost),
        _measured(found.stability),
        str(broken),
    )


def _measured(measured: Any) -> str:
    bound = "no bound" if measured.bound is None else str(measured.bound)
    return f"{measured.value} / {bound}"


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", choices=sorted(GIVEN), default="12")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--times", type=int, default=5, help="how often each thing happens")
    parser.add_argument("--plan-seconds", type=float, default=60.0)
    parser.add_argument("--seconds", type=float, default=None, help="for each repair; audit apart")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--folder", type=Path, default=Path("/tmp/roundplan_stored"))
    options = parser.parse_args()
    training_round, plan = stored_plan(options.size, options.seed, options.plan_seconds, options.folder)
    print(machine())
    print(f"{len(training_round.facilities)} facilities, {len(plan.teams)} teams in {len(plan.sessions)} sessions")
    seconds = GIVEN[options.size] if options.seconds is None else options.seconds
    rows = []
    for kind in ("decline", "trainer", "road"):
        for number in range(options.times):
            words, changed = befallen(number, kind, plan, training_round)
            rows.append(repaired(words, plan, changed, seconds, options.workers))
    print(table(HEAD, rows))
    print(f"load at the end {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
