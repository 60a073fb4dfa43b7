"""Compares the search with its rivals on invented rounds: run ``python tests/bench/bench_search.py --size 12``.

Every run is a process of its own, one after another, with the same time, seed and cores. Pytest does not collect it.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from bench_common import Result, described, gap, in_own_process, machine, own_peak, reached, table, timed_search
from generator import generate

COVERAGE = ("first teams", "must people", "further teams")
LATER = ("realism", "burden", "cost")
RUNNERS = ("ours", "greedy", "one CP-SAT", "one MIP")
HEAD = (
    "seed",
    "search",
    *COVERAGE,
    *LATER,
    "teams",
    "first audited plan, s",
    "whole run, s",
    "peak MB",
    "breaches",
)


@dataclass(frozen=True, slots=True)
class Size:
    """How large a round is; ``scarce`` is the number of crews where they are scarce."""

    facilities: int
    days: int
    crews: int
    scarce: int


SIZES = {
    "12": Size(12, 20, 2, 2),
    "60": Size(60, 40, 5, 2),
    "300": Size(300, 60, 20, 8),
    "1000": Size(1000, 120, 60, 24),
}
GROWTH = (Size(12, 20, 2, 2), Size(30, 30, 3, 1), Size(60, 40, 5, 2), Size(120, 50, 9, 4), Size(300, 60, 20, 8))
"""Rounds of the same kind, each about twice as large as the one before."""


@dataclass(frozen=True, slots=True)
class Job:
    """One run: which search on which round, and with what."""

    runner: str
    size: Size
    scarce: bool
    seed: int
    seconds: float
    workers: int

    def round(self) -> Any:
        """Return the round that is searched."""
        size = self.size
        crews = size.scarce if self.scarce else size.crews
        return generate(size.facilities, size.days, crews, seed=self.seed, crews_scarce=self.scarce)


def _ours(job: Job, training_round: Any) -> Result:
    return timed_search(training_round, job.seconds, job.seed, job.workers)


def _one_cp_sat(job: Job, training_round: Any) -> Result:
    return timed_search(training_round, job.seconds, job.seed, job.workers, search="integrated")


def _greedy(job: Job, training_round: Any) -> Result:
    from rivals.greedy import greedy_plan

    begun = time.monotonic()
    plan = greedy_plan(training_round, seconds=job.seconds, seed=job.seed)
    return described(plan, training_round, time.monotonic() - begun)


def _one_mip(job: Job, training_round: Any) -> Result:
    from rivals.one_mip import skeleton_by_mip

    begun = time.monotonic()
    found = skeleton_by_mip(training_round, seconds=job.seconds, seed=job.seed, workers=job.workers)
    if not found.value:
        return {"stopped": f"no skeleton in {job.seconds:g} s"}
    tiers = {aim: (value, found.bound.get(aim)) for aim, value in found.value.items()}
    return {"claimed": True, "search": time.monotonic() - begun, "tiers": tiers}


RUN: dict[str, Callable[[Job, Any], Result]] = {
    "ours": _ours,
    "greedy": _greedy,
    "one CP-SAT": _one_cp_sat,
    "one MIP": _one_mip,
}


def run_here(text: str) -> None:
    """Do one job, given as JSON, and print its result as JSON."""
    fields = json.loads(text)
    job = Job(**fields | {"size": Size(**fields["size"])})
    print(json.dumps(RUN[job.runner](job, job.round()) | {"memory": own_peak()}))


def run_apart(job: Job, most_mb: float | None) -> Result:
    """Do one job in a process of its own; one that takes three times as long as it may and ten minutes is ended."""
    arguments = [__file__, "--job", json.dumps(dataclasses.asdict(job))]
    return in_own_process(arguments, patience=3 * job.seconds + 600, most_mb=most_mb)


def row(job: Job, result: Result) -> list[str]:
    """Return the line of one run."""
    memory = f"{result['memory']:.0f}"
    if "stopped" in result:
        return [str(job.seed), job.runner, result["stopped"], *[""] * (len(HEAD) - 5), memory, ""]
    tiers = result["tiers"]
    claimed = " (claimed)" if result.get("claimed") else ""
    first = result.get("first")
    return [
        str(job.seed),
        job.runner + claimed,
        *(reached(*tiers[aim]) if aim in tiers else "" for aim in COVERAGE),
        *(reached(*tiers[aim]) if aim in tiers else "" for aim in LATER),
        str(result.get("teams", "")),
        "" if first is None else f"{first:.1f}",
        f"{result['search']:.1f}",
        memory,
        str(result.get("breaches", "")),
    ]


def coverage(result: Result) -> tuple[int, ...] | None:
    """Return the coverage tiers in order; None without an audited plan."""
    if "stopped" in result or result.get("claimed") or result["breaches"]:
        return None
    return tuple(result["tiers"][aim][0] for aim in COVERAGE)


def verdicts(results: dict[tuple[int, str], Result]) -> Iterator[str]:
    """Yield what the bars ask of the rivals: never more coverage than ours, less where they are far below our bound.

    Tiers are compared in order, the first that differs decides; the MIP's claims are no plans and are left out.
    """
    for (seed, runner), result in results.items():
        ours, theirs = results.get((seed, "ours")), coverage(result)
        if runner == "ours" or ours is None or theirs is None:
            continue
        mine = coverage(ours)
        if mine is None or mine < theirs:
            yield f"seed {seed}: {runner} has MORE coverage than ours"
            continue
        far = [
            aim
            for aim in ("first teams", "further teams")
            if (gap(result["tiers"][aim][0], ours["tiers"][aim][1]) or 0) > 0.02
        ]
        word = "as much coverage as" if mine == theirs else "less coverage than"
        note = f", and is over 2 % below our bound in {' and '.join(far)}" if far else ""
        yield f"seed {seed}: {runner} has {word} ours{note}"


def compare(given: argparse.Namespace, size: Size, scarce: bool) -> None:
    """Run every search on every seed of one size and print them side by side."""
    crews = size.scarce if scarce else size.crews
    print(
        f"\n## {size.facilities} facilities, {size.days} days, {crews} crews, crew-{'scarce' if scarce else 'rich'}: "
        f"{given.seconds:g} s, {given.workers} workers\n"
    )
    results: dict[tuple[int, str], Result] = {}
    lines = []
    for seed in range(given.first_seed, given.first_seed + given.seeds):
        for runner in given.runners:
            job = Job(runner, size, scarce, seed, given.seconds, given.workers)
            results[seed, runner] = run_apart(job, given.most_mb)
            lines.append(row(job, results[seed, runner]))
            print(f"seed {seed}, {runner}: done", file=sys.stderr)
    print(table(HEAD, lines, left=2))
    print("", *(f"* {line}" for line in verdicts(results)), sep="\n")


def grow(given: argparse.Namespace) -> None:
    """Print time and memory against size, one seed each."""
    head = ("facilities", "days", "crews", "search", *COVERAGE, "first audited plan, s", "whole run, s", "peak MB")
    print(f"\n## Growth: seed {given.first_seed}, {given.seconds:g} s, {given.workers} workers\n")
    lines = []
    for size in GROWTH:
        for scarce in given.kinds:
            for runner in given.runners:
                job = Job(runner, size, scarce, given.first_seed, given.seconds, given.workers)
                cells = row(job, run_apart(job, given.most_mb))
                crews = f"{size.scarce} (scarce)" if scarce else str(size.crews)
                sized = (str(size.facilities), str(size.days), crews)
                lines.append([*sized, *cells[1:5], *cells[7:10]])
                print(f"{size.facilities} facilities, {runner}: done", file=sys.stderr)
    print(table(head, lines, left=4))


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    add = parser.add_argument
    add("--size", choices=[*SIZES], default="12", help="facilities of the round")
    add("--facilities", type=int, help="any other size, with --days and --crews")
    add("--days", type=int, default=20, help="weekdays")
    add("--crews", type=int, default=2)
    add("--kind", choices=["rich", "scarce", "both"], default="both", help="whether crews are scarce")
    add("--runners", nargs="+", choices=RUNNERS, default=list(RUNNERS), help="searches to run")
    add("--seeds", type=int, default=5, help="how many")
    add("--first-seed", type=int, default=1)
    add("--seconds", type=float, default=60, help="time for each search")
    add("--workers", type=int, default=2, help="cores for each search")
    add("--most-mb", type=float, default=None, help="end a run that holds more")
    add("--growth", action="store_true", help="time and memory against size instead")
    add("--job", help=argparse.SUPPRESS)
    return parser


def _sizes(given: argparse.Namespace) -> Iterable[Size]:
    if given.facilities is None:
        return (SIZES[given.size],)
    return (Size(given.facilities, given.days, given.crews, given.crews),)


def main() -> None:
    """Print the tables that were asked for."""
    given = _arguments().parse_args()
    if given.job is not None:
        run_here(given.job)
        return
    given.kinds = {"rich": (False,), "scarce": (True,), "both": (False, True)}[given.kind]
    print(machine())
    if given.growth:
        grow(given)
        return
    for size in _sizes(given):
        for scarce in given.kinds:
            compare(given, size, scarce)


if __name__ == "__main__":
    main()
