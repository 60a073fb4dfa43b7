"""Statements in the record: only ever added; of those about the same thing the latest holds, and all are told."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from roundplan.followup.held.statement import Statement
from roundplan.followup.replies import Finding
from roundplan.followup.versions import Author, Version, add_change


@dataclass(frozen=True, slots=True)
class Kept:
    """One statement in the record.

    Attributes
    ----------
    id : int
        Its row.
    subject : str
        Sheet, session and subject, as :attr:`Statement.subject_text` writes them.
    content : mapping of str to str
        What was said.
    place : str
        File, sheet and row that it came from first.
    """

    id: int
    subject: str
    about: str
    content: Mapping[str, str]
    place: str


@dataclass(frozen=True, slots=True)
class Taken:
    """What was put in.

    Attributes
    ----------
    fresh : int
        Statements that the record did not hold before.
    corrected : tuple of str
        A line for each statement that now holds instead of an earlier one; both are told.
    findings : tuple of Finding
        Statements of one command that cannot all hold; none of these was taken.
    """

    fresh: int
    corrected: tuple[str, ...]
    findings: tuple[Finding, ...]


def holding(connection: sqlite3.Connection) -> tuple[Kept, ...]:
    """Return the latest statement about each thing, ordered by what it is about."""
    rows = connection.execute(
        "SELECT * FROM held WHERE id IN (SELECT max(id) FROM held GROUP BY subject) ORDER BY subject"
    )
    return tuple(_kept(row) for row in rows)


def put_in(
    connection: sqlite3.Connection,
    version: Version,
    statements: Sequence[Statement],
    author: Author,
    *,
    instead: bool = False,
) -> Taken:
    """Put statements into the record that it does not hold yet, within a transaction.

    A statement that differs from what holds is a correction: it holds from now on. One that an earlier correction has
    replaced changes nothing when its form is taken in once more.

    Parameters
    ----------
    instead : bool
        Whether a statement that was replaced earlier holds again.
    """
    known: dict[str, list[Kept]] = {}
    for row in connection.execute("SELECT * FROM held ORDER BY id"):
        known.setdefault(row["subject"], []).append(_kept(row))
    fresh: dict[str, dict[str, Statement]] = {}
    for statement in statements:
        earlier = known.get(statement.subject_text, [])
        texts = [_text(kept.content) for kept in earlier]
        again = statement.content_text in (texts[-1:] if instead else texts)
        if not again:
            fresh.setdefault(statement.subject_text, {}).setdefault(statement.content_text, statement)
    good = [next(iter(said.values())) for said in fresh.values() if len(said) == 1]
    clashing = [list(said.values()) for said in fresh.values() if len(said) > 1]
    if good:
        files = ", ".join(dict.fromkeys(statement.place.file for statement in good))
        change = add_change(connection, version.id, f"attendance from {files}", author)
        connection.executemany(
            "INSERT INTO held (change, session, subject, about, content, place) VALUES (?, ?, ?, ?, ?, ?)",
            [(change, s.session, s.subject_text, s.about, s.content_text, str(s.place)) for s in good],
        )
    corrected = (_correction(known[s.subject_text][-1], s) for s in good if s.subject_text in known)
    return Taken(len(good), tuple(corrected), tuple(_contradiction(said) for said in clashing))


def told_statements(connection: sqlite3.Connection, change: int) -> Iterator[str]:
    """Yield a line for each statement that came with a change."""
    for row in connection.execute("SELECT * FROM held WHERE change = ? ORDER BY id", (change,)):
        later = connection.execute(
            "SELECT 1 FROM held WHERE subject = ? AND id > ?", (row["subject"], row["id"])
        ).fetchone()
        mark = "; corrected later, no longer holds" if later else ""
        yield f"{row['about']}: {said_words(json.loads(row['content']))} ({row['place']}){mark}"


def said_words(content: Mapping[str, str]) -> str:
    """Return what was said in words."""
    return ", ".join(f"{key} {text}" for key, text in content.items()) or "nothing"


def _correction(earlier: Kept, now: Statement) -> str:
    before = f"{said_words(earlier.content)} ({earlier.place})"
    return f"{now.about}: {said_words(json.loads(now.content_text))} ({now.place}); before: {before}"


def _contradiction(said: Sequence[Statement]) -> Finding:
    places = "; ".join(f"{said_words(json.loads(s.content_text))}, {s.place}" for s in said)
    words = f"{said[0].about}: these forms contradict one another; none of them is taken"
    remedy = "ask which holds, and take that form alone"
    return Finding(code="contradiction", file=places, words=words, remedy=remedy)


def _text(content: Mapping[str, str]) -> str:
    return json.dumps(content, ensure_ascii=False, sort_keys=True)


def _kept(row: sqlite3.Row) -> Kept:
    return Kept(row["id"], row["subject"], row["about"], json.loads(row["content"]), row["place"])
