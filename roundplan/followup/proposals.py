"""Proposals in the record: a repaired plan, what it rests on, and whether the manager took it."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from roundplan.followup.versions import Author, Version, add_change


@dataclass(frozen=True, slots=True)
class Proposal:
    """One proposal.

    Attributes
    ----------
    id : int
        Its number.
    version : int
        Row of the version that it would change.
    basis : str
        Digest of what it rests on: that version, and the tables with all facts and decisions.
    plan : str
        plan.json as it would be.
    told : str
        What the manager was shown.
    """

    id: int
    version: int
    basis: str
    plan: str
    told: str


def propose(
    connection: sqlite3.Connection, version: Version, basis: str, plan: str, told: Sequence[str], author: Author
) -> Proposal:
    """Put a proposal into the record, within a transaction; one that lies open there already is not put in twice."""
    lying = open_proposal(connection)
    if lying is not None and (lying.version, lying.basis, lying.plan) == (version.id, basis, plan):
        return lying
    change = add_change(connection, version.id, f"proposal to change version {version.number}", author)
    text = "\n".join(told)
    made = connection.execute(
        "INSERT INTO proposals (change, version, basis, plan, told) VALUES (?, ?, ?, ?, ?)",
        (change, version.id, basis, zlib.compress(plan.encode()), text),
    )
    return Proposal(int(made.lastrowid or 0), version.id, basis, plan, text)


def open_proposal(connection: sqlite3.Connection) -> Proposal | None:
    """Return the last proposal, if nothing was decided about it and no version came after it."""
    last = connection.execute("SELECT * FROM proposals ORDER BY id DESC LIMIT 1").fetchone()
    if last is None or connection.execute("SELECT 1 FROM decisions WHERE proposal = ?", (last["id"],)).fetchone():
        return None
    newest = connection.execute("SELECT max(id) FROM versions WHERE status <> 'draft'").fetchone()[0]
    return _proposal(last) if newest == last["version"] else None


def last_accepted(connection: sqlite3.Connection) -> Proposal | None:
    """Return the proposal that the version told last came from; None if it came from a draft."""
    row = connection.execute(
        "SELECT proposals.* FROM decisions JOIN proposals ON proposals.id = decisions.proposal "
        "WHERE decisions.number = (SELECT number FROM versions WHERE status <> 'draft' ORDER BY id DESC LIMIT 1)"
    ).fetchone()
    return _proposal(row) if row is not None else None


def decide(
    connection: sqlite3.Connection, version: Version, proposal: Proposal, author: Author, number: int | None
) -> None:
    """Record what was decided about a proposal, within a transaction.

    Parameters
    ----------
    number : int or None
        Number of the version that it becomes; None if it was refused.
    """
    what = f"proposal {proposal.id} refused" if number is None else f"proposal {proposal.id} accepted, version {number}"
    change = add_change(connection, version.id, what, author)
    connection.execute(
        "INSERT INTO decisions (proposal, change, accepted, number) VALUES (?, ?, ?, ?)",
        (proposal.id, change, number is not None, number),
    )


def base_version(connection: sqlite3.Connection) -> Version:
    """Return the last version that was told and came from a draft, not from a proposal: its tables are the round's own.

    Raises
    ------
    LookupError
        If nothing was told.
    """
    row = connection.execute(
        "SELECT * FROM versions WHERE status <> 'draft' AND number NOT IN "
        "(SELECT number FROM decisions WHERE number IS NOT NULL) ORDER BY id DESC LIMIT 1"
    ).fetchone()
    if row is None:
        raise LookupError("nothing was told")
    return Version(row["id"], row["number"], row["status"], row["fingerprint"], row["digest"])


def _proposal(row: sqlite3.Row) -> Proposal:
    plan = zlib.decompress(row["plan"]).decode()
    return Proposal(row["id"], row["version"], row["basis"], plan, row["told"])
