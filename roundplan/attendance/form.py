"""An attendance form as it is printed, in one language: its sheets, rows, open cells and what drop-downs offer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from roundplan.attendance.layout import Part
from roundplan.slips.reply_code import plain

Value = str | int | float | None


def shown(text: str) -> str:
    """Return text as a cell shows it: no marks that cannot be seen, single spaces."""
    return "".join(c for c in " ".join(text.split()) if c.isprintable())


@dataclass(frozen=True, slots=True)
class Choices:
    """What a drop-down offers: labels as readers see them, and the code behind each.

    Attributes
    ----------
    strict : bool
        Whether anything that is not offered is refused by the workbook; otherwise it only asks.
    """

    offered: tuple[tuple[str, str], ...]
    strict: bool = True

    def code_of(self, text: str) -> str | None:
        """Return the code of what was written: a label, a code, or text that ends with a code in brackets."""
        for label, code in self.offered:
            if shown(text) in (shown(label), code) or text.endswith(f"[{code}]"):
                return code
        alike = {code for label, code in self.offered if plain(text) in (plain(label), plain(code))}
        return alike.pop() if len(alike) == 1 else None


@dataclass(frozen=True, slots=True)
class FormRow:
    """One row.

    Attributes
    ----------
    code : tuple of str
        What the row is about; stands hidden on it.
    values : mapping of str to Value
        Printed cells by column.
    open : frozenset of str
        Columns to fill in.
    choices : mapping of str to Choices
        Drop-downs by open column.
    """

    code: tuple[str, ...]
    values: Mapping[str, Value]
    open: frozenset[str]
    choices: Mapping[str, Choices] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FormSheet:
    """One visible sheet.

    Attributes
    ----------
    columns : tuple of str
        Visible columns in order.
    heads : mapping of str to str
        Headings by column, in the reader's language.
    """

    part: Part
    name: str
    to_do: str
    columns: tuple[str, ...]
    heads: Mapping[str, str]
    rows: Sequence[FormRow]


@dataclass(frozen=True, slots=True)
class Form:
    """One form.

    Attributes
    ----------
    session : str
        Key of the session; ``round`` for the programme manager's own.
    """

    title: str
    session: str
    language: str
    sheets: tuple[FormSheet, ...]

    def row(self, part: Part, code: tuple[str, ...]) -> FormRow | None:
        """Return a row by sheet and code; None if there is none."""
        return next((r for s in self.sheets if s.part is part for r in s.rows if r.code == code), None)
