"""What a printed document is made of: blocks of words without any layout code; house.typ draws each kind."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Strong:
    """Words set bold."""

    text: str


@dataclass(frozen=True, slots=True)
class Blank:
    """A line to write on, after a label.

    Attributes
    ----------
    width : float
        Millimetres; 0 = the rest of the line.
    """

    label: str = ""
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class Tick:
    """An empty box to tick, before a label."""

    label: str = ""


@dataclass(frozen=True, slots=True)
class Wide:
    """The last cell of a row that reaches to the table's end."""

    line: Line


Line = str | Strong | Blank | Tick
"""One line of text."""

Cell = Line | Wide | Sequence[Line]
"""A cell of a table: a line or several."""


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading, never left alone at the foot of a page; level 1 to 3."""

    text: str
    level: int = 1


@dataclass(frozen=True, slots=True)
class Lines:
    """Sentences one below the other; ``marked`` puts a dot before each, ``boxes`` a box to tick."""

    lines: Sequence[Line]
    marked: bool = False
    boxes: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with what they stand for, in two columns."""

    rows: Sequence[tuple[str, Cell]]
    label_width: float = 36.0
    """Millimetres."""


@dataclass(frozen=True, slots=True)
class Ems:
    """The width of a column that goes by the size of type; 0 = as wide as its longest line."""

    width: float = 0.0


@dataclass(frozen=True, slots=True)
class Grid:
    """A table; its head is repeated on each page, and no row is broken.

    Attributes
    ----------
    caption : str
        Said above the table; empty = none.
    heads : sequence of str
        Column headings.
    widths : sequence of float or Ems
        Of each column: its share of what is left, or its width by the size of type.
    numbers : collection of int
        Columns set flush right.
    total : bool
        The last row is a total.
    tall : float
        Least height of a row in millimetres, for tables that are written in.
    ruled : bool
        Lines between columns, for tables that are written in.
    """

    caption: str
    heads: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    widths: Sequence[float | Ems]
    numbers: frozenset[int] = frozenset()
    total: bool = False
    tall: float = 0.0
    ruled: bool = False


@dataclass(frozen=True, slots=True)
class Notice:
    """A framed note with a bold first line."""

    title: str
    lines: Sequence[Line]


@dataclass(frozen=True, slots=True)
class Columns:
    """Blocks side by side, with shares of the width."""

    parts: Sequence[Sequence[Block]]
    widths: Sequence[float]


@dataclass(frozen=True, slots=True)
class Together:
    """Blocks that stay on one page."""

    parts: Sequence[Block]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Blocks on a page of their own, in the largest type that should fit it; past the smallest they run over."""

    parts: Sequence[Block]
    sizes: Sequence[float] = (9.0, 8.5, 8.0, 7.5, 7.0, 6.6)
    """Sizes of type to try, in points."""


@dataclass(frozen=True, slots=True)
class NewPage:
    """What follows starts on a new page."""


Block = Heading | Lines | Facts | Grid | Notice | Columns | Together | Sheet | NewPage


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A document to print.

    Attributes
    ----------
    path : str
        Its path in the output folder; messages name it.
    title : str
        Title, in the head of each page and in the file's properties.
    over_title, under_title : str
        A line above the title and one below it, on the first page.
    head, foot : str
        In the head of each page beside the title, and at its foot.
    pages : str
        ``page {number} of {total}`` in the document's language.
    language : str
        BCP 47 code of the text.
    paper : str
        ``a4`` or ``letter``.
    """

    path: str
    title: str
    over_title: str = ""
    under_title: str = ""
    head: str
    foot: str
    pages: str
    language: str
    paper: str
    blocks: Sequence[Block]


def to_data(value: Any, clean: Callable[[str, bool], str], narrow: bool = False) -> Any:
    """Return blocks as lists, dicts and text for JSON; each block names its kind.

    Parameters
    ----------
    clean : function of a text and whether it stands in a table
        Makes text fit to print.
    narrow : bool
        Whether the value stands in a table.
    """
    if isinstance(value, str):
        return clean(value, narrow)
    if isinstance(value, bool | int | float) or value is None:
        return value
    if isinstance(value, frozenset):
        return sorted(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        narrow = narrow or isinstance(value, Grid)
        fields = {f.name: to_data(getattr(value, f.name), clean, narrow) for f in dataclasses.fields(value)}
        return {"kind": type(value).__name__, **fields}
    return [to_data(part, clean, narrow) for part in value]
