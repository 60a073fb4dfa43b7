"""The use cases: read, plan, audit, write. Rooms load when used."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.counts import counted
from roundplan.domain.means import NO_MEANS, Means
from roundplan.domain.outcome import AuditFailed, InputsRefused, OutputsDamaged, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.domain.progress import Progress
from roundplan.domain.scenario import Asked
from roundplan.draft import INTERRUPTED, completed, make_plan
from roundplan.outfolder.outputs import fingerprint, write_handouts
from roundplan.outfolder.places import INPUTS, PLAN_FILE, StrPath, output_folder, place_words
from roundplan.replanning.deciding import Decision, accept, refuse
from roundplan.replanning.new_facts import FactsTaken, take_fact, take_facts
from roundplan.replanning.proposing import Proposed, replan
from roundplan.workflow.afterwards import Announced, Answered, announce, take_replies, tell_history
from roundplan.workflow.closed import Closed, close, purge
from roundplan.workflow.manyplans import Compared, best_of_seeds, compare

if TYPE_CHECKING:
    from roundplan.audit import Breach
    from roundplan.domain.training_round import TrainingRound
    from roundplan.intake import Reading

__all__ = [
    "Announced",
    "Answered",
    "Asked",
    "Checked",
    "Closed",
    "Compared",
    "Decision",
    "FactsTaken",
    "Planned",
    "Proposed",
    "accept",
    "announce",
    "audit_folder",
    "audit_plan",
    "check_inputs",
    "close",
    "fingerprint",
    "make_plan",
    "new_round",
    "plan_round",
    "plan_seeds",
    "purge",
    "read_round",
    "refuse",
    "replan",
    "take_fact",
    "take_facts",
    "take_replies",
    "tell_history",
    "what_if",
    "write_handouts",
]


def read_round(path: StrPath) -> Reading:
    """Read the inputs of a round.

    Parameters
    ----------
    path : path-like
        Folder of tables with round.toml, or a workbook.

    Returns
    -------
    Reading
        ``training_round``, ``contacts``, ``warnings``, ``tables``.

    Raises
    ------
    roundplan.intake.FindingsError
        Once, with everything that is wrong.
    """
    from roundplan.intake import read_round as read

    return read(path)


def audit_plan(plan: Plan, training_round: TrainingRound) -> tuple[Breach, ...]:
    """Check every rule of a plan anew from the inputs, with nothing of the solver's; empty = all kept."""
    from roundplan.audit import audit_plan as audit

    return audit(plan, training_round)


@dataclass(frozen=True, slots=True)
class Checked:
    """What is wrong and what is worth knowing in the inputs, one line each."""

    findings: tuple[str, ...]
    warnings: tuple[str, ...]


def check_inputs(path: StrPath) -> Checked:
    """Use case: look at the inputs and nothing else."""
    try:
        reading = _read(path)
    except InputsRefused as refused:
        return Checked(refused.findings, refused.warnings)
    return Checked((), _warnings(reading))


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan that was written, and what is to be said about it.

    Attributes
    ----------
    warnings : tuple of str
        About its inputs.
    later_breaches : tuple of str
        What a later plan broke that was not written.
    told : int or None
        Version that readers were told and that still holds; None if nothing was announced in that folder.
    """

    plan: Plan
    training_round: TrainingRound
    warnings: tuple[str, ...]
    later_breaches: tuple[str, ...] = ()
    told: int | None = None


def plan_round(
    path: StrPath,
    out: StrPath,
    *,
    seconds: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Callable[[Progress], None] | None = None,
    means: Means = NO_MEANS,
) -> Planned:
    """Use case: read, search, audit, write; finished parts of a search that is cut off are kept beside ``out``.

    Should the plan that the search ends with break a rule, the first plan is written if the audit found it in order.

    Raises
    ------
    InputsRefused, ProvenImpossible, TimeRanOut, AuditFailed, WrongPlace
        Each leaves an earlier output as it was.
    """
    from roundplan.audit.kept import KeptPlan

    target = output_folder(out, Path(path))
    reading = _read(path)
    started = time.monotonic()
    means = _resuming(reading.training_round, target, seed, means, progress)
    kept = KeptPlan(reading.training_round, progress)
    plan = make_plan(
        reading.training_round, seconds=seconds, seed=seed, workers=workers, progress=progress, means=means,
        first_plan=kept,
    )  # fmt: skip
    if progress is not None:
        note = "checking the plan anew and writing the documents"
        progress(Progress(time.monotonic() - started, "audit", note=note))
    later_breaches: tuple[str, ...] = ()
    try:
        plan = write_handouts(plan, reading, out)
    except AuditFailed as failed:
        if kept.plan is None:
            raise
        later_breaches = failed.breaches
        earlier = dataclasses.replace(kept.plan, search=plan.search)
        plan = write_handouts(completed(earlier, reading.training_round), reading, out)
    if plan.search.stopped != INTERRUPTED:
        from roundplan.tasks import clear_beside

        clear_beside(target)
    told = plan.version - 1 or None  # a draft is numbered after the version that was announced last
    return Planned(plan, reading.training_round, _warnings(reading), later_breaches, told)


def plan_seeds(
    path: StrPath,
    out: StrPath,
    seeds: int,
    *,
    seconds: float | None = None,
    seed: int | None = None,
    means: Means = NO_MEANS,
    told: Callable[[str], None],
) -> Planned:
    """Use case: as :func:`plan_round`, the best of several seeds, each searched for on one core.

    Raises
    ------
    InputsRefused, ProvenImpossible, TimeRanOut, AuditFailed, WrongPlace
        Each leaves an earlier output as it was.
    """
    from roundplan.tasks import clear_beside

    target, reading = output_folder(out, Path(path)), _read(path)
    best = best_of_seeds(reading.training_round, target, seeds, seconds=seconds, seed=seed, means=means, told=told)
    plan = write_handouts(best, reading, out)
    clear_beside(target)
    return Planned(plan, reading.training_round, _warnings(reading), told=plan.version - 1 or None)


def what_if(
    path: StrPath,
    out: StrPath,
    asked: Asked,
    *,
    seconds: float | None = None,
    seed: int | None = None,
    means: Means = NO_MEANS,
    told: Callable[[str], None],
) -> Compared:
    """Use case: plan a round as entered and as changed, and write the plans side by side; see :func:`compare`."""
    reading = _read(path)
    return compare(reading, out, asked, source=Path(path), seconds=seconds, seed=seed, means=means, told=told)


def _warnings(reading: Reading) -> tuple[str, ...]:
    """Return all that is worth knowing in the inputs, letters that cannot be printed last."""
    from roundplan.handouts.pdf.unprintable import unprintable_lines

    return (*map(str, reading.warnings), *unprintable_lines(reading.training_round))


def _resuming(
    training_round: TrainingRound,
    target: Path,
    seed: int | None,
    means: Means,
    progress: Callable[[Progress], None] | None,
) -> Means:
    """Return the means with a store for what the search finishes; says what an earlier run has left in it."""
    from roundplan import __version__
    from roundplan.tasks import fingerprint as name_of
    from roundplan.tasks import store_beside

    store = store_beside(target, name_of((__version__, training_round, seed, means.search)))
    found = store.count()
    if found and progress is not None:
        progress(Progress(0.0, "search", note=f"resuming: {counted(found, 'finished task')} found"))
    return dataclasses.replace(means, store=store.folder)


def audit_folder(out: StrPath) -> tuple[str, ...]:
    """Use case: check a written plan anew; one line a breach, empty = all kept.

    Raises
    ------
    OutputsDamaged
        If plan.json or the snapshot beside it cannot be read.
    WrongPlace
        If the folder holds no plan.
    """
    from roundplan.audit import describe
    from roundplan.handouts.codec import PlanFileError, plan_from_json
    from roundplan.handouts.write import NotOurs, recover

    folder = Path(out)
    try:
        recover(folder)
    except (NotOurs, OSError) as error:
        raise WrongPlace(place_words(error, folder)) from error
    file = folder / PLAN_FILE
    if not file.is_file() or not (folder / INPUTS).is_dir():
        raise WrongPlace(
            f"{out} holds no {PLAN_FILE} with its {INPUTS} folder; name a folder that a plan was written to"
        )
    try:
        plan = plan_from_json(file.read_text(encoding="utf-8"))
        training_round = _read(folder / INPUTS).training_round
    except PlanFileError as error:
        raise OutputsDamaged([f"{PLAN_FILE}: {error}"]) from error
    except UnicodeDecodeError as error:
        raise OutputsDamaged([f"{PLAN_FILE}: is no UTF-8 text"]) from error
    except InputsRefused as error:
        raise OutputsDamaged([f"{INPUTS}/{line}" for line in error.findings]) from error
    changed = fingerprint(folder / INPUTS) != plan.fingerprint
    lines = [f"figures: the {INPUTS} folder is not what {PLAN_FILE} was made from"] if changed else []
    return (*lines, *describe(audit_plan(plan, training_round)))


def new_round(folder: StrPath, *, forms: bool = False) -> tuple[Path, ...]:
    """Use case: write empty tables, a guide and round.toml; returns the files written."""
    from roundplan.intake.blank import write_blank

    try:
        return write_blank(folder, forms=forms)
    except OSError as error:
        raise WrongPlace(place_words(error, folder)) from error


def _read(path: StrPath) -> Reading:
    from roundplan.intake import FindingsError

    if not Path(path).exists():
        raise WrongPlace(f"there is no file or folder {path}")
    try:
        return read_round(path)
    except FindingsError as error:
        raise InputsRefused([str(f) for f in error.findings], [str(w) for w in error.warnings]) from error
    except OSError as error:
        raise WrongPlace(f"{error.filename or path} cannot be read: {error.strerror or error}") from error
