"""The folder of outputs: every document of a plan and the snapshot of its inputs, written as a whole."""

from __future__ import annotations

import dataclasses
import getpass
import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.outcome import AuditFailed, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.places import INPUTS, PLAN_FILE, StrPath, output_folder, place_words

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.followup.versions import Author
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
    from roundplan.followup.versions import DRAFT, Author, last_told

    def as_draft(connection: Connection) -> Plan:
        told = last_told(connection)
        if told is None or plan.status != DRAFT:
            return plan
        return dataclasses.replace(plan, version=told.number + 1)

    return write_version(plan, as_draft, reading, folder, Author(user_name(), "planned from the tables"))


def user_name() -> str:
    """Return the name of the user of the machine."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return "unknown"


def write_version(
    plan: Plan,
    settle: Callable[[Connection], Plan],
    reading: Reading,
    folder: StrPath,
    author: Author,
    *,
    status: str = "draft",
    waits: Callable[[], None] | None = None,
) -> Plan:
    """Audit a plan, write all its documents and add it to the folder's record: at one moment, or not at all.

    Parameters
    ----------
    settle : callable
        Given the folder's record, returns the plan with its version and status; called while no other run writes there.
    author : Author
        Who makes this version, and why.
    status : str
        As what the record keeps it: ``draft``, ``announced`` or ``revised``.
    waits : callable, optional
        Called once if another run has to be waited for.

    Raises
    ------
    AuditFailed, WrongPlace
        Nothing is written.
    """
    from roundplan.audit import audit_plan, describe
    from roundplan.followup.record import RECORD_NAMES, RecordUnreadable, carry, opened
    from roundplan.handouts.folder import OWN_NAMES
    from roundplan.handouts.write import NotOurs, replacing
    from roundplan.intake import snapshot

    breaches = audit_plan(plan, reading.training_round)
    if breaches:
        raise AuditFailed(describe(breaches))
    target = output_folder(folder)
    try:
        with replacing(Path(folder), OWN_NAMES | RECORD_NAMES, waits) as fresh:
            carry(target, fresh)
            with opened(fresh) as connection:
                plan = settle(connection)
                snapshot(reading, fresh / INPUTS)
                plan = dataclasses.replace(plan, fingerprint=fingerprint(fresh / INPUTS))
                _write_documents(plan, reading, fresh)
                _add_to_record(connection, plan, reading, fresh, author, status)
    except (NotOurs, OSError, RecordUnreadable) as error:
        raise WrongPlace(place_words(error, folder)) from error
    return plan


def _write_documents(plan: Plan, reading: Reading, fresh: Path) -> None:
    from roundplan.handouts.folder import documents

    warnings = [warning.told for warning in reading.warnings]
    made = documents(plan, reading.training_round, reading.contacts, warnings, base_map=reading.base_map)
    for name, content in made:
        path = fresh / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)


def _add_to_record(
    connection: Connection, plan: Plan, reading: Reading, fresh: Path, author: Author, status: str
) -> None:
    from roundplan.followup.record import writing
    from roundplan.followup.versions import add_version

    inputs = {path.name: path.read_bytes() for path in sorted((fresh / INPUTS).iterdir())}
    text = (fresh / PLAN_FILE).read_text(encoding="utf-8")
    with writing(connection):
        add_version(connection, plan.version, text, (plan.fingerprint, inputs), reading.contacts, author, status)


def fingerprint(folder: Path) -> str:
    """Return the SHA-256 of a snapshot: names and contents of its files, line ends alike on all systems."""
    digest = hashlib.sha256()
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()
