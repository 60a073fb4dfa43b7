"""The size of type at which a sheet fits one side of paper, A4 or US letter, estimated from its text."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from roundplan.handouts.page import Cell

SIZES_PT = (10.0, 9.6, 9.2, 8.8, 8.4, 8.0, 7.6, 7.2, 6.8, 6.4, 6.0)
"""Sizes of type tried in turn, in points; a sheet that fits none is set in the last and goes over to a second side."""

TIGHT_PT = 7.2
"""At this size and below, lines stand closer and rows are less high, as sheet.html.j2 sets them."""

_LETTER = 0.53  # width of a letter over the size of type: a wide sans serif, so that narrower ones fit too
_POINTS_A_MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Paper:
    """What both papers have room for, in mm, margins of 13 and 10 mm left out: A4 is narrower, US letter shorter."""

    width: float
    height: float


PORTRAIT = Paper(210 - 26, 279.4 - 20)
LANDSCAPE = Paper(279.4 - 26, 210 - 20)


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph; ``scale`` is its size over that of the sheet, ``gap`` the space round it in lines."""

    text: str
    scale: float = 1.0
    gap: float = 0.4


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: its rows, each column's share of the width, and the least height of a row in mm."""

    rows: Sequence[Sequence[Cell]]
    shares: tuple[float, ...]
    least: float = 0.0


@dataclass(frozen=True, slots=True)
class Space:
    """Room that does not change with the type, in mm."""

    millimetres: float


Part = Text | Rows | Space


def type_size(parts: Sequence[Part], paper: Paper = PORTRAIT) -> float:
    """Return the largest size of type, in points, at which all parts should stand on one side of paper."""
    return next((size for size in SIZES_PT if fits(parts, size, paper)), SIZES_PT[-1])


def fits(parts: Sequence[Part], size: float, paper: Paper = PORTRAIT) -> bool:
    """Whether all parts should stand on one side of paper, in type of so many points."""
    return _height(parts, size, paper) <= paper.height * _POINTS_A_MM


def _height(parts: Sequence[Part], size: float, paper: Paper) -> float:
    return sum(_part_height(part, size, paper) for part in parts)


def _line(size: float) -> float:
    """Return the height of a line over the size of type."""
    return 1.26 if size <= TIGHT_PT else 1.36


def _part_height(part: Part, size: float, paper: Paper) -> float:
    width = paper.width * _POINTS_A_MM
    if isinstance(part, Space):
        return part.millimetres * _POINTS_A_MM
    if isinstance(part, Text):
        set_in = size * part.scale
        return (_lines(part.text, width, set_in) + part.gap) * set_in * _line(size)
    rows = (_row_height(row, part, size, width) for row in part.rows)
    return 1.5 * size * _line(size) + sum(rows)


def _row_height(row: Sequence[Cell], table: Rows, size: float, width: float) -> float:
    lines = max(_cell_lines(cell, share * width, size) for cell, share in zip(row, table.shares, strict=True))
    tight = size <= TIGHT_PT
    least = table.least * (0.8 if tight else 1) * _POINTS_A_MM
    return max(lines * size * _line(size) + (0.3 if tight else 0.5) * size, least)


def _cell_lines(cell: Cell, width: float, size: float) -> int:
    texts = (cell,) if isinstance(cell, str) else cell
    return sum(_lines(text, width - size, size) for text in texts)


def _lines(text: str, width: float, size: float) -> int:
    """Return the lines of a text, broken between words."""
    letters = max(1, int(width / (_LETTER * size)))
    return max(1, len(textwrap.wrap(text, letters)))
