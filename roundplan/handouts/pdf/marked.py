"""What changed in a printed document: its rows and sentences noted, and marked where its reader has not seen them."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence

from roundplan.handouts.marking import MARK, Changes, Seen
from roundplan.handouts.pdf.blocks import (
    Blank,
    Block,
    Cell,
    Columns,
    Facts,
    Grid,
    Heading,
    Line,
    Lines,
    Notice,
    Printed,
    Sheet,
    Strong,
    Tick,
    Together,
    Wide,
)
from roundplan.handouts.speech import without_marks


def seen_in(document: Printed) -> Seen:
    """Return every row and sentence of a document."""
    seen = Seen()

    def row(scope: str, cells: Sequence[str]) -> bool:
        if any(cells):
            seen.rows[scope, *cells] = None
        return False

    def line(scope: str, text: str) -> bool:
        seen.lines.add((scope, text))
        return False

    _Walk(row, line).through(document.blocks)
    return seen


def marked(document: Printed, changes: Changes) -> Printed:
    """Return a document with the list of what changed at its top and a mark at each row that reads anew."""

    def row(scope: str, cells: Sequence[str]) -> bool:
        return any(cells) and changes.row_is_new(scope, cells)

    blocks = _Walk(row, changes.line_is_new).through(document.blocks)
    told = Notice(changes.title, list(changes.told()))
    return dataclasses.replace(document, blocks=(told, *blocks))


class _Walk:
    """Goes through blocks in order; a row or sentence is marked where the function given for it says so."""

    def __init__(self, row: Callable[[str, Sequence[str]], bool], line: Callable[[str, str], bool]) -> None:
        self._row, self._line, self._heading = row, line, ""

    def through(self, blocks: Iterable[Block]) -> list[Block]:
        return [self._block(block) for block in blocks]

    def _block(self, block: Block) -> Block:
        if isinstance(block, Heading):
            self._heading = block.text
        elif isinstance(block, Grid):
            scope = block.caption or self._heading
            return dataclasses.replace(block, rows=[self._cells(scope, row) for row in block.rows])
        elif isinstance(block, Facts):
            rows = [(label, self._fact(label, cell)) for label, cell in block.rows]
            return dataclasses.replace(block, rows=rows)
        elif isinstance(block, Lines):
            return dataclasses.replace(block, lines=[self._sentence(line) for line in block.lines])
        elif isinstance(block, Columns):
            return dataclasses.replace(block, parts=[self.through(part) for part in block.parts])
        elif isinstance(block, Together | Sheet):
            return dataclasses.replace(block, parts=self.through(block.parts))
        return block

    def _cells(self, scope: str, row: Sequence[Cell]) -> Sequence[Cell]:
        if not self._row(scope, [_text(cell) for cell in row]):
            return row
        place = next((n for n, cell in enumerate(row) if _text(cell)), 0)
        return [*row[:place], _with_mark(row[place]), *row[place + 1 :]]

    def _fact(self, label: str, cell: Cell) -> Cell:
        text = _text(cell)
        return _with_mark(cell) if text and self._line(label, text) else cell

    def _sentence(self, line: Line) -> Line:
        text = _text(line)
        return _marked_line(line) if text and self._line(self._heading, text) else line


def _text(cell: Cell) -> str:
    if isinstance(cell, str):
        return without_marks(cell)
    if isinstance(cell, Strong):
        return without_marks(cell.text)
    if isinstance(cell, Blank | Tick):
        return without_marks(cell.label)
    if isinstance(cell, Wide):
        return _text(cell.line)
    return "; ".join(filter(None, map(_text, cell)))


def _with_mark(cell: Cell) -> Cell:
    if isinstance(cell, Wide):
        return Wide(_marked_line(cell.line))
    if isinstance(cell, str | Strong | Blank | Tick):
        return _marked_line(cell)
    return [_marked_line(cell[0]), *cell[1:]]


def _marked_line(line: Line) -> Line:
    if isinstance(line, str):
        return f"{MARK} {line}"
    if isinstance(line, Strong):
        return Strong(f"{MARK} {line.text}")
    return dataclasses.replace(line, label=f"{MARK} {line.label}")
