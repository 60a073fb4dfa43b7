"""What changed in a document since its reader last had it: a list at its top, and a mark at each row that reads anew.

Rows are compared as they are said. While a document is made from the plan that was told before, and once more from the
new one, each row and each sentence that could change is noted; the document is then made with what both noted, and
marks what the reader has not seen yet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace

from roundplan.handouts.speech import say, several, without_marks

MARK = "\N{RIGHT-POINTING DOUBLE ANGLE QUOTATION MARK}"
"""Stands before what is new or has changed; a shape that every typeface and every printer has."""

TYPED_MARK = "*"
"""The same in phone messages and plain text, where other signs cost length."""

_TOLD_CELLS = 3  # of a row that is no longer there: enough to tell which it was

Said = str | Sequence[str]
"""Words of a cell, or several lines of it."""


@dataclass
class Seen:
    """Rows and sentences of a document, as they were said.

    Attributes
    ----------
    rows : dict
        Of tables: what the table is about, then the cells; in order, without values.
    lines : set of (str, str)
        Sentences with what they stand under.
    """

    rows: dict[tuple[str, ...], None] = field(default_factory=dict)
    lines: set[tuple[str, str]] = field(default_factory=set)

    @property
    def firsts(self) -> frozenset[str]:
        """What rows begin with."""
        return frozenset(row[1] for row in self.rows)


@dataclass(frozen=True)
class Changes:
    """What changed in one document.

    Attributes
    ----------
    since : int
        Version that its reader has.
    lines : tuple of str
        What changed, a sentence each.
    before : Seen
        What that version said.
    marks : bool
        Whether anything in the document is marked.
    """

    since: int
    lines: tuple[str, ...]
    before: Seen
    marks: bool = True

    def shortened(self, to: int) -> Changes:
        """Return the same with so many lines at most, the last of which says how many more there are."""
        if len(self.lines) <= to:
            return self
        left = len(self.lines) - max(0, to - 1)
        more = several("{numeral} further change, marked below.", "{numeral} further changes, marked below.", left)
        return replace(self, lines=(*self.lines[: max(0, to - 1)], more[:1].upper() + more[1:]))

    @property
    def title(self) -> str:
        """Heading of the list."""
        return say("What changed since version {number}", number=self.since)

    def told(self, mark: str = MARK) -> tuple[str, ...]:
        """Return the list, and what the mark stands for where there is one."""
        legend = say("{mark} stands before what is new or has changed.", mark=mark)
        return (*self.lines, legend) if self.marks else self.lines

    def row_is_new(self, scope: str, cells: Sequence[Said]) -> bool:
        """Whether a row of a table was not said before."""
        return _row(scope, cells) not in self.before.rows

    def line_is_new(self, scope: str, text: str) -> bool:
        """Whether a sentence was not said before."""
        return (scope, without_marks(text)) not in self.before.lines

    def row_word(self, scope: str, cells: Sequence[Said]) -> str:
        """Return whether a row is new or has changed, in a word; empty where it is as it was."""
        if not self.row_is_new(scope, cells):
            return ""
        return say("changed") if _row(scope, cells)[1] in self.before.firsts else say("new")


_noting: ContextVar[Seen | None] = ContextVar("_noting", default=None)
_marking: ContextVar[Changes | None] = ContextVar("_marking", default=None)


@contextmanager
def noting() -> Iterator[Seen]:
    """Note every row and sentence of what is made within; nothing is marked."""
    seen = Seen()
    tokens = _noting.set(seen), _marking.set(None)
    try:
        yield seen
    finally:
        _noting.reset(tokens[0])
        _marking.reset(tokens[1])


@contextmanager
def marking(changes: Changes | None) -> Iterator[None]:
    """Mark what changed in the document that is made within; None = nothing is marked."""
    token = _marking.set(changes)
    try:
        yield
    finally:
        _marking.reset(token)


def changes() -> Changes | None:
    """Return what changed in the document that is being made; None where nothing is to be marked."""
    return _marking.get()


def row_mark(scope: str, cells: Sequence[Said]) -> str:
    """Note a row of a table; return ``new`` or ``changed`` in the reader's language where it is to be marked."""
    if not any(cells):
        return ""
    if (seen := _noting.get()) is not None:
        seen.rows[_row(scope, cells)] = None
    found = _marking.get()
    return found.row_word(scope, cells) if found else ""


def line_mark(scope: str, text: str) -> str:
    """Note a sentence; return ``changed`` in the reader's language where it is to be marked."""
    if not text:
        return ""
    if (seen := _noting.get()) is not None:
        seen.lines.add((scope, without_marks(text)))
    found = _marking.get()
    return say("changed") if found and found.line_is_new(scope, text) else ""


def with_mark(scope: str, text: str, mark: str = MARK) -> str:
    """Return a sentence with the mark before it, where it is to be marked."""
    return f"{mark} {text}" if line_mark(scope, text) else text


def marked_rows(scope: str, rows: Sequence[Sequence[Said]]) -> Sequence[Sequence[Said]]:
    """Return rows with the word of their mark in the first cell, as long as they come out on paper."""
    return [_with_word(row_mark(scope, row), row) for row in rows]


def _with_word(word: str, row: Sequence[Said]) -> Sequence[Said]:
    if not word:
        return row
    first = row[0] if isinstance(row[0], str) else row[0][0]
    said = f"{MARK} {word} {first}"
    return [said if isinstance(row[0], str) else (said, *row[0][1:]), *row[1:]]


def marked_line(scope: str, text: str) -> str:
    """Return a sentence with the word of its mark, as long as it comes out on paper."""
    word = line_mark(scope, text)
    return f"{MARK} {word} {text}" if word else text


def no_longer(before: Seen, now: Seen) -> tuple[str, ...]:
    """Say which rows were there before and are no more, a sentence each; a row that changed is not one of them."""
    left = [row for row in before.rows if row not in now.rows and row[1] not in now.firsts]
    texts = dict.fromkeys(", ".join([cell for cell in row[1:] if cell][:_TOLD_CELLS]) for row in left)
    return tuple(say("No longer here: {row}.", row=text) for text in texts)


def _row(scope: str, cells: Sequence[Said]) -> tuple[str, ...]:
    return (scope, *(without_marks(cell if isinstance(cell, str) else "; ".join(cell)) for cell in cells))
