"""What is doubtful in the record of what was held, told anew each time until it is put right."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator

from roundplan.attendance.layout import Part
from roundplan.followup.held.store import Kept, holding
from roundplan.followup.replies import Finding


def doubts(connection: sqlite3.Connection) -> Iterator[Finding]:
    """Yield a finding for each receipt that several forms name for one cost line."""
    by_receipt: dict[tuple[str, str], list[Kept]] = {}
    for kept in holding(connection):
        part, _, *subject = json.loads(kept.subject)
        if part == Part.SPENDING and subject[0] == "receipt":
            by_receipt.setdefault((subject[1], subject[2]), []).append(kept)
    for (line, receipt), rows in by_receipt.items():
        if len(rows) > 1:
            words = f"receipt {receipt} is named for {line} in {len(rows)} forms, and counted each time"
            remedy = "look at the receipt, and take a form with the amount 0 where it does not belong"
            places = "; ".join(row.place for row in rows)
            yield Finding(code="receipt-twice", file=places, words=words, remedy=remedy)
