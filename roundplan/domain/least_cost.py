"""The cheapest way to give each row a column of its own."""

from __future__ import annotations

from collections.abc import Sequence

INFINITE = 10**15


def assigned(costs: Sequence[Sequence[int]]) -> dict[int, int]:
    """Return a column for each row, or a row for each column where there are fewer, at the least cost in all.

    Rows that no column is left for are missing. Shortest augmenting paths with potentials: exact for whole numbers.

    Parameters
    ----------
    costs : sequence of sequence of int
        By row, then column; any rectangle.
    """
    if not costs or not costs[0]:
        return {}
    if len(costs) > len(costs[0]):
        turned = assigned([list(column) for column in zip(*costs, strict=True)])
        return {row: column for column, row in turned.items()}
    rows, columns = len(costs), len(costs[0])
    of_row, of_column = [0] * (rows + 1), [0] * (columns + 1)
    holder, way = [0] * (columns + 1), [0] * (columns + 1)
    for row in range(1, rows + 1):
        holder[0], at = row, 0
        least, used = [INFINITE] * (columns + 1), [False] * (columns + 1)
        while holder[at]:
            used[at] = True
            current, step, following = holder[at], INFINITE, 0
            for column in range(1, columns + 1):
                if used[column]:
                    continue
                cost = costs[current - 1][column - 1] - of_row[current] - of_column[column]
                if cost < least[column]:
                    least[column], way[column] = cost, at
                if least[column] < step:
                    step, following = least[column], column
            for column in range(columns + 1):
                if used[column]:
                    of_row[holder[column]] += step
                    of_column[column] -= step
                else:
                    least[column] -= step
            at = following
        while at:
            holder[at], at = holder[way[at]], way[at]
    return {holder[column] - 1: column - 1 for column in range(1, columns + 1) if holder[column]}
