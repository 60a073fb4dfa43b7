"""Versions of the plan in the record, with the inputs and contacts each came from, and who made them, when and why."""

from __future__ import annotations

import hashlib
import sqlite3
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from roundplan.domain.decision import Contact
from roundplan.followup.clock import now

DRAFT, ANNOUNCED, REVISED = "draft", "announced", "revised"


@dataclass(frozen=True, slots=True)
class Author:
    """Who changes something, and why."""

    who: str
    why: str


@dataclass(frozen=True, slots=True)
class Version:
    """One version of the plan.

    Attributes
    ----------
    id : int
        Its row in the record.
    number : int
        As documents print it; several drafts may have one number, announced versions never.
    status : str
        ``draft``, ``announced`` (the first that readers were told) or ``revised`` (a later one).
    fingerprint : str
        Of the inputs that it came from.
    digest : str
        SHA-256 of its plan.json.
    """

    id: int
    number: int
    status: str
    fingerprint: str
    digest: str


def digest_of(plan: str) -> str:
    """Return the SHA-256 of a plan.json."""
    return hashlib.sha256(plan.encode()).hexdigest()


def last_told(connection: sqlite3.Connection) -> Version | None:
    """Return the version that readers were told last; None while there are drafts only."""
    return _one(connection, "SELECT * FROM versions WHERE status <> 'draft' ORDER BY id DESC LIMIT 1")


def last_version(connection: sqlite3.Connection) -> Version | None:
    """Return the newest version, drafts included."""
    return _one(connection, "SELECT * FROM versions ORDER BY id DESC LIMIT 1")


def add_version(
    connection: sqlite3.Connection,
    number: int,
    plan: str,
    inputs: tuple[str, Mapping[str, bytes]],
    contacts: Iterable[Contact],
    author: Author,
    status: str = DRAFT,
) -> None:
    """Add a version, unless the newest is the same already; within a transaction.

    Parameters
    ----------
    plan : str
        plan.json.
    inputs : (str, mapping of str to bytes)
        Fingerprint of the inputs, and their files by name.
    """
    newest = last_version(connection)
    digest = digest_of(plan)
    if newest is not None and (newest.number, newest.status, newest.digest) == (number, status, digest):
        return
    fingerprint, files = inputs
    if not connection.execute("SELECT 1 FROM inputs WHERE fingerprint = ?", (fingerprint,)).fetchone():
        connection.execute("INSERT INTO inputs VALUES (?)", (fingerprint,))
        rows = [(fingerprint, name, zlib.compress(content)) for name, content in sorted(files.items())]
        connection.executemany("INSERT INTO input_files VALUES (?, ?, ?)", rows)
    made = connection.execute(
        "INSERT INTO versions (number, status, fingerprint, plan, digest) VALUES (?, ?, ?, ?, ?)",
        (number, status, fingerprint, zlib.compress(plan.encode()), digest),
    )
    row = int(made.lastrowid or 0)
    connection.executemany(
        "INSERT INTO contacts VALUES (?, ?, ?, ?)", [(row, c.who, c.phone, c.email) for c in contacts]
    )
    add_change(connection, row, f"version {number}, {status}", author)


def add_change(connection: sqlite3.Connection, version: int, what: str, author: Author) -> int:
    """Add who changed what, when and why; returns its row."""
    made = connection.execute(
        "INSERT INTO changes (made_at, who, what, why, version) VALUES (?, ?, ?, ?, ?)",
        (now().isoformat(), author.who, what, author.why, version),
    )
    return int(made.lastrowid or 0)


def plan_of(connection: sqlite3.Connection, version: Version) -> str:
    """Return a version's plan.json."""
    (content,) = connection.execute("SELECT plan FROM versions WHERE id = ?", (version.id,)).fetchone()
    return zlib.decompress(content).decode()


def plans_told(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the plan.json of every version that readers were told, the earliest first."""
    rows = connection.execute("SELECT plan FROM versions WHERE status <> 'draft' ORDER BY id")
    return tuple(zlib.decompress(row["plan"]).decode() for row in rows)


def input_files_of(connection: sqlite3.Connection, version: Version) -> dict[str, bytes]:
    """Return the files of the inputs that a version came from."""
    rows = connection.execute(
        "SELECT name, content FROM input_files WHERE fingerprint = ? ORDER BY name", (version.fingerprint,)
    )
    return {name: zlib.decompress(content) for name, content in rows}


def contacts_of(connection: sqlite3.Connection, version: Version) -> tuple[Contact, ...]:
    """Return the contacts that a version's documents were written with."""
    rows = connection.execute("SELECT who, phone, email FROM contacts WHERE version = ? ORDER BY rowid", (version.id,))
    return tuple(Contact(who=who, phone=phone, email=email) for who, phone, email in rows)


def _one(connection: sqlite3.Connection, query: str) -> Version | None:
    row = connection.execute(query).fetchone()
    if row is None:
        return None
    return Version(row["id"], row["number"], row["status"], row["fingerprint"], row["digest"])
