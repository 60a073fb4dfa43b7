"""The record of a round: one SQLite file beside the handouts, to which is only ever added.

Everything of one command is one transaction. Whoever opens the file to write in it holds the lock of the folder
(``handouts.write.alone``), as the folder around it may be replaced as a whole; SQLite's own lock does the rest where
a file system knows no such locks.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from roundplan.followup.schema import STEPS

RECORD_FILE = "record.sqlite"
RECORD_NAMES = frozenset({RECORD_FILE, f"{RECORD_FILE}-wal", f"{RECORD_FILE}-shm"})
"""The record and what SQLite keeps beside it while it is open, or after a command was killed."""

WAIT = 600.0
"""Seconds to wait for another command that writes in the record."""


class RecordUnreadable(ValueError):
    """A record that cannot be read; the text says why in plain words."""


def has_record(folder: Path) -> bool:
    """Whether a folder of outputs has a record."""
    return (folder / RECORD_FILE).is_file()


def carry(folder: Path, fresh: Path) -> None:
    """Copy a folder's record, whole, into the folder that replaces it; nobody may be writing in it meanwhile."""
    for name in sorted(RECORD_NAMES - {f"{RECORD_FILE}-shm"}):
        with suppress(FileNotFoundError):
            shutil.copy2(folder / name, fresh / name)


@contextmanager
def opened(folder: Path) -> Iterator[sqlite3.Connection]:
    """Open a folder's record, made if there is none, and close it at the end.

    Raises
    ------
    RecordUnreadable
        If the file is no record, is damaged, or was made by a newer version of the program.
    """
    path = folder / RECORD_FILE
    if not path.exists():
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))  # contacts are for the manager alone
    try:
        with closing(sqlite3.connect(path, timeout=WAIT, isolation_level=None)) as connection:
            connection.row_factory = sqlite3.Row
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
            _migrate(connection)
            yield connection
    except sqlite3.DatabaseError as error:
        raise RecordUnreadable(f"{RECORD_FILE} cannot be used: {error}") from error


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """Make everything within one transaction: all of it lands, or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _migrate(connection: sqlite3.Connection) -> None:
    def version() -> int:
        return int(connection.execute("PRAGMA user_version").fetchone()[0])

    if version() == len(STEPS):
        return
    with writing(connection):
        found = version()
        if found > len(STEPS):
            raise RecordUnreadable(f"{RECORD_FILE} was made by a newer version of this program")
        for number, step in enumerate(STEPS[found:], start=found + 1):
            for statement in step:
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number}")
