"""Cells of a form read as numbers, dates and words of a list."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from roundplan.attendance.form import Form, FormRow
from roundplan.attendance.reading import Written
from roundplan.followup.matching import NotTaken
from roundplan.intake.finding import did_you_mean

MOST = Decimal(1_000_000_000_000)
"""Largest number that is taken."""

_NUMBER = re.compile(r"\d{1,15}([.,]\d{1,12})?")
_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")


class Cells:
    """The cells of one row.

    Parameters
    ----------
    row : Written
        As it came back.
    printed : FormRow
        As it was sent, for its drop-downs.
    forms : sequence of Form
        The same form in the languages in which it may have been filled in.
    """

    def __init__(self, row: Written, printed: FormRow, forms: Sequence[Form]) -> None:
        self.row, self.printed = row, printed
        found = (form.row(row.part, printed.code) for form in forms)
        self._alike = [other for other in found if other is not None]

    def text(self, column: str, longest: int = 200) -> str:
        """Return the text of an open cell; a longer one is refused."""
        text = self.row.cells.get(column, "")
        if len(text) > longest:
            words = f"this has {len(text):,} letters where {longest} are enough"
            raise NotTaken("too-long", words, "write it shorter", column, text)
        return text

    def word(self, column: str) -> str:
        """Return the code of what was chosen from a drop-down; empty where nothing was."""
        text = self.text(column)
        if not text:
            return ""
        code = self.code(column)
        if code is None:
            offered = [
                label for row in self._alike if column in row.choices for label, _ in row.choices[column].offered
            ]
            raise NotTaken(
                "not-offered", "this is none of the answers", did_you_mean(text, offered, _list(offered)), column, text
            )
        return code

    def code(self, column: str) -> str | None:
        """Return the code behind what stands in a cell with a drop-down; None where it was not offered."""
        text = self.text(column)
        for row in self._alike:
            choices = row.choices.get(column)
            code = choices.code_of(text) if choices is not None else None
            if code is not None:
                return code
        return None

    def number(self, column: str) -> Decimal | None:
        """Return a number from nought on; None where the cell is blank."""
        text = self.text(column)
        if not text:
            return None
        if not _NUMBER.fullmatch(text):
            raise NotTaken("bad-number", "this is no number", "write figures, such as 12 or 12.5", column, text)
        if re.fullmatch(r"\d{1,3},\d{3}", text):
            words = "this can be read as thousands or as decimals"
            raise NotTaken("bad-number", words, "write it without a comma", column, text)
        value = Decimal(text.replace(",", "."))
        if value > MOST:
            raise NotTaken("bad-number", "this is more than can be", "check the figures", column, text)
        return value

    def whole(self, column: str, least: int = 0) -> int | None:
        """Return a whole number; None where the cell is blank."""
        value = self.number(column)
        if value is not None and (value != value.to_integral_value() or value < least):
            words = f"this is no whole number from {least} on"
            raise NotTaken("bad-number", words, "check it", column, self.text(column))
        return None if value is None else int(value)

    def day(self, column: str) -> date | None:
        """Return a date; None where the cell is blank."""
        text = self.text(column)
        if not text:
            return None
        found = _DAY.fullmatch(text)
        try:
            if found:
                return date(*map(int, found.groups()))
        except ValueError:
            pass
        remedy = "write year-month-day, such as 2027-02-28"
        raise NotTaken("bad-date", "this is no date that exists", remedy, column, text)


def _list(offered: Sequence[str]) -> str:
    shown = ", ".join(dict.fromkeys(offered[:8]))
    return f"choose one of: {shown}" if shown else "leave it blank"


def plain_number(value: Decimal | None) -> str:
    """Return a number as the record keeps it: no trailing noughts, blank for None."""
    if value is None:
        return ""
    text = f"{value.normalize():f}"
    return text
