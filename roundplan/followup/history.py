"""The history of a round: its versions, and who changed what, when and why."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import datetime

from roundplan.domain.counts import counted
from roundplan.followup.held.store import told_statements


def history(connection: sqlite3.Connection) -> Iterator[str]:
    """Yield a line a change, the earliest first, and below it each reply that came with it; moments in UTC."""
    rows = connection.execute(
        "SELECT changes.*, versions.number, versions.status, versions.fingerprint FROM changes "
        "JOIN versions ON versions.id = changes.version ORDER BY changes.id"
    ).fetchall()
    for change in rows:
        when = datetime.fromisoformat(change["made_at"])
        yield f"{when:%Y-%m-%d %H:%M} UTC, {change['who']}: {change['what']}{_inputs(change)}. Why: {change['why']}"
        yield from _replies(connection, change["id"])
        yield from (f"  {line}" for line in told_statements(connection, change["id"]))


def _inputs(change: sqlite3.Row) -> str:
    if change["what"].startswith("version "):
        return f", from inputs {change['fingerprint'][:12]}"
    return f", to version {change['number']}"


def _replies(connection: sqlite3.Connection, change: int) -> Iterator[str]:
    for row in connection.execute("SELECT * FROM answers WHERE change = ? ORDER BY id", (change,)):
        yield f"  {row['about']}: {'; '.join(_said(row))} ({row['place']})"
    aside = connection.execute(
        "SELECT answers.* FROM set_aside JOIN answers ON answers.id = set_aside.answer WHERE set_aside.change = ?"
        " ORDER BY answers.id",
        (change,),
    ).fetchall()
    if aside:
        yield f"  these no longer hold ({counted(len(aside), 'reply')}):"
    for row in aside:
        yield f"    {row['about']}: {'; '.join(_said(row))} ({row['place']})"


def _said(row: sqlite3.Row) -> Iterator[str]:
    if row["word"]:
        yield f"{row['word']} {row['substitute']}".strip()
    if row["confirmed_by"]:
        yield f"confirmed by {row['confirmed_by']} {row['confirmed_when']}".strip()
    if row["remark"]:
        yield f"remark: {row['remark']}"
