"""Where everything stands in an attendance form, in this one place, so that a program can read it back.

A form is a workbook for one session, or the programme manager's own for the whole round. Its visible sheets have names
and headings in the reader's language. A hidden sheet, ``MARKS_SHEET``, holds a key and a value a row: layout, round,
session, version and language. On each visible sheet the hidden row ``KEY_ROW`` names the columns by keys that never
change, and the hidden columns ``SESSION`` and ``ROW`` say on each row which session and what the row is about, so that
a sheet saved alone as CSV can be read too.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

LAYOUT = 1
"""Version of this layout; a reader refuses one that it does not know."""

MARKS_SHEET, LISTS_SHEET = "roundplan attendance", "lists"
"""Hidden sheets; their names are the same in every language."""

KEY_ROW, HEAD_ROW, FIRST_ROW = 3, 4, 5
"""Rows of the hidden keys, of the headings and of the first row; title and what to do are above."""

SESSION, ROW = "session code", "row code"
"""Hidden columns of every sheet."""

ROUND = "round"
"""What stands under ``SESSION`` on the programme manager's own form."""


class Mark(StrEnum):
    """Keys of the hidden sheet of marks."""

    LAYOUT = "layout"
    ROUND = "round"
    SESSION = "session"
    VERSION = "version"
    STATUS = "status"
    LANGUAGE = "language"


class Part(StrEnum):
    """The sheets of a form; a column that only one sheet has tells which it is."""

    DATES = "dates"
    PEOPLE = "people"
    SLOTS = "slots"
    KIT = "kit"
    NOTES = "notes"
    SPENDING = "spending"
    STORES = "stores"
    STAFF = "staff"


class Column:
    """Keys of the visible columns; columns of simulations are ``simulation 1`` and so on."""

    DATE: Final = "date"
    HELD: Final = "held"
    CAUSE: Final = "cause"
    REMARK: Final = "remark"
    NAME: Final = "name"
    ROLE: Final = "role"
    TEAM: Final = "team"
    CAME: Final = "came"
    INSTEAD: Final = "came instead"
    WHY: Final = "why not"
    TIME: Final = "time"
    STATION: Final = "station"
    CASE: Final = "case"
    PLANNED_WALL: Final = "planned wall"
    RUN: Final = "run"
    OTHER_TEAM: Final = "other team"
    OTHER_CASE: Final = "other case"
    WALL: Final = "wall"
    WALL_END: Final = "end of wall"
    ITEM: Final = "item"
    UNIT: Final = "unit"
    PLANNED: Final = "planned"
    USED: Final = "used"
    LEFT: Final = "left"
    KIND: Final = "kind"
    FACILITY: Final = "facility"
    WHAT: Final = "what"
    OWNER: Final = "owner"
    DUE: Final = "due"
    LINE: Final = "cost line"
    AMOUNT: Final = "amount"
    RECEIPT: Final = "receipt"
    PAID_ON: Final = "paid on"
    PLACE: Final = "place"
    BEFORE: Final = "before"
    COUNTED: Final = "counted"
    GONE: Final = "has left"


TOLD_BY = {
    Part.DATES: Column.HELD,
    Part.PEOPLE: Column.CAME,
    Part.SLOTS: Column.RUN,
    Part.KIT: Column.USED,
    Part.NOTES: Column.OWNER,
    Part.SPENDING: Column.RECEIPT,
    Part.STORES: Column.COUNTED,
    Part.STAFF: Column.GONE,
}
"""The column that only one sheet has, by sheet."""

SIMULATION = "simulation"


def simulation_column(number: int) -> str:
    """Return the key of the column of a team's simulation, numbered from 1."""
    return f"{SIMULATION} {number}"
