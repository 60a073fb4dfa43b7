"""Documents in the record: which version each carries, what went into it, and how it was written.

A document that was told stays as it is until something in it changes; what was written is kept, so that an unchanged
one is the same to the byte whatever lies in the folder, and so that slips of earlier versions can be read.
"""

from __future__ import annotations

import hashlib
import sqlite3
import zlib
from collections.abc import Iterable
from dataclasses import dataclass

from roundplan.followup.versions import Version
from roundplan.slips.numbering import TOLD_CHECK, Numbers


@dataclass(frozen=True, slots=True)
class Told:
    """A document as readers have it.

    Attributes
    ----------
    path : str
        Within the folder of outputs.
    version : int
        Of its own last change.
    reader, code : str
        Whose it is: kind of reader, and their code.
    source : str
        SHA-256 of what went into it.
    digest : str
        SHA-256 of the file.
    """

    path: str
    version: int
    reader: str
    code: str
    source: str
    digest: str


def digest_of_bytes(content: bytes) -> str:
    """Return the SHA-256 of a file's content."""
    return hashlib.sha256(content).hexdigest()


def documents_told(connection: sqlite3.Connection) -> dict[str, Told]:
    """Return the documents that readers have, by path, each in its newest version."""
    rows = connection.execute("SELECT * FROM documents ORDER BY id")
    return {row["path"]: _told(row) for row in rows}


def documents_of_version(connection: sqlite3.Connection, version: int) -> tuple[str, ...]:
    """Return the paths of documents that are new or have changed with a version that readers were told."""
    rows = connection.execute("SELECT path FROM documents WHERE version = ? ORDER BY path", (version,))
    return tuple(row["path"] for row in rows)


def document_of(connection: sqlite3.Connection, path: str, version: int) -> Told | None:
    """Return a document in one of its versions; None if it never had that version."""
    row = connection.execute("SELECT * FROM documents WHERE path = ? AND version = ?", (path, version)).fetchone()
    return None if row is None else _told(row)


def content_of(connection: sqlite3.Connection, told: Told) -> bytes | None:
    """Return a document as it was written; None once it has been purged."""
    row = connection.execute("SELECT content FROM document_contents WHERE digest = ?", (told.digest,)).fetchone()
    return None if row is None else zlib.decompress(row["content"])


def add_documents(connection: sqlite3.Connection, version: Version, documents: Iterable[tuple[Told, bytes]]) -> None:
    """Add documents that are new or changed with a version that readers are told; within a transaction."""
    for told, content in documents:
        connection.execute(
            "INSERT INTO documents (told, path, version, reader, code, source, digest) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (version.id, told.path, told.version, told.reader, told.code, told.source, told.digest),
        )
        connection.execute(
            "INSERT INTO document_contents VALUES (?, ?) ON CONFLICT (digest) DO NOTHING",
            (told.digest, zlib.compress(content, 1)),
        )


def numbers_told(connection: sqlite3.Connection) -> Numbers | None:
    """Return letters and numbers of all reply codes that were ever sent out; None if none were."""
    letters = {row["facility"]: row["letters"] for row in connection.execute("SELECT * FROM reply_letters")}
    if not letters:
        return None
    found: dict[str, dict[tuple[str, str], int]] = {"row": {}, "person": {}}
    for row in connection.execute("SELECT * FROM reply_numbers"):
        found[row["kind"]][row["facility"], row["subject"]] = row["number"]
    return Numbers(letters, found["row"], found["person"], TOLD_CHECK)


def add_numbers(connection: sqlite3.Connection, numbers: Numbers) -> None:
    """Add letters and numbers that were not given before; within a transaction."""
    connection.executemany(
        "INSERT INTO reply_letters VALUES (?, ?) ON CONFLICT (facility) DO NOTHING", sorted(numbers.letters.items())
    )
    for kind, given in (("row", numbers.rows), ("person", numbers.people)):
        rows = [(facility, kind, subject, number) for (facility, subject), number in given.items()]
        connection.executemany(
            "INSERT INTO reply_numbers VALUES (?, ?, ?, ?) ON CONFLICT (facility, kind, subject) DO NOTHING", rows
        )


def _told(row: sqlite3.Row) -> Told:
    return Told(row["path"], row["version"], row["reader"], row["code"], row["source"], row["digest"])
