"""The use cases of many plans of one round: what-if comparisons, and the best of several seeds."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.counts import counted
from roundplan.domain.means import NO_MEANS, Means
from roundplan.domain.plan import Plan, Tier
from roundplan.domain.rules import AIMS
from roundplan.domain.scenario import Asked, End, Scenario, Solved
from roundplan.outfolder.places import StrPath, comparison_folder, place_words

if TYPE_CHECKING:
    from roundplan.domain.training_round import TrainingRound
    from roundplan.intake import Reading
    from roundplan.scenarios.solving import Job

Told = Callable[[str], None]
"""Given one line for the terminal."""


@dataclass(frozen=True, slots=True)
class Compared:
    """What a comparison came to.

    Attributes
    ----------
    scenarios : tuple of Scenario
        The round as entered first, each with what became of it.
    names : tuple of str
        What each changes, in English.
    """

    scenarios: tuple[Scenario, ...]
    names: tuple[str, ...]


def compare(
    reading: Reading,
    out: StrPath,
    asked: Asked,
    *,
    source: Path,
    seconds: float | None = None,
    seed: int | None = None,
    means: Means = NO_MEANS,
    told: Told,
) -> Compared:
    """Use case: plan the round as entered and as changed, each on one core, and write them side by side.

    What is finished is kept beside ``out`` until all is written, so that a run that was cut off goes on from there.

    Parameters
    ----------
    source : Path
        Where the inputs were read from; ``out`` must lie apart.

    Raises
    ------
    InputsRefused, WrongPlace
        An earlier comparison stays as it was.
    """
    from roundplan.scenarios.changes import column_words, scenarios
    from roundplan.scenarios.solving import Job

    target = comparison_folder(out, source)
    columns = scenarios(reading, asked)
    names = tuple(column_words(column.changes) for column in columns)
    jobs = [Job(column.training_round, seconds, seed, means.search) for column in columns]
    done = _solved(jobs, names, reading.training_round, target, means, told)
    solved = tuple(dataclasses.replace(c, solved=s) for c, s in zip(columns, done, strict=True))
    _write(solved, reading, Path(out))
    _clear(target)
    return Compared(solved, names)


def _solved(
    jobs: Sequence[Job], names: Sequence[str], training_round: TrainingRound, target: Path, means: Means, told: Told
) -> list[Solved]:
    """Do the jobs as tasks with a store beside the target; says what an earlier run has left in it."""
    from roundplan import __version__
    from roundplan.scenarios.solving import solve_all
    from roundplan.tasks import fingerprint, store_beside

    search = training_round.settings.search
    processes = min(means.processes or search.processes or search.workers, len(jobs))
    store = store_beside(target, fingerprint((__version__, "many plans", training_round)))
    if found := store.count():
        told(f"resuming: {counted(found, 'finished plan')} found")
    else:
        each = search.seconds if jobs[0].seconds is None else jobs[0].seconds
        where = "on the cluster" if means.cluster else f"{counted(processes, 'process')} at a time"
        minutes = ceil(each * ceil(len(jobs) / processes) / 60)
        told(f"{counted(len(jobs), 'plan')} of {each:g} s each, {where}: about {counted(minutes, 'minute')}")

    def done(place: int) -> None:
        told(f"done: {names[place]}")

    means = dataclasses.replace(means, processes=processes, store=store.folder)
    return solve_all(jobs, means, done)


def _clear(target: Path) -> None:
    from roundplan.tasks import clear_beside

    clear_beside(target)


def _write(scenarios: Sequence[Scenario], reading: Reading, out: Path) -> None:
    from roundplan.domain.outcome import WrongPlace
    from roundplan.handouts.speech import speaking
    from roundplan.handouts.whatif import page, workbook
    from roundplan.handouts.write import NotOurs, replacing
    from roundplan.outfolder.places import COMPARISON

    with speaking(reading.training_round.settings.round.language):
        files = {"whatif.html": page.render(scenarios).encode(), "whatif.xlsx": workbook.render(scenarios)}
    try:
        with replacing(out, COMPARISON) as fresh:
            for name, content in files.items():
                (fresh / name).write_bytes(content)
    except (NotOurs, OSError) as error:
        raise WrongPlace(place_words(error, out)) from error


# seeds ------------------------------------------------------------------------------------------------------------


def best_of_seeds(
    training_round: TrainingRound,
    target: Path,
    seeds: int,
    *,
    seconds: float | None,
    seed: int | None,
    means: Means,
    told: Told,
) -> Plan:
    """Plan with several seeds, each on one core; return the best audited plan, and tell what the others came to.

    A bound that one search has proven holds for the best plan too where that is as good in the earlier aims.

    Raises
    ------
    ProvenImpossible, TimeRanOut, AuditFailed
        If no seed led to a plan.
    """
    from roundplan.scenarios.solving import Job

    first = training_round.settings.search.seed if seed is None else seed
    numbers = range(first, first + seeds)
    jobs = [Job(training_round, seconds, number, means.search) for number in numbers]
    names = [f"seed {number}" for number in numbers]
    solved = _solved(jobs, names, training_round, target, means, told)
    plans = [one.plan for one in solved if one.plan is not None]
    if not plans:
        raise _none_found(solved, training_round, seconds)
    best = min(plans, key=rank)
    for name, one in zip(names, solved, strict=True):
        told(f"{name}: {figures_of(one)}{'; the best' if one.plan is best else ''}")
    return dataclasses.replace(best, tiers=tuple(_tightest(best, plans, place) for place in range(len(best.tiers))))


def rank(plan: Plan) -> tuple[int, ...]:
    """Return what orders plans, the best first: tier by tier."""
    better = {definition.aim: -1 if definition.maximise else 1 for definition in AIMS}
    return tuple(better[tier.aim] * tier.value for tier in plan.tiers)


def _tightest(best: Plan, plans: Sequence[Plan], place: int) -> Tier:
    """Return a tier of the best plan with the tightest bound that any of the plans has proven for it."""
    from roundplan.domain.plan import Status

    tier, mine = best.tiers[place], rank(best)
    maximise = next(d.maximise for d in AIMS if d.aim is tier.aim)
    found = [
        other.tiers[place].bound
        for other in plans
        if all(a <= b for a, b in zip(mine[:place], rank(other)[:place], strict=True))
    ]
    known = [
        bound for bound in found if bound is not None and (bound >= tier.value if maximise else bound <= tier.value)
    ]
    if not known:
        return tier
    bound = min(known) if maximise else max(known)
    status = Status.OPTIMAL if bound == tier.value else Status.FEASIBLE
    return dataclasses.replace(tier, bound=bound, status=status)


def figures_of(solved: Solved) -> str:
    """Say in one line what a search came to."""
    if solved.plan is None:
        return {End.IMPOSSIBLE: "proven impossible", End.OUT_OF_TIME: "no team found in time"}.get(
            solved.end, "left out: its plan broke a rule, by a fault of the program"
        )
    teams, tiers = len(solved.plan.teams), solved.plan.tiers
    return f"{counted(teams, 'team')}; " + ", ".join(f"{tier.aim.value} {tier.value:,}" for tier in tiers)


def _none_found(solved: Sequence[Solved], training_round: TrainingRound, seconds: float | None) -> Exception:
    """Return why no seed led to a plan."""
    from roundplan.domain.outcome import AuditFailed, ProvenImpossible, TimeRanOut

    for one in solved:
        if one.end is End.IMPOSSIBLE:
            return ProvenImpossible(one.reasons)
    for one in solved:
        if one.end is End.BREACH:
            return AuditFailed(one.breaches)
    search = training_round.settings.search
    given = search.seconds if seconds is None else seconds
    return TimeRanOut(given, search.work_limit if search.reproducible else None)
