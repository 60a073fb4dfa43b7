"""The columns of the skeleton that are no trips, in whole numbers beside the linear programme, for exact sums."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from roundplan.solver.skeleton.programme import Entries, Programme

Ints = npt.NDArray[np.int64]
UNIT = 10**6
"""Prices are rounded to whole units of one millionth before they are used in a bound."""


class ExactColumns:
    """Columns of a programme by their own numbers, 0 first.

    Attributes
    ----------
    limits : list of int
        What each column may come to.
    entries : list of dict
        Whole coefficients by row.
    """

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        self.limits: list[int] = []
        self.entries: list[dict[int, int]] = []
        self.weights: list[int] = []
        self._places: list[int] = []
        self._arrays: tuple[Ints, Ints, Ints] | None = None

    def add(self, columns: Sequence[tuple[int, int, Entries]]) -> list[int]:
        """Add columns as (weight, limit, entries by row); returns their numbers."""
        first = len(self.limits)
        place = self.programme.add_columns(columns)
        self.weights += [weight for weight, _, _ in columns]
        self.limits += [limit for _, limit, _ in columns]
        self.entries += [dict(entries) for _, _, entries in columns]
        self._places += range(place, place + len(columns))
        self._arrays = None
        return list(range(first, len(self.limits)))

    def add_row(self, right: int, entries: Entries) -> int:
        """Add a row over columns by their numbers; returns the row."""
        row = self.programme.add_row(right, {self._places[number]: value for number, value in entries.items()})
        for number, value in entries.items():
            self.entries[number][row] = value
        self._arrays = None
        return row

    def limit(self, number: int, most: int) -> None:
        """Change what a column may come to."""
        self.limits[number] = most
        self.programme.set_limit(self._places[number], most)

    def weigh(self, weights: Mapping[int, int]) -> None:
        """Set what columns count for; those not named count for nothing."""
        self.weights = [weights.get(number, 0) for number in range(len(self.limits))]
        self.programme.set_weights(self._places, self.weights)

    def best(self, duals: Ints) -> int:
        """Return the most that the columns are worth together at the rows' prices, each up to its limit, in units.

        Parameters
        ----------
        duals : array of int, shape (rows,)
            Prices in units.
        """
        if self._arrays is None:
            sizes = [len(entries) for entries in self.entries]
            self._arrays = (
                np.repeat(np.arange(len(sizes), dtype=np.int64), sizes),
                np.array([row for entries in self.entries for row in entries], dtype=np.int64),
                np.array([value for entries in self.entries for value in entries.values()], dtype=np.int64),
            )
        column, row, value = self._arrays
        reduced = np.array(self.weights, dtype=np.int64) * UNIT
        np.subtract.at(reduced, column, value * duals[row])
        return int((np.maximum(reduced, 0) * np.array(self.limits, dtype=np.int64)).sum())
