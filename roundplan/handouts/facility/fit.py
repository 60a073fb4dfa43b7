"""How a facility's sheet fits one side of paper: size of type, width of its narrow column, estimated from its text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from roundplan.handouts.page import Cell
from roundplan.handouts.paper import height_mm

SIZES_PT = (9.6, 9.2, 8.8, 8.4, 8.0, 7.6, 7.2, 6.8)
"""Sizes of type tried in turn, in points; a sheet that fits none is set in the last and runs over."""

ASIDES_MM = (50, 60, 70)
"""Widths of the narrow column tried at each size, in millimetres: the narrowest at which the sheet fits."""

_MM = 72 / 25.4
_MARGINS_MM = 21
"""Upper and lower margin of the sheet, in millimetres."""

_BOTH_MM = 169
"""Text width of both columns together, in millimetres."""

_EDGE_MM = 7
"""What the narrow column loses to its rule and padding, in millimetres."""

_LINE = 1.36
_LETTER = 0.53
"""Width of a letter over the size of type: a wide sans serif, so that narrower ones fit too."""

_SPARE = 1.1
"""Spare for rules and breaks between words in the wide column: the estimate came out up to a tenth short."""


def text_lines(text: str, width_pt: float, size_pt: float) -> int:
    """Return the lines that a text takes in a column."""
    return max(1, math.ceil(len(text) / max(1.0, width_pt / (_LETTER * size_pt) - 3)))


def _cell_lines(value: Cell, width_pt: float, size_pt: float) -> int:
    return sum(text_lines(line, width_pt, size_pt) for line in ((value,) if isinstance(value, str) else value))


def _row_lines(rows: Sequence[Sequence[Cell]], shares: Sequence[float], width_pt: float, size_pt: float) -> float:
    table = 0.93 * size_pt
    if all(isinstance(cell, str) for row in rows for cell in row):
        longest = [max(len(cell) for cell in column) + 3 for column in zip(*rows, strict=True)]
        if sum(longest) * _LETTER * table <= width_pt:  # columns are as wide as their text: a line a row
            return (0.24 + 0.92) * len(rows)
    return sum(
        0.24 + 0.92 * max(_cell_lines(c, share * width_pt, table) for c, share in zip(row, shares, strict=True))
        for row in rows
    )


@dataclass(frozen=True, slots=True)
class Fit:
    """How a sheet is set.

    Attributes
    ----------
    size_pt : float
        Size of type, in points.
    aside_mm : int
        Width of the narrow column, in millimetres.
    """

    size_pt: float
    aside_mm: int


def best_fit(
    *,
    blocks: Sequence[tuple[Sequence[str], Sequence[Sequence[Cell]]]],
    stays: Sequence[Sequence[Cell]],
    main_text: Sequence[str],
    aside_text: Sequence[str],
    confirmations: int,
) -> Fit:
    """Return the largest size of type, and a width of the narrow column, at which the sheet should fit one side.

    Where it fits at none, it is set in the last size with the width at which it is shortest.

    Parameters
    ----------
    blocks : sequence of (sentences, rows)
        What is said of each team, and its table of seats.
    stays : sequence of rows
        The table of those who stay.
    main_text, aside_text : sequence of str
        Other paragraphs of the wide and of the narrow column.
    confirmations : int
        Dates for a go or no-go.
    """

    def height(size: float, aside_mm: int) -> float:
        aside_pt = (aside_mm - _EDGE_MM) * _MM
        main_pt = _BOTH_MM * _MM - aside_pt
        main = 3.6 + sum(
            3.2
            + _row_lines(rows, (0.5, 0.27, 0.23), main_pt, size)
            + sum(text_lines(s, main_pt, size) for s in sentences)
            for sentences, rows in blocks
        )
        main += _row_lines(stays, (0.29, 0.55, 0.16), main_pt, size) + sum(
            text_lines(s, main_pt, size) + 0.5 for s in main_text
        )
        aside = 5.0 + 0.91 * sum(text_lines(s, aside_pt, 0.91 * size) + 0.2 for s in aside_text)
        aside += (2.6 if confirmations else 0.0) + 17 * confirmations / (size * _LINE)
        foot = 11.0 * size * _LINE + 12
        return max(_SPARE * main, aside) * size * _LINE + foot

    room = (height_mm() - _MARGINS_MM) * _MM
    settings = (Fit(size, aside) for size in SIZES_PT for aside in ASIDES_MM)
    shortest = Fit(SIZES_PT[-1], min(ASIDES_MM, key=lambda aside: height(SIZES_PT[-1], aside)))
    return next((fit for fit in settings if height(fit.size_pt, fit.aside_mm) <= room), shortest)
