"""The use cases: read, plan, audit, write. Rooms load when used."""

from __future__ import annotations

import dataclasses
import hashlib
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.outcome import AuditFailed, InputsRefused, ProvenImpossible, TimeRanOut, WrongPlace
from roundplan.domain.plan import Plan, Reason, Status
from roundplan.domain.progress import Progress
from roundplan.domain.rules import Aim

if TYPE_CHECKING:
    from roundplan.audit import Breach
    from roundplan.domain.training_round import TrainingRound
    from roundplan.intake import Reading

StrPath = str | os.PathLike[str]

INPUTS = "inputs"
PLAN_FILE = "plan.json"


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


def make_plan(
    training_round: TrainingRound,
    *,
    seconds: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> Plan:
    """Search for a plan.

    Parameters
    ----------
    training_round : TrainingRound
        What is known before planning.
    seconds, seed, workers : number or None
        Time for the search, its seed and the processor cores it uses; None = as ``[search]`` of the round says.
    progress : callable, optional
        Called with what the search reports.

    Returns
    -------
    Plan
        Loads and prices filled in; not audited.

    Raises
    ------
    ProvenImpossible
        If no plan exists.
    TimeRanOut
        If none was found in time.
    KeyboardInterrupt
        If interrupted before any team was found.
    """
    from roundplan import __version__
    from roundplan.costs.pricing import price_plan
    from roundplan.solver import find_plan
    from roundplan.supplies.loads import load_trips

    with _interrupt_held_back():
        import_module("roundplan.solver.planner")

    search = training_round.settings.search
    given = search.seconds if seconds is None else seconds
    plan = find_plan(
        training_round,
        seconds=given,
        seed=search.seed if seed is None else seed,
        workers=search.workers if workers is None else workers,
        reproducible=search.reproducible,
        progress=progress,
        first_plan=_first_plan_audited(training_round, progress),
    )
    if not plan.teams:
        if plan.search.stopped == "interrupted":
            raise KeyboardInterrupt
        if not any(facility.teams_wanted for facility in training_round.facilities):
            raise ProvenImpossible([Reason(who="facilities", rule=None, words="teams_wanted is 0 everywhere")])
        if any(tier.aim is Aim.FIRST_TEAMS and tier.status is Status.OPTIMAL for tier in plan.tiers):
            raise ProvenImpossible(plan.reasons)
        raise TimeRanOut(given)
    plan = load_trips(plan, training_round)
    return dataclasses.replace(
        plan,
        round_name=training_round.settings.round.name,
        program=f"roundplan {__version__}",
        costs=price_plan(plan, training_round),
    )


@contextmanager
def _interrupt_held_back() -> Iterator[None]:
    """Let Ctrl-C wait while the solver's library loads, which would turn it into an error of its own."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    asked: list[int] = []
    earlier = signal.signal(signal.SIGINT, lambda number, _frame: asked.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, earlier)
    if asked:
        raise KeyboardInterrupt


def _first_plan_audited(
    training_round: TrainingRound, progress: Callable[[Progress], None] | None
) -> Callable[[Plan], None] | None:
    """Return what audits the first plan and reports it; None without a listener."""
    if progress is None:
        return None
    started = time.monotonic()

    def audited(plan: Plan) -> None:
        kept = not audit_plan(plan, training_round)
        words = f"first plan, {len(plan.teams)} teams: the audit found every rule kept"
        note = words if kept else "first plan: not yet in order, the search goes on"
        progress(Progress(time.monotonic() - started, "first plan", note=note))

    return audited


def audit_plan(plan: Plan, training_round: TrainingRound) -> tuple[Breach, ...]:
    """Check every rule of a plan anew from the inputs, with nothing of the solver's; empty = all kept."""
    from roundplan.audit import audit_plan as audit

    return audit(plan, training_round)


def write_handouts(plan: Plan, reading: Reading, folder: StrPath) -> Plan:
    """Audit a plan and write all its documents; the folder is replaced as a whole or not at all.

    Parameters
    ----------
    plan : Plan
        A plan of ``reading.training_round``.
    reading : Reading
        What it was made from; its snapshot goes along.
    folder : path-like
        Made or replaced; what else lies there stays.

    Returns
    -------
    Plan
        The plan as written, with the fingerprint of its inputs.

    Raises
    ------
    AuditFailed
        If the plan breaks a rule; nothing is written.
    WrongPlace
        If the folder cannot be replaced.
    """
    from roundplan.audit import describe
    from roundplan.handouts.folder import OWN_NAMES, documents
    from roundplan.handouts.write import NotOurs, replacing
    from roundplan.intake import snapshot

    breaches = audit_plan(plan, reading.training_round)
    if breaches:
        raise AuditFailed(describe(breaches))
    _check_target(folder)
    try:
        with replacing(Path(folder), OWN_NAMES) as fresh:
            snapshot(reading, fresh / INPUTS)
            plan = dataclasses.replace(plan, fingerprint=fingerprint(fresh / INPUTS))
            warnings = [str(warning) for warning in reading.warnings]
            for name, content in documents(plan, reading.training_round, reading.contacts, warnings):
                path = fresh / name
                path.parent.mkdir(exist_ok=True)
                path.write_bytes(content)
    except (NotOurs, OSError) as error:
        raise WrongPlace(_place_words(error, folder)) from error
    return plan


def fingerprint(folder: Path) -> str:
    """Return the SHA-256 of a snapshot: names and contents of its files, line ends alike on all systems."""
    digest = hashlib.sha256()
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()


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
    return Checked((), tuple(str(warning) for warning in reading.warnings))


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan that was written, and the warnings about its inputs."""

    plan: Plan
    training_round: TrainingRound
    warnings: tuple[str, ...]


def plan_round(
    path: StrPath,
    out: StrPath,
    *,
    seconds: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> Planned:
    """Use case: read, search, audit, write.

    Raises
    ------
    InputsRefused, ProvenImpossible, TimeRanOut, AuditFailed, WrongPlace
        Each leaves an earlier output as it was.
    """
    _check_target(out, Path(path))
    reading = _read(path)
    started = time.monotonic()
    plan = make_plan(reading.training_round, seconds=seconds, seed=seed, workers=workers, progress=progress)
    if progress is not None:
        note = "checking the plan anew and writing the documents"
        progress(Progress(time.monotonic() - started, "audit", note=note))
    plan = write_handouts(plan, reading, out)
    return Planned(plan, reading.training_round, tuple(str(warning) for warning in reading.warnings))


def audit_folder(out: StrPath) -> tuple[str, ...]:
    """Use case: check a written plan anew; one line a breach, empty = all kept.

    Raises
    ------
    InputsRefused
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
        raise WrongPlace(_place_words(error, folder)) from error
    file = folder / PLAN_FILE
    if not file.is_file() or not (folder / INPUTS).is_dir():
        raise WrongPlace(
            f"{out} holds no {PLAN_FILE} with its {INPUTS} folder; name a folder that a plan was written to"
        )
    try:
        plan = plan_from_json(file.read_text(encoding="utf-8"))
    except PlanFileError as error:
        raise InputsRefused([f"{PLAN_FILE}: {error}"]) from error
    except UnicodeDecodeError as error:
        raise InputsRefused([f"{PLAN_FILE}: is no UTF-8 text"]) from error
    changed = fingerprint(folder / INPUTS) != plan.fingerprint
    lines = [f"figures: the {INPUTS} folder is not what {PLAN_FILE} was made from"] if changed else []
    return (*lines, *describe(audit_plan(plan, _read(folder / INPUTS).training_round)))


def _check_target(out: StrPath, source: Path | None = None) -> None:
    """Refuse an output folder that cannot be written, would spoil the inputs, or holds others' things of our names."""
    from roundplan.handouts.folder import OWN_NAMES
    from roundplan.handouts.write import NotOurs, check_target, check_writable

    try:
        target = check_target(Path(out))
        check_writable(target)
        entries = {entry.name for entry in target.iterdir()} if target.is_dir() else set()
    except (NotOurs, OSError) as error:
        raise WrongPlace(_place_words(error, out)) from error
    if source is not None:
        _check_apart(out, target, source, OWN_NAMES)
    taken = sorted(entries & OWN_NAMES)
    if taken and PLAN_FILE not in entries:
        words = f"{out} holds {', '.join(taken)} and no {PLAN_FILE}: it was not written by this program"
        raise WrongPlace(f"{words}; move what is there away, or name another folder for the outputs")


def _check_apart(out: StrPath, target: Path, source: Path, names: frozenset[str]) -> None:
    """Refuse outputs that would replace the inputs, or be read as forms of facilities the next time."""
    from roundplan.intake.forms_source import FORMS

    inputs = source.resolve()
    if inputs == target:
        raise WrongPlace(f"{out} holds the inputs; name another folder for the outputs")
    if inputs.is_relative_to(target) and inputs.relative_to(target).parts[0] in names:
        raise WrongPlace(f"{source} would be replaced by the outputs in {out}; name another folder for the outputs")
    if target == (inputs if inputs.is_dir() else inputs.parent) / FORMS:
        raise WrongPlace(f"{out} is where the forms of facilities are read; name another folder for the outputs")


def new_round(folder: StrPath, *, forms: bool = False) -> tuple[Path, ...]:
    """Use case: write empty tables, a guide and round.toml; returns the files written."""
    from roundplan.intake.blank import write_blank

    try:
        return write_blank(folder, forms=forms)
    except OSError as error:
        raise WrongPlace(_place_words(error, folder)) from error


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


def _place_words(error: Exception, folder: StrPath) -> str:
    if isinstance(error, OSError):
        return f"{error.filename or folder} cannot be written: {error.strerror or error}"
    return str(error)
