"""What the benchmarks share: a search with its first plan audited, runs in processes of their own, tables."""

from __future__ import annotations

import dataclasses
import json
import os
import platform
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
for _folder in (str(ROOT), str(Path(__file__).parent)):
    if _folder not in sys.path:
        sys.path.insert(0, _folder)

Result = dict[str, Any]
LOOK_EVERY, MEASURE_EVERY = 0.1, 10
"""Seconds between two looks at a run, and looks between two counts of the memory it holds (a count takes a while)."""


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


def timed_search(training_round: Any, seconds: float, seed: int, workers: int, search: str | None = None) -> Result:
    """Search once and return what is worth knowing.

    Parameters
    ----------
    search : str, optional
        Which search: auto, integrated or decomposed; None = as the round says.
    """
    from roundplan.domain.means import Means
    from roundplan.domain.outcome import ProvenImpossible, TimeRanOut
    from roundplan.solver import find_plan

    watch = Watch(training_round, time.monotonic())
    try:
        plan = find_plan(
            training_round,
            seconds=seconds,
            seed=seed,
            workers=workers,
            progress=watch.progress,
            first_plan=watch.first_plan,
            means=Means(search=search),
        )
    except (ProvenImpossible, TimeRanOut) as ended:
        return {"stopped": str(ended)}
    return described(plan, training_round, time.monotonic() - watch.begun, watch)


def described(plan: Any, training_round: Any, seconds: float, watch: Watch | None = None) -> Result:
    """Return the figures of a plan, audited.

    Parameters
    ----------
    seconds : float
        What the search took.
    watch : Watch, optional
        What it reported on the way; without one the plan is its own first plan.
    """
    begun = time.monotonic()
    broken = breaches(plan, training_round)
    audit = time.monotonic() - begun
    if watch is None or (watch.first is None and not broken and plan.teams):
        watch = watch or Watch(training_round, 0.0)
        watch.first, watch.first_teams = (None, 0) if broken else (seconds + audit, len(plan.teams))
    return {
        "first": watch.first,
        "first teams": watch.first_teams,
        "search": seconds,
        "ends": watch.ends,
        "audit": audit,
        "breaches": broken,
        "teams": len(plan.teams),
        "facilities": len({team.facility for team in plan.teams}),
        "people": len({seat.person for team in plan.teams for seat in team.seats}),
        "tiers": {tier.aim.value: (tier.value, tier.bound) for tier in plan.tiers},
    }


def in_own_process(arguments: Sequence[str], patience: float | None = None, most_mb: float | None = None) -> Result:
    """Run a script that prints JSON on its last line; return that, with the most memory all its processes held.

    Parameters
    ----------
    patience : float, optional
        Seconds after which the run is ended; the result then says so under ``stopped``.
    most_mb : float, optional
        Megabytes above which it is ended likewise.
    """
    begun, peak, stopped = time.monotonic(), 0.0, ""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as out:
        process = subprocess.Popen([sys.executable, *arguments], stdout=out, start_new_session=True)
        try:
            looks = 0
            while process.poll() is None:
                if looks % MEASURE_EVERY == 0:
                    peak = max(peak, _held_by_session(process.pid))
                looks += 1
                if patience is not None and time.monotonic() - begun > patience:
                    stopped = f"ended after {patience:.0f} s"
                elif most_mb is not None and peak > most_mb:
                    stopped = f"ended at {peak:.0f} MB"
                if stopped:
                    break
                time.sleep(LOOK_EVERY)
        finally:
            with suppress(ProcessLookupError):  # a run that broke off may leave processes of its own behind
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        out.seek(0)
        lines = out.read().splitlines()
    if stopped or process.returncode or not lines:
        return {"stopped": stopped or f"ended with code {process.returncode}", "memory": peak}
    result: Result = json.loads(lines[-1])
    return result | {"memory": max(peak, result.get("memory", 0.0))}


def own_peak() -> float:
    """Return the most megabytes that this process has held: what a short run reports of itself."""
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def _held_by_session(leader: int) -> float:
    """Return the megabytes that the processes of a session hold, pages they share counted once; 0 where unknown."""
    total = 0
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            if int(fields[3]) == leader:
                lines = (entry / "smaps_rollup").read_text().splitlines()
                total += next(int(line.split()[1]) for line in lines if line.startswith("Pss:"))
        except (OSError, IndexError, StopIteration):
            continue
    return total / 1024


def processor() -> str:
    """Return what the machine says of its processor."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.is_file() else []
    names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()


def machine() -> str:
    """Return in two lines on what, and under which load, the figures are taken."""
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    return (
        f"{os.cpu_count()} cores, {processor()}, load {load} at the start\n"
        f"Python {platform.python_version()}, ortools {version('ortools')}"
    )


def gap(value: float, bound: float | None) -> float | None:
    """Return |bound − value| ÷ max(|value|, 1); None without a bound."""
    return None if bound is None else abs(bound - value) / max(abs(value), 1)


def reached(value: int, bound: int | None) -> str:
    """Return value, bound and gap in words."""
    share = gap(value, bound)
    if share is None:
        return f"{value:,} / no bound"
    return f"{value:,} / {bound:,}, gap {100 * share:.1f} %"


def table(head: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1) -> str:
    """Return a markdown table; the first ``left`` columns are text, the others figures."""
    marks = ["---" if number < left else "---:" for number in range(len(head))]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in (head, marks, *rows))


Cell = Callable[[Result], str]
