"""Where everything stands in a slip's workbook, in this one place, so that a program can read it back.

The workbook has visible sheets whose names and headings are in the reader's language, and two hidden ones whose names
never change. ``MARKS_SHEET`` holds a key and a value a row: the layout, the round, the version of the slip's own last
change, and which visible sheet is which. ``NAMES_SHEET`` holds, in its first two columns, each name that the drop-downs
offer and the code behind it. On each visible sheet the hidden row ``KEY_ROW`` names the columns by keys that never
change, and rows of replies begin at ``FIRST_ROW``; columns of codes are hidden.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

LAYOUT = 1
"""Version of this layout; a reader refuses one that it does not know."""

MARKS_SHEET, NAMES_SHEET = "roundplan", "names"
"""Hidden sheets; their names are the same in every language."""

KEY_ROW, HEAD_ROW, FIRST_ROW = 4, 5, 6
"""Rows of the hidden keys, of the headings and of the first reply; title, what to do and where to send it are above."""


class Mark(StrEnum):
    """Keys of the hidden sheet of marks."""

    LAYOUT = "layout"
    ROUND = "round"
    SCOPE = "scope"
    VERSION = "version"
    STATUS = "status"
    LANGUAGE = "language"
    SEATS = "sheet seats"
    COVER = "sheet cover"
    CONFIRMATIONS = "sheet confirmations"


class Column(StrEnum):
    """Keys of the columns."""

    CODE = "code"
    FACILITY_CODE = "facility code"
    TEAM_CODE = "team code"
    PERSON_CODE = "person code"
    ROLE_CODE = "role code"
    DATES_CODE = "dates code"
    SHIFT_CODE = "shift code"
    KIND_CODE = "kind code"
    FACILITY = "facility"
    TEAM = "team"
    NAME = "name"
    ROLE = "role"
    DATES = "dates"
    VENUE = "venue"
    TRAVEL = "travel"
    LEAVES = "leaves"
    RETURNS = "returns"
    SLOTS = "slots"
    STANDBY = "standby"
    NOTES = "notes"
    SHIFT = "shift"
    WHY = "why"
    WHO_STAYS = "who stays"
    REPLY = "reply"
    REPLACED_BY = "replaced by"
    CONFIRMED_BY = "confirmed by"
    CONFIRMED_WHEN = "confirmed when"
    REMARK = "remark"


OPEN_COLUMNS = frozenset({Column.REPLY, Column.REPLACED_BY, Column.CONFIRMED_BY, Column.CONFIRMED_WHEN, Column.REMARK})
"""Columns that the coordinator fills in; all others are locked."""

HIDDEN_COLUMNS = frozenset(column for column in Column if column.value.endswith(" code"))
"""Columns for programs, hidden from the reader."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One visible sheet: the mark that names it and its columns in order."""

    mark: Mark
    columns: tuple[Column, ...]


SEATS = Sheet(
    Mark.SEATS,
    (
        Column.FACILITY_CODE, Column.TEAM_CODE, Column.PERSON_CODE, Column.ROLE_CODE, Column.DATES_CODE,
        Column.CODE, Column.FACILITY, Column.TEAM, Column.NAME, Column.ROLE, Column.DATES, Column.VENUE,
        Column.LEAVES, Column.RETURNS, Column.TRAVEL, Column.SLOTS, Column.STANDBY, Column.NOTES,
        Column.REPLY, Column.REPLACED_BY, Column.REMARK,
    ),
)  # fmt: skip
"""Who goes: a row a seat. A guest stands on both facilities' slips, and the guest's own facility alone replies."""

COVER = Sheet(
    Mark.COVER,
    (
        Column.FACILITY_CODE, Column.PERSON_CODE, Column.ROLE_CODE, Column.DATES_CODE, Column.SHIFT_CODE,
        Column.KIND_CODE, Column.TEAM_CODE,
        Column.CODE, Column.FACILITY, Column.SHIFT, Column.NAME, Column.ROLE, Column.WHY,
        Column.REPLY, Column.REPLACED_BY, Column.REMARK,
    ),
)  # fmt: skip
"""Who stays: a row a person, role and shift. Its code is that of the shift's row in ``CONFIRMATIONS``."""

CONFIRMATIONS = Sheet(
    Mark.CONFIRMATIONS,
    (
        Column.FACILITY_CODE, Column.DATES_CODE, Column.SHIFT_CODE,
        Column.CODE, Column.FACILITY, Column.SHIFT, Column.WHO_STAYS,
        Column.CONFIRMED_BY, Column.CONFIRMED_WHEN, Column.REMARK,
    ),
)  # fmt: skip
"""Cover confirmed: a row a facility, date and shift, day and night apart."""

SHEETS = (SEATS, COVER, CONFIRMATIONS)
"""The visible sheets in order."""
