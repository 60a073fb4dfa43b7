"""Final reports in the record: figures, which name nobody, and the fingerprint of the tables proposed with them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from roundplan.followup.versions import Author, Version, add_change


@dataclass(frozen=True, slots=True)
class Closing:
    """One final report.

    Attributes
    ----------
    figures : mapping
        As :class:`roundplan.closing.figures.Figures` gives them.
    tables : str
        Fingerprint of the next round's tables as they were proposed.
    """

    figures: Mapping[str, Any]
    tables: str


def last_closing(connection: sqlite3.Connection) -> Closing | None:
    """Return the newest final report; None if there is none."""
    row = connection.execute("SELECT figures, tables FROM closings ORDER BY id DESC LIMIT 1").fetchone()
    return Closing(json.loads(row["figures"]), row["tables"]) if row is not None else None


def add_closing(
    connection: sqlite3.Connection,
    version: Version,
    figures: Mapping[str, Any],
    tables: str,
    purge_on: date | None,
    author: Author,
) -> None:
    """Add a final report, within a transaction.

    Parameters
    ----------
    purge_on : date or None
        Date from which personal data are removed.
    """
    change = add_change(connection, version.id, "final report", author)
    connection.execute(
        "INSERT INTO closings (change, figures, tables, purge_on) VALUES (?, ?, ?, ?)",
        (change, _plain(figures), tables, purge_on.isoformat() if purge_on else ""),
    )


def same_figures(closing: Closing, figures: Mapping[str, Any]) -> bool:
    """Whether a final report has these figures."""
    return _plain(closing.figures) == _plain(figures)


def _plain(figures: Mapping[str, Any]) -> str:
    return json.dumps(figures, ensure_ascii=False, sort_keys=True)
