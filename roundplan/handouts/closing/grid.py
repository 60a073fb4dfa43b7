"""One table of the final report, for its page and its workbook."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from roundplan.handouts.page import Table
from roundplan.handouts.words import Money, full_date, number


@dataclass(frozen=True, slots=True)
class Grid:
    """One table.

    Attributes
    ----------
    name : str
        Name of its sheet.
    caption : str
        What it shows.
    rows : sequence of sequence
        Text, numbers, dates; amounts in minor units in the columns of ``money``.
    total : bool
        The last row is a total.
    """

    name: str
    caption: str
    heads: tuple[str, ...]
    rows: Sequence[Sequence[Any]]
    money: frozenset[int] = frozenset()
    total: bool = False

    def table(self, money: Money) -> Table:
        """Return the table as a page shows it."""
        numbers = {c for row in self.rows for c, v in enumerate(row) if isinstance(v, int | float)}
        rows = [[self._shown(c, value, money) for c, value in enumerate(row)] for row in self.rows]
        return Table(self.caption, self.heads, rows, numbers=frozenset(numbers), total=self.total)

    def _shown(self, column: int, value: Any, money: Money) -> str:
        if value is None:
            return ""
        if isinstance(value, int | float):
            return money.bare(int(value)) if column in self.money else number(value, 2)
        return full_date(value) if isinstance(value, date) else str(value)
