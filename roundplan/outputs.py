"""The folder of outputs: every document of a plan and the snapshot of its inputs, written as a whole."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.outcome import AuditFailed, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.places import INPUTS, StrPath, output_folder, place_words

if TYPE_CHECKING:
    from roundplan.intake import Reading


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
    from roundplan.audit import audit_plan, describe
    from roundplan.handouts.folder import OWN_NAMES, documents
    from roundplan.handouts.write import NotOurs, replacing
    from roundplan.intake import snapshot

    breaches = audit_plan(plan, reading.training_round)
    if breaches:
        raise AuditFailed(describe(breaches))
    output_folder(folder)
    try:
        with replacing(Path(folder), OWN_NAMES) as fresh:
            snapshot(reading, fresh / INPUTS)
            plan = dataclasses.replace(plan, fingerprint=fingerprint(fresh / INPUTS))
            warnings = [warning.told for warning in reading.warnings]
            made = documents(plan, reading.training_round, reading.contacts, warnings, base_map=reading.base_map)
            for name, content in made:
                path = fresh / name
                path.parent.mkdir(exist_ok=True)
                path.write_bytes(content)
    except (NotOurs, OSError) as error:
        raise WrongPlace(place_words(error, folder)) from error
    return plan


def fingerprint(folder: Path) -> str:
    """Return the SHA-256 of a snapshot: names and contents of its files, line ends alike on all systems."""
    digest = hashlib.sha256()
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()
