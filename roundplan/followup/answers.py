"""Replies in the record: put in once however often they come, set aside only when somebody says so."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from roundplan.domain.training_round import TrainingRound
from roundplan.followup.asked import Asked, Kind
from roundplan.followup.replies import Reply
from roundplan.followup.versions import Author, Version, add_change

Content = tuple[str, str, str, str, str]
"""Word, substitute, confirmed by, confirmed when, remark."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One reply in the record that holds.

    Attributes
    ----------
    id : int
        Its row.
    place : str
        File, sheet and row that it came from first.
    """

    id: int
    subject: str
    content: Content
    place: str

    @property
    def word(self) -> str:
        """What was replied: ``yes``, ``no``, ``replaced by``, or nothing where there is a remark alone."""
        return self.content[0]

    @property
    def substitute(self) -> str:
        """Code of who comes or stays instead."""
        return self.content[1]


def holding(connection: sqlite3.Connection) -> dict[str, tuple[Kept, ...]]:
    """Return the replies that hold, by subject, in an order that does not depend on when they came."""
    rows = connection.execute(
        "SELECT * FROM answers WHERE id NOT IN (SELECT answer FROM set_aside) "
        "ORDER BY subject, word, substitute, confirmed_by, confirmed_when, remark"
    )
    found: dict[str, list[Kept]] = {}
    for row in rows:
        found.setdefault(row["subject"], []).append(_kept(row))
    return {subject: tuple(kept) for subject, kept in found.items()}


def put_in(
    connection: sqlite3.Connection,
    version: Version,
    replies: Sequence[Reply],
    training_round: TrainingRound,
    author: Author,
    *,
    instead: bool = False,
) -> int:
    """Put replies into the record that it does not hold yet, within a transaction; returns how many.

    Parameters
    ----------
    instead : bool
        Whether these replies hold instead of different ones to the same question that came before. Otherwise a reply
        that was set aside earlier stays so, and one that contradicts another stands beside it.
    """
    known, holds = _known(connection)
    fresh: dict[tuple[str, Content], Reply] = {}
    for reply in replies:
        key = (reply.asked.subject, reply.content)
        if key in holds or (key in known and not instead):
            continue
        fresh.setdefault(key, reply)
    aside = _outdated(connection, replies) if instead else []
    if not fresh and not aside:
        return 0
    files = ", ".join(dict.fromkeys(reply.place.file for reply in replies))
    change = add_change(connection, version.id, f"replies from {files}", author)
    connection.executemany("INSERT INTO set_aside VALUES (?, ?)", [(row, change) for row in aside])
    connection.executemany(
        "INSERT INTO answers (change, facility, subject, about, word, substitute, confirmed_by, confirmed_when, remark,"
        " place) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            (change, r.asked.facility, r.asked.subject, about(r.asked, training_round), *r.content, str(r.place))
            for r in fresh.values()
        ],
    )
    return len(fresh)


def _known(connection: sqlite3.Connection) -> tuple[set[tuple[str, Content]], set[tuple[str, Content]]]:
    """Return every reply that the record has, and those of them that hold."""
    everything = [_kept(row) for row in connection.execute("SELECT * FROM answers")]
    holds = {(kept.subject, kept.content) for group in holding(connection).values() for kept in group}
    return {(kept.subject, kept.content) for kept in everything}, holds


def _outdated(connection: sqlite3.Connection, replies: Iterable[Reply]) -> list[int]:
    """Return the rows of replies that hold and that these replies differ from."""
    new: dict[str, set[Content]] = {}
    for reply in replies:
        new.setdefault(reply.asked.subject, set()).add(reply.content)
    return [
        kept.id
        for subject, group in holding(connection).items()
        for kept in group
        if subject in new and kept.content not in new[subject]
    ]


def about(asked: Asked, training_round: TrainingRound) -> str:
    """Say what a reply is about, in words that stay true whatever becomes of the tables."""
    facility = training_round.name_of(asked.facility)
    days = ", ".join(day.isoformat() for day in asked.dates)
    if asked.kind is Kind.SHIFT:
        return f"{facility}, cover of {days} {asked.shift}"
    who = f"{facility}, {training_round.name_of(asked.person)}, {asked.role}"
    if asked.kind is Kind.COVER:
        return f"{who}, stays {days} {asked.shift}"
    return f"{who}, {days} at {training_round.name_of(asked.venue)}"


def _kept(row: sqlite3.Row) -> Kept:
    content = (row["word"], row["substitute"], row["confirmed_by"], row["confirmed_when"], row["remark"])
    return Kept(row["id"], row["subject"], content, row["place"])
