"""New facts in the record: rows of any table of the inputs, in force until somebody withdraws them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from roundplan.domain.counts import counted
from roundplan.followup.versions import Author, Version, add_change
from roundplan.intake.changes import ChangedRow, Effect


@dataclass(frozen=True, slots=True)
class Fact:
    """One row in force.

    Attributes
    ----------
    id : int
        Its number, by which it is withdrawn.
    change : int
        Row of the change that it came with; rows of one change were given together.
    made_at, who, why : str
        When (UTC, ISO 8601), by whom, and why it was entered.
    """

    id: int
    change: int
    row: ChangedRow
    made_at: str
    who: str
    why: str


def add_facts(connection: sqlite3.Connection, version: Version, rows: Sequence[ChangedRow], author: Author) -> int:
    """Put rows into the record that are not in force yet, within a transaction; returns how many.

    Rows that a later fact has overruled are entered again.
    """
    known = {(f.row.table, f.row.key, f.row.effect): dict(f.row.cells) for f in in_force(connection)}
    fresh = [row for row in rows if not row.key or known.get((row.table, row.key, row.effect)) != dict(row.cells)]
    held = [(f.row.table, f.row.effect, dict(f.row.cells)) for f in in_force(connection)]
    fresh = [row for row in fresh if row.key or (row.table, row.effect, dict(row.cells)) not in held]
    if not fresh:
        return 0
    tables = ", ".join(dict.fromkeys(row.table for row in fresh))
    change = add_change(connection, version.id, f"{counted(len(fresh), 'new fact')} ({tables})", author)
    connection.executemany(
        "INSERT INTO facts (change, effect, table_name, cells, file, row) VALUES (?, ?, ?, ?, ?, ?)",
        [
            (change, row.effect, row.table, json.dumps(dict(row.cells), ensure_ascii=False), row.file, row.row)
            for row in fresh
        ],
    )
    return len(fresh)


def in_force(connection: sqlite3.Connection) -> tuple[Fact, ...]:
    """Return the facts that hold, in the order entered."""
    rows = connection.execute(
        "SELECT facts.*, changes.made_at, changes.who, changes.why FROM facts "
        "JOIN changes ON changes.id = facts.change WHERE facts.id NOT IN (SELECT fact FROM withdrawn) ORDER BY facts.id"
    )
    return tuple(_fact(row) for row in rows)


def withdraw(connection: sqlite3.Connection, version: Version, number: int, author: Author) -> None:
    """Let a fact hold no longer, within a transaction."""
    change = add_change(connection, version.id, f"fact {number} withdrawn", author)
    connection.execute("INSERT INTO withdrawn VALUES (?, ?)", (number, change))


def batches(facts: Sequence[Fact]) -> list[list[ChangedRow]]:
    """Return the rows of some facts, one list for each time that some were given."""
    found: dict[int, list[ChangedRow]] = {}
    for fact in facts:
        found.setdefault(fact.change, []).append(fact.row)
    return list(found.values())


def fact_words(fact: Fact, name_of: Callable[[str], str]) -> str:
    """Say a fact on one line: number, table, cells, who entered it, when and why; codes with the names behind them."""

    def said(text: str) -> str:
        name = name_of(text)
        return f"{text} ({name})" if name != text else text or "blank"

    cells = ", ".join(f"{column} {said(text)}" for column, text in fact.row.cells.items())
    taken_out = "taken out, " if fact.row.effect is Effect.DROP else ""
    return f"{fact.id}. {fact.row.table}: {taken_out}{cells} ({fact.who}, {fact.made_at[:10]}: {fact.why})"


def fact_lines(facts: Sequence[Fact], name_of: Callable[[str], str]) -> Iterator[str]:
    """Yield the facts in force, a line each."""
    yield from (fact_words(fact, name_of) for fact in facts)


def _fact(row: sqlite3.Row) -> Fact:
    changed = ChangedRow(row["table_name"], json.loads(row["cells"]), row["file"], row["row"], Effect(row["effect"]))
    return Fact(row["id"], row["change"], changed, row["made_at"], row["who"], row["why"])
