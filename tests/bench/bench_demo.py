"""Times the demo round, seed by seed: run ``python tests/bench/bench_demo.py``; pytest does not collect it.

Every seed is searched in a process of its own, one after another, so that none sees another's memory.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

Result = dict[str, Any]


@dataclass
class Watch:
    """Takes in what the search reports and audits the first plan the moment it is there."""

    training_round: Any
    begun: float
    first: float | None = None
    first_teams: int = 0
    ends: dict[str, float] = dataclasses.field(default_factory=dict)

    def first_plan(self, plan: Any) -> None:
        """Audit the first plan; the clock stops when it has passed."""
        if self.first is None and not breaches(plan, self.training_round):
            self.first = time.monotonic() - self.begun
            self.first_teams = len(plan.teams)

    def progress(self, report: Any) -> None:
        """Note when each tier ends."""
        if report.note == "tier done":
            self.ends[report.aim] = time.monotonic() - self.begun


def breaches(plan: Any, training_round: Any) -> int:
    """Return how many breaches the audit finds in a plan as the search hands it over."""
    from roundplan.audit import audit_plan
    from roundplan.costs.pricing import price_plan
    from roundplan.supplies.loads import load_trips

    plan = load_trips(plan, training_round)
    plan = dataclasses.replace(
        plan, round_name=training_round.settings.round.name, costs=price_plan(plan, training_round)
    )
    return len(audit_plan(plan, training_round))


def peak_megabytes() -> float:
    """Return the most memory that this process has held."""
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def one(inputs: Path, seconds: float, seed: int, workers: int) -> Result:
    """Search once and return what is worth knowing."""
    from roundplan.intake import read_round
    from roundplan.solver import find_plan

    begun = time.monotonic()
    training_round = read_round(inputs).training_round
    read = time.monotonic() - begun
    watch = Watch(training_round, time.monotonic())
    plan = find_plan(
        training_round,
        seconds=seconds,
        seed=seed,
        workers=workers,
        progress=watch.progress,
        first_plan=watch.first_plan,
    )
    found = time.monotonic() - watch.begun
    begun = time.monotonic()
    broken = breaches(plan, training_round)
    return {
        "read": read,
        "first": watch.first,
        "first teams": watch.first_teams,
        "search": found,
        "ends": watch.ends,
        "audit": time.monotonic() - begun,
        "breaches": broken,
        "teams": len(plan.teams),
        "facilities": len({team.facility for team in plan.teams}),
        "people": len({seat.person for team in plan.teams for seat in team.seats}),
        "tiers": {tier.aim.value: (tier.value, tier.bound, tier.gap) for tier in plan.tiers},
        "memory": peak_megabytes(),
    }


def rows(results: list[Result], seconds: float) -> Iterable[tuple[str, list[str]]]:
    """Yield the lines of the table: what is measured, then a cell for each seed."""

    def line(what: str, cell: Callable[[Result], str]) -> tuple[str, list[str]]:
        return what, [cell(result) for result in results]

    def share(gap: float | None) -> str:
        return "" if gap is None else f", gap {gap:.1%}".replace("%", " %")

    yield line("first audited plan, s", lambda r: "none" if r["first"] is None else f"{r['first']:.1f}")
    yield line("teams in it", lambda r: str(r["first teams"]))
    for aim in results[0]["tiers"]:

        def reached(r: Result, aim: str = aim) -> str:
            value, bound, gap = r["tiers"][aim]
            return f"{value:,} / {'no bound' if bound is None else f'{bound:,}'}{share(gap)}"

        yield line(f"{aim} at {seconds:g} s: value / bound", reached)
    for before, aim in zip([None, *results[0]["ends"]], results[0]["ends"], strict=False):

        def taken(r: Result, aim: str = aim, before: str | None = before) -> str:
            return f"{r['ends'][aim] - (r['ends'][before] if before else 0):.1f}"

        yield line(f"time of {aim}, s", taken)
    yield line("whole search, s", lambda r: f"{r['search']:.1f}")
    yield line("teams / facilities / people", lambda r: f"{r['teams']} / {r['facilities']} / {r['people']}")
    yield line("breaches in the plan", lambda r: str(r["breaches"]))
    yield line("reading, s", lambda r: f"{r['read']:.2f}")
    yield line("loads, prices and audit, s", lambda r: f"{r['audit']:.2f}")
    yield line("peak memory, MB", lambda r: f"{r['memory']:.0f}")


def processor() -> str:
    """Return what the machine says of its processor."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.is_file() else []
    names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()


def main() -> None:
    """Run the seeds one by one and print them side by side."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--inputs", type=Path, default=ROOT / "inputs_demo")
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seeds", type=int, default=3, help="how many seeds, from 1")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--one", type=int, metavar="SEED", help="search this seed here and print JSON")
    given = parser.parse_args()
    if given.one is not None:
        print(json.dumps(one(given.inputs, given.seconds, given.one, given.workers)))
        return
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    print(f"{given.inputs.name}, {given.seconds:g} s, {given.workers} workers")
    print(f"{os.cpu_count()} cores, {processor()}, load {load} at the start")
    print(f"Python {platform.python_version()}, ortools {version('ortools')}\n")
    seeds = range(1, given.seeds + 1)
    results = []
    for seed in seeds:
        command = [sys.executable, __file__, "--one", str(seed), "--inputs", str(given.inputs)]
        command += ["--seconds", str(given.seconds), "--workers", str(given.workers)]
        done = subprocess.run(command, stdout=subprocess.PIPE, encoding="utf-8", check=True)
        results.append(json.loads(done.stdout.splitlines()[-1]))
    print("| | " + " | ".join(f"seed {seed}" for seed in seeds) + " |")
    print("| --- |" + " ---: |" * len(results))
    for what, cells in rows(results, given.seconds):
        print(f"| {what} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
