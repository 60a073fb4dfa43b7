"""Removing all that names people from a record; versions, who-did-what without names, and figures stay."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Mapping
from datetime import date

from roundplan.followup.record import writing
from roundplan.followup.versions import Author, Version, add_change

KEPT = frozenset({"versions", "inputs", "input_files", "changes", "closings", "purges"})
"""Tables that are not emptied whole; whatever another part of the program adds to the record is."""

_SAFE = ("version ", "attendance", "replies", "final report", "personal data")
"""Beginnings of what changes say that name nobody; of a longer text the part before `` from `` stays."""


def closed(connection: sqlite3.Connection) -> bool:
    """Whether a final report has been written."""
    return connection.execute("SELECT 1 FROM closings").fetchone() is not None


def purged(connection: sqlite3.Connection) -> bool:
    """Whether personal data have been removed."""
    return connection.execute("SELECT 1 FROM purges").fetchone() is not None


def purge_date(connection: sqlite3.Connection) -> date | None:
    """Return the date from which a closed round's personal data are removed; None if none was set, or not closed."""
    row = connection.execute("SELECT purge_on FROM closings ORDER BY id DESC LIMIT 1").fetchone()
    return date.fromisoformat(row["purge_on"]) if row is not None and row["purge_on"] else None


def empty(
    connection: sqlite3.Connection,
    told: Version,
    plan: str,
    inputs: tuple[str, Mapping[str, bytes]],
    author: Author,
) -> None:
    """Remove everything that names people, and give the room back, so that nothing of it is left in the file.

    The record is otherwise only ever added to; its guards are lifted within this one transaction.

    Parameters
    ----------
    told : Version
        The version that readers were told last; it keeps its plan and inputs, without names.
    plan : str
        plan.json without names.
    inputs : (str, mapping of str to bytes)
        Fingerprint of the inputs without names, and their files.
    """
    connection.execute("PRAGMA foreign_keys = OFF")  # tables are emptied in any order
    with writing(connection):
        guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for guard in guards:
            connection.execute(f'DROP TRIGGER "{guard["name"]}"')
        change = add_change(connection, told.id, "personal data removed", author)
        connection.execute("INSERT INTO purges (change) VALUES (?)", (change,))
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        for table in (row["name"] for row in tables if row["name"] not in KEPT):
            connection.execute(f'DELETE FROM "{table}"')
        _replace_plans(connection, told, plan, inputs)
        _bare_changes(connection)
        for guard in guards:
            connection.execute(guard["sql"])
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("VACUUM")
    connection.execute("PRAGMA wal_checkpoint (TRUNCATE)")


def _replace_plans(
    connection: sqlite3.Connection, told: Version, plan: str, inputs: tuple[str, Mapping[str, bytes]]
) -> None:
    """Keep the plan and inputs of what was told last, without names; of other versions what tells them apart."""
    fingerprint, files = inputs
    connection.execute("DELETE FROM input_files")
    connection.execute("INSERT OR IGNORE INTO inputs VALUES (?)", (fingerprint,))
    rows = [(fingerprint, name, zlib.compress(content)) for name, content in sorted(files.items())]
    connection.executemany("INSERT INTO input_files VALUES (?, ?, ?)", rows)
    connection.execute("UPDATE versions SET plan = ?", (zlib.compress(b""),))
    connection.execute(
        "UPDATE versions SET plan = ?, fingerprint = ? WHERE id = ?",
        (zlib.compress(plan.encode()), fingerprint, told.id),
    )


def _bare_changes(connection: sqlite3.Connection) -> None:
    """Say of each change when it was and of which kind; names become numbers, the same name the same number."""
    numbers: dict[str, int] = {}
    for row in connection.execute("SELECT id, who, what FROM changes ORDER BY id").fetchall():
        number = numbers.setdefault(row["who"], len(numbers) + 1)
        what = row["what"].partition(" from ")[0]
        shown = what if what.startswith(_SAFE) else "change"
        connection.execute(
            "UPDATE changes SET who = ?, what = ?, why = ? WHERE id = ?",
            (f"person {number}", shown, "removed with the personal data", row["id"]),
        )
