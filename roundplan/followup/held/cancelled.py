"""Sessions that were not held, by their forms: a plan made anew may give their teams other dates."""

from __future__ import annotations

import json
import sqlite3

from roundplan.attendance.layout import Part
from roundplan.domain.held import Came, session_keys
from roundplan.domain.plan import Plan
from roundplan.followup.held.store import holding


def cancelled(connection: sqlite3.Connection, plan: Plan) -> frozenset[str]:
    """Return the codes of a plan's sessions of which every date is said not to have been held."""
    dates: dict[str, set[str]] = {}
    for kept in holding(connection):
        part, key, day = (*json.loads(kept.subject), "")[:3]
        if part == Part.DATES and kept.content.get("held") == Came.NO:
            dates.setdefault(key, set()).add(day)
    keys = session_keys(plan)
    return frozenset(
        s.code for s in plan.sessions if {d.isoformat() for d in s.dates} <= dates.get(keys[s.code], set())
    )
