"""Times the demo round, seed by seed: run ``python tests/bench/bench_demo.py``; pytest does not collect it.

Every seed is searched in a process of its own, one after another, so that none sees another's memory.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterable
from pathlib import Path

from bench_common import ROOT, Cell, Result, in_own_process, machine, own_peak, reached, table, timed_search


def one(inputs: Path, seconds: float, seed: int, workers: int) -> Result:
    """Read the tables, search once and return what is worth knowing."""
    from roundplan.intake import read_round

    begun = time.monotonic()
    training_round = read_round(inputs).training_round
    read = time.monotonic() - begun
    return timed_search(training_round, seconds, seed, workers) | {"read": read, "memory": own_peak()}


def rows(results: list[Result], seconds: float) -> Iterable[list[str]]:
    """Yield the lines of the table: what is measured, then a cell for each seed."""

    def line(what: str, cell: Cell) -> list[str]:
        return [what, *("" if "stopped" in result else cell(result) for result in results)]

    whole = next((result for result in results if "tiers" in result), {"tiers": {}, "ends": {}})
    if any("stopped" in result for result in results):
        yield ["without a plan", *(result.get("stopped", "") for result in results)]
    yield line("first audited plan, s", lambda r: "none" if r["first"] is None else f"{r['first']:.1f}")
    yield line("teams in it", lambda r: str(r["first teams"]))
    for aim in whole["tiers"]:
        yield line(f"{aim} at {seconds:g} s: value / bound", lambda r, aim=aim: reached(*r["tiers"][aim]))
    for before, aim in zip([None, *whole["ends"]], whole["ends"], strict=False):

        def taken(r: Result, aim: str = aim, before: str | None = before) -> str:
            if aim not in r["ends"]:
                return ""
            return f"{r['ends'][aim] - (r['ends'].get(before, 0) if before else 0):.1f}"

        yield line(f"time of {aim}, s", taken)
    yield line("whole search, s", lambda r: f"{r['search']:.1f}")
    yield line("teams / facilities / people", lambda r: f"{r['teams']} / {r['facilities']} / {r['people']}")
    yield line("breaches in the plan", lambda r: str(r["breaches"]))
    yield line("reading, s", lambda r: f"{r['read']:.2f}")
    yield line("loads, prices and audit, s", lambda r: f"{r['audit']:.2f}")
    yield ["peak memory, MB", *(f"{result['memory']:.0f}" for result in results)]


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
    print(f"{given.inputs.name}, {given.seconds:g} s, {given.workers} workers\n{machine()}\n")
    seeds = range(1, given.seeds + 1)
    results = []
    for seed in seeds:
        arguments = [__file__, "--one", str(seed), "--inputs", str(given.inputs)]
        results.append(in_own_process([*arguments, "--seconds", str(given.seconds), "--workers", str(given.workers)]))
    print(table(["", *(f"seed {seed}" for seed in seeds)], rows(results, given.seconds)))


if __name__ == "__main__":
    main()
