"""The hidden sheet of names: what each drop-down offers, and the code behind each name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook

FIRST_LIST = 4
"""Column of the first list; the first two hold every name offered and its code."""


class NameLists:
    """Collects what drop-downs offer; equal lists are written once.

    Parameters
    ----------
    sheet : str
        Name of the hidden sheet that they are written to.
    """

    def __init__(self, sheet: str) -> None:
        self.sheet = sheet
        self._lists: dict[tuple[str, ...], int] = {}
        self._codes: dict[str, str] = {}

    def range_of(self, people: Sequence[tuple[str, str]]) -> str | None:
        """Return where a drop-down finds its names; None where nobody can be offered.

        Parameters
        ----------
        people : sequence of (str, str)
            Name as it is offered, and code.
        """
        from openpyxl.utils import get_column_letter

        from roundplan.handouts.xlsx import clean_text

        if not people:
            return None
        labels = tuple(clean_text(label) for label, _ in people)
        self._codes.update({label: code for label, (_, code) in zip(labels, people, strict=True)})
        column = self._lists.setdefault(labels, FIRST_LIST + len(self._lists))
        letter = get_column_letter(column)
        return f"'{self.sheet}'!${letter}$1:${letter}${len(labels)}"

    def write(self, workbook: Workbook) -> None:
        """Add the hidden sheet to a workbook."""
        from roundplan.handouts.xlsx import put

        sheet = workbook.create_sheet(self.sheet)
        sheet.sheet_state = "hidden"
        sheet.protection.sheet = True
        for row, (label, code) in enumerate(self._codes.items(), start=1):
            put(sheet.cell(row, 1), label)
            put(sheet.cell(row, 2), code)
        for labels, column in self._lists.items():
            for row, label in enumerate(labels, start=1):
                put(sheet.cell(row, column), label)
