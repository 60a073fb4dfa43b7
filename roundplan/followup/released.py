"""Seats and cover that had been agreed and were given free by those whose they are."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from roundplan.domain.training_round import TrainingRound
from roundplan.followup.answers import about
from roundplan.followup.asked import Asked
from roundplan.followup.versions import Author, Version, add_change


def release(
    connection: sqlite3.Connection,
    version: Version,
    rows: Iterable[Asked],
    training_round: TrainingRound,
    author: Author,
) -> int:
    """Record what was given free and is not yet, within a transaction; returns how many."""
    free = free_subjects(connection)
    fresh = [row for row in rows if row.subject not in free]
    if fresh:
        words = "; ".join(about(row, training_round) for row in fresh)
        change = add_change(connection, version.id, f"given free by those whose it is: {words}", author)
        connection.executemany(
            "INSERT INTO released (change, subject, about) VALUES (?, ?, ?)",
            [(change, row.subject, about(row, training_round)) for row in fresh],
        )
    return len(fresh)


def free_subjects(connection: sqlite3.Connection) -> frozenset[str]:
    """Return what is free: given so after the last reply about it came."""
    rows = connection.execute(
        "SELECT subject FROM released AS r WHERE NOT EXISTS "
        "(SELECT 1 FROM answers WHERE answers.subject = r.subject AND answers.change > r.change "
        "AND answers.id NOT IN (SELECT answer FROM set_aside))"
    )
    return frozenset(subject for (subject,) in rows)


def sources(connection: sqlite3.Connection) -> dict[int, str]:
    """Return where each reply came from, by whom it was taken in and when, in words."""
    rows = connection.execute(
        "SELECT answers.id, answers.place, changes.who, changes.made_at FROM answers "
        "JOIN changes ON changes.id = answers.change"
    )
    return {row["id"]: f"{row['place']}, taken in by {row['who']} on {row['made_at'][:10]}" for row in rows}
