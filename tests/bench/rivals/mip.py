"""Columns and rows of a MIP, and HiGHS to solve it for one aim after another."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterable
from math import floor

import highspy
import numpy as np

Terms = Iterable[tuple[int, float]]


class Mip:
    """Whole-number columns from nought, rows between two limits.

    Parameters
    ----------
    seed, workers : int
        Seed and threads of the solver.
    """

    def __init__(self, seed: int, workers: int) -> None:
        self.upper: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.solver = highspy.Highs()
        for option, value in (("output_flag", False), ("random_seed", seed), ("threads", workers)):
            self.solver.setOptionValue(option, value)

    def column(self, upper: float) -> int:
        """Return a new column."""
        self.upper.append(upper)
        return len(self.upper) - 1

    def row(self, terms: Terms, low: float, high: float) -> None:
        """Add a row; a column named twice counts twice."""
        summed: dict[int, float] = defaultdict(float)
        for column, factor in terms:
            summed[column] += factor
        self.rows.append((summed, low, high))

    def load(self) -> None:
        """Hand the model to the solver."""
        count = len(self.upper)
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = count, len(self.rows)
        model.col_cost_ = np.zeros(count)
        model.col_lower_, model.col_upper_ = np.zeros(count), np.array(self.upper)
        model.row_lower_ = np.array([low for _, low, _ in self.rows], dtype=float)
        model.row_upper_ = np.array([high for _, _, high in self.rows], dtype=float)
        model.integrality_ = [highspy.HighsVarType.kInteger] * count
        model.sense_ = highspy.ObjSense.kMaximize
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        sizes = [len(terms) for terms, _, _ in self.rows]
        model.a_matrix_.start_ = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
        model.a_matrix_.index_ = np.array([c for terms, _, _ in self.rows for c in terms], dtype=np.int32)
        model.a_matrix_.value_ = np.array([f for terms, _, _ in self.rows for f in terms.values()], dtype=float)
        self.solver.passModel(model)

    def maximise(self, steps: list[tuple[int, int]], until: float) -> tuple[int, int | None] | None:
        """Maximise a sum of columns and hold what it came to; return that and its bound.

        Parameters
        ----------
        steps : list of (column, points)
        until : float
            Moment of the monotonic clock at which to stop.

        Returns
        -------
        tuple or None
            None where no solution was found in time.
        """
        left = until - time.monotonic()
        if left <= 0:
            return None
        columns = np.array([column for column, _ in steps], dtype=np.int32)
        points = np.array([float(factor) for _, factor in steps])
        costs = np.zeros(len(self.upper))
        costs[columns] = points
        self.solver.changeColsCost(len(costs), np.arange(len(costs), dtype=np.int32), costs)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + left)
        self.solver.run()
        info = self.solver.getInfo()
        if info.primal_solution_status != 2:  # the solver's word for a solution that keeps every row
            return None
        values = np.array(self.solver.getSolution().col_value)
        reached = round(float(points @ values[columns]))
        self.solver.addRow(float(reached), highspy.kHighsInf, len(steps), columns, points)
        bound = floor(info.mip_dual_bound + 1e-6) if abs(info.mip_dual_bound) < 1e15 else None
        return reached, bound
