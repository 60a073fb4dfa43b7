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
from roundplan.outfolder.places import INPUTS, PLAN_FILE, StrPath, output_folder, place_words

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.followup.versions import Author
    from roundplan.intake import Reading
    from roundplan.outfolder.documents import Written


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
    from roundplan.outfolder.documents import with_codes_told, write_documents

    breaches = audit_plan(plan, reading.training_round)
    if breaches:
        raise AuditFailed(describe(breaches))
    target = output_folder(folder)
    try:
        with replacing(Path(folder), OWN_NAMES | RECORD_NAMES, waits) as fresh:
            carry(target, fresh)
            with opened(fresh) as connection:
                plan = with_codes_told(connection, settle(connection), reading.training_round)
                snapshot(reading, fresh / INPUTS)
                plan = dataclasses.replace(plan, fingerprint=fingerprint(fresh / INPUTS))
                written = write_documents(connection, plan, reading, fresh)
                _add_to_record(connection, plan, reading, fresh, author, status, written)
    except (NotOurs, OSError, RecordUnreadable) as error:
        raise WrongPlace(place_words(error, folder)) from error
    return plan


def _add_to_record(
    connection: Connection, plan: Plan, reading: Reading, fresh: Path, author: Author, status: str, written: Written
) -> None:
    from roundplan.followup.documents import add_documents, add_numbers
    from roundplan.followup.record import writing
    from roundplan.followup.versions import DRAFT, add_version, last_told

    inputs = {path.name: path.read_bytes() for path in sorted((fresh / INPUTS).iterdir())}
    text = (fresh / PLAN_FILE).read_text(encoding="utf-8")
    with writing(connection):
        add_version(connection, plan.version, text, (plan.fingerprint, inputs), reading.contacts, author, status)
        told = last_told(connection)
        if told is not None and told.number == plan.version and plan.status != DRAFT:
            add_numbers(connection, written.numbers)
            add_documents(connection, told, written.told)


def documents_with(folder: Path, version: int, waits: Callable[[], None] | None = None) -> tuple[str, ...]:
    """Return the paths of readers' documents that are new or have changed with a version that readers were told.

    Parameters
    ----------
    folder : Path
        A folder of outputs, links resolved.
    waits : callable, optional
        Called once if another run has to be waited for.
    """
    from roundplan.followup.documents import documents_of_version
    from roundplan.followup.record import opened
    from roundplan.handouts.write import alone

    with alone(folder.parent, waits), opened(folder) as connection:
        return documents_of_version(connection, version)


def fingerprint(folder: Path) -> str:
    """Return the SHA-256 of a snapshot: names and contents of its files, line ends alike on all systems."""
    digest = hashlib.sha256()
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()
