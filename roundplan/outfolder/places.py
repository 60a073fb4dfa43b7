"""Folders that outputs may go to: writable, apart from the inputs, and holding nothing of others."""

from __future__ import annotations

import os
from pathlib import Path

from roundplan.domain.outcome import WrongPlace

StrPath = str | os.PathLike[str]

INPUTS = "inputs"
"""Folder of the outputs that holds the snapshot of the inputs."""
PLAN_FILE = "plan.json"
COMPARISON = frozenset({"whatif.html", "whatif.xlsx"})
"""What a folder of a comparison holds."""

CLOSING, NEXT = "closing", "next"
"""Folders that closing a round writes: its final report, and the tables proposed for the next round."""


def output_folder(out: StrPath, source: Path | None = None) -> Path:
    """Return the output folder, refused if it cannot be written, would spoil the inputs or holds things of others."""
    from roundplan.handouts.folder import OWN_NAMES
    from roundplan.handouts.write import NotOurs, check_target, check_writable

    try:
        target = check_target(Path(out))
        check_writable(target)
        entries = {entry.name for entry in target.iterdir()} if target.is_dir() else set()
    except (NotOurs, OSError) as error:
        raise WrongPlace(place_words(error, out)) from error
    if source is not None:
        _check_apart(out, target, source, OWN_NAMES)
    taken = sorted(entries & OWN_NAMES)
    if taken and PLAN_FILE not in entries:
        words = f"{out} holds {', '.join(taken)} and no {PLAN_FILE}: it was not written by this program"
        raise WrongPlace(f"{words}; move what is there away, or name another folder for the outputs")
    return target


def comparison_folder(out: StrPath, source: Path) -> Path:
    """Return the folder of a comparison, refused if it cannot be written, would spoil the inputs or holds a plan."""
    from roundplan.handouts.write import NotOurs, check_target, check_writable

    try:
        target = check_target(Path(out))
        check_writable(target)
    except (NotOurs, OSError) as error:
        raise WrongPlace(place_words(error, out)) from error
    _check_apart(out, target, source, COMPARISON)
    if (target / PLAN_FILE).exists():
        raise WrongPlace(f"{out} holds a plan and its documents; name another folder for the comparison")
    return target


def _check_apart(out: StrPath, target: Path, source: Path, names: frozenset[str]) -> None:
    """Refuse outputs that would replace the inputs, or be read as forms of facilities the next time."""
    from roundplan.intake.forms_source import FORMS

    inputs = source.resolve()
    if inputs == target:
        raise WrongPlace(f"{out} holds the inputs; name another folder for the outputs")
    if inputs.is_relative_to(target / NEXT):
        raise WrongPlace(f"{out} holds the round that came before; name another folder for the outputs of the next")
    if inputs.is_relative_to(target) and inputs.relative_to(target).parts[0] in names:
        raise WrongPlace(f"{source} would be replaced by the outputs in {out}; name another folder for the outputs")
    if target == (inputs if inputs.is_dir() else inputs.parent) / FORMS:
        raise WrongPlace(f"{out} is where the forms of facilities are read; name another folder for the outputs")


def place_words(error: Exception, folder: StrPath) -> str:
    """Say why a folder cannot be written."""
    if isinstance(error, OSError):
        return f"{error.filename or folder} cannot be written: {error.strerror or error}"
    return str(error)
