"""A linear programme that grows by rows and columns, in whole coefficients; HiGHS solves it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import highspy
import numpy as np
import numpy.typing as npt

Floats: TypeAlias = npt.NDArray[np.float64]
Entries = Mapping[int, int]


DUAL, PRIMAL = 1, 4
"""HiGHS's numbers of its simplex methods: the primal goes on from its basis as columns come, the dual as limits do."""


@dataclass(frozen=True, slots=True)
class Solved:
    """An optimal basis of the programme as it stands.

    Attributes
    ----------
    value : float
        Objective.
    duals : array of float, shape (rows,)
        Worth of one more unit of each right-hand side; at least 0.
    columns : array of float, shape (columns,)
        What each column comes to.
    """

    value: float
    duals: Floats
    columns: Floats


class _Quiet(highspy.Highs):
    """The solver without the banner that some of its versions print as soon as callbacks are enabled."""

    def enableCallbacks(self) -> None:  # noqa: N802
        """Be silent before anything is printed."""
        self.silent()
        super().enableCallbacks()


class Programme:
    """Maximise whole weights under rows ``Σ coefficients × columns ≤ right-hand side``, columns from 0 to a limit."""

    def __init__(self) -> None:
        self._highs = _Quiet()
        self._highs.silent()
        self._highs.setOptionValue("threads", 1)
        self._highs.setOptionValue("solver", "simplex")
        self.rows: list[int] = []
        self.weights: list[int] = []
        self._highs.changeObjectiveSense(highspy.ObjSense.kMaximize)

    def add_columns(self, columns: Sequence[tuple[int, int, Entries]]) -> int:
        """Add columns as (weight, limit, entries by row); returns the number of the first."""
        place = len(self.weights)
        if not columns:
            return place
        starts: list[int] = []
        index: list[int] = []
        values: list[int] = []
        for _, _, entries in columns:
            starts.append(len(index))
            index += list(entries.keys())
            values += list(entries.values())
        weights = np.array([c[0] for c in columns], dtype=float)
        limits = np.array([c[1] for c in columns], dtype=float)
        self._highs.addCols(
            len(columns), weights, np.zeros(len(columns)), limits, len(index), np.array(starts, dtype=np.int32),
            np.array(index, dtype=np.int32), np.array(values, dtype=float),
        )  # fmt: skip
        self.weights += [c[0] for c in columns]
        return place

    def add_rows(self, rights: Sequence[int]) -> range:
        """Add empty rows; returns their numbers."""
        first = len(self.rows)
        if rights:
            nothing = np.array([], dtype=np.int32)
            self._highs.addRows(len(rights), np.full(len(rights), -highspy.kHighsInf), np.array(rights, dtype=float),
                                0, nothing, nothing, np.array([]))  # fmt: skip
            self.rows += rights
        return range(first, len(self.rows))

    def add_row(self, right: int, entries: Entries) -> int:
        """Add a row over columns; returns its number."""
        self._highs.addRow(
            -highspy.kHighsInf, float(right), len(entries), np.array(list(entries), dtype=np.int32),
            np.array(list(entries.values()), dtype=float),
        )  # fmt: skip
        self.rows.append(right)
        return len(self.rows) - 1

    def set_right(self, row: int, right: int) -> None:
        """Change a right-hand side."""
        self._highs.changeRowBounds(row, -highspy.kHighsInf, float(right))
        self.rows[row] = right

    def set_limit(self, column: int, limit: int, least: int = 0) -> None:
        """Change what a column may come to, and must."""
        self._highs.changeColBounds(column, float(least), float(limit))

    def set_weights(self, columns: Sequence[int], weights: Sequence[int]) -> None:
        """Change the weights of columns."""
        self._highs.changeColsCost(len(weights), np.array(columns, dtype=np.int32), np.array(weights, dtype=float))
        for column, weight in zip(columns, weights, strict=True):
            self.weights[column] = weight

    def limit_seconds(self, seconds: float) -> None:
        """Let all solves together take no longer."""
        self._highs.setOptionValue("time_limit", seconds)

    def solve(self, *, limits_changed: bool = False) -> Solved | None:
        """Solve from the last basis; None if there is no solution."""
        self._highs.setOptionValue("simplex_strategy", DUAL if limits_changed else PRIMAL)
        self._highs.run()
        if self._highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        found = self._highs.getSolution()
        duals = np.maximum(np.array(found.row_dual), 0.0)
        value = self._highs.getInfo().objective_function_value
        return Solved(value, duals, np.array(found.col_value))
