"""How a facility's sheet fits one side of paper: size of type, width of its narrow column, estimated from its text."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from roundplan.handouts.page import Cell
from roundplan.handouts.paper import height_mm
from roundplan.handouts.pdf.typefaces import advances

SIZES_PT = tuple(tenths / 10 for tenths in range(104, 65, -2))
"""Sizes of type tried in turn, in points; a sheet that fits none is set in the last and runs over."""

_EASY_PT = 9.0
"""Down to this size each drive has a line of its own; below it, and at it if need be, sentences run on."""

ASIDES_MM = (48, 56, 64, 74, 84, 94)
"""Widths of the narrow column tried at each size, in millimetres: that at which the sheet is shortest."""

SHIFT_PERCENT = (17, 21, 25, 30, 35)
"""Shares of the first column of the table of those who stay."""

_TIGHT_PT = 9.3
"""At this size and below lines stand closer."""

_MM = 72 / 25.4
_MARGINS_MM = 19.5
"""Upper and lower margin of the sheet, in millimetres, with what rounding may add."""

_WHOLE_MM = 186
"""Width of the text on A4, the narrower paper, in millimetres."""

_GAP_MM = 5
_EDGE_MM = 4
"""What stands between the columns, and what the narrow one loses to its rule and padding, in millimetres."""

_PADDING = 0.7
"""What a cell loses to its padding, over the size of type."""

_ROUNDING = 0.01

_UNKNOWN = 0.7
"""Width of a letter of another script over the size of type (common practice, no source)."""

_WORDS = re.compile(r"[^ -]*[ -]?")
"""Words, each with the space or hyphen after it at which a line may end."""

_SAFETY = 0.9
"""Size of the safety lines and of column headings over that of the sheet."""

_SPARE = 1.03
"""The estimate came out up to a thirtieth short of what a browser made of it."""

_ENDS = 10.4
"""Height of title, signature and foot over the size of type, measured in a browser."""

_CONFIRM_MM = 5.4
"""Height of a line to confirm on, in millimetres."""

Rows = Sequence[Sequence[Cell]]


@dataclass(frozen=True, slots=True)
class Fit:
    """How a sheet is set.

    Attributes
    ----------
    size_pt : float
        Size of type, in points.
    aside_mm : int
        Width of the narrow column, in millimetres.
    flow : bool
        What is said of a team's way runs on in one paragraph, rather than a line a drive.
    shift_percent : int
        Share of the width that the first column of the table of those who stay takes.
    fits : bool
        Whether the sheet should stand on one side so.
    """

    size_pt: float
    aside_mm: int
    flow: bool
    shift_percent: int = SHIFT_PERCENT[0]
    fits: bool = True

    @property
    def line(self) -> float:
        """Height of a line over the size of type."""
        return 1.22 if self.size_pt <= _TIGHT_PT else 1.3


@lru_cache(maxsize=4096)
def _words(text: str, bold: bool) -> tuple[tuple[float, float], ...]:
    """Return the length of each word over the size of type, with and without the space or hyphen that ends it.

    They are set in Noto Sans: other faces that pages ask for are narrower.
    """
    letters = advances(bold)
    space = letters[ord(" ")]
    found = []
    for word in _WORDS.findall(text):
        length = sum(letters.get(ord(letter), _UNKNOWN) for letter in word)
        found.append((length, length - space if word.endswith(" ") else length))
    return tuple(found)


def _length(text: str, bold: bool) -> float:
    return sum(length for length, _ in _words(text, bold))


def _longest(cell: Cell, *, bold: bool) -> float:
    return max(_length(line, bold) for line in ((cell,) if isinstance(cell, str) else cell))


def text_lines(text: str, width_pt: float, size_pt: float, *, bold: bool = False) -> int:
    """Return the lines that a text takes in a column."""
    lines, used, room = 1, 0.0, width_pt / size_pt + _ROUNDING
    for length, bare in _words(text, bold):
        if used and used + bare > room:
            lines, used = lines + 1, 0.0
        if length > room:  # broken within
            lines, used = lines + int(length / room), length % room
        else:
            used += length
    return lines


@dataclass(frozen=True, slots=True)
class _Measure:
    """Heights in points of what stands on a sheet at one setting."""

    fit: Fit

    @property
    def _line(self) -> float:
        return self.fit.size_pt * self.fit.line

    @property
    def heading(self) -> float:
        return 1.95 * self.fit.size_pt

    def text(self, texts: Sequence[str], width_pt: float, gap: float = 0.4) -> float:
        """Return the height of paragraphs; ``gap`` is what stands between them, in sizes of type."""
        lines = (text_lines(text, width_pt, self.fit.size_pt) for text in texts)
        return sum(count * self._line + gap * self.fit.size_pt for count in lines)

    def rows(self, rows: Rows, shares: Sequence[float], width_pt: float) -> float:
        """Return the height of a table without its head."""
        return sum(max(self._cells(row, shares, width_pt)) + 0.2 * self.fit.size_pt + 0.75 for row in rows)

    def _cells(self, row: Sequence[Cell], shares: Sequence[float], width_pt: float) -> Iterator[float]:
        for place, (cell, share) in enumerate(zip(row, shares, strict=True)):
            lines = (cell,) if isinstance(cell, str) else cell
            room = share * width_pt - _PADDING * self.fit.size_pt
            yield sum(text_lines(line, room, self.fit.size_pt, bold=not place) for line in lines) * self._line

    def seat_shares(self, rows: Rows, width_pt: float) -> tuple[float, ...]:
        """Return the shares of the width that name, role and standby take: as they are long, the role unbroken."""
        longest = [max(_longest(row[place], bold=not place) for row in rows) + _PADDING for place in range(3)]
        name, role, standby = (length * self.fit.size_pt / width_pt for length in longest)
        rest = max(0.2, 1 - role) / (name + standby)
        return name * rest, role, standby * rest

    def stays(self, rows: Rows, width_pt: float) -> tuple[float, int]:
        """Return the least height of the table of those who stay, and the share of its first column in per cent."""
        if not rows:
            return 0.0, SHIFT_PERCENT[0]
        roles = len(rows[0]) - 2

        def height(percent: int) -> float:
            share = percent / 100
            return self.rows(rows, (share, *((0.88 - share) / roles for _ in range(roles)), 0.12), width_pt)

        best = min(SHIFT_PERCENT, key=height)
        return self.head(2) + height(best), best

    def head(self, lines: int = 1) -> float:
        """Return the height of a table's head with the space round the table."""
        return self.fit.size_pt * (_SAFETY * 1.2 * lines + 0.4) + 1.5

    def safety(self, texts: Sequence[str], width_pt: float) -> float:
        """Return the height of lines in two columns side by side."""
        half, size = width_pt / 2 - 3 * self.fit.size_pt, _SAFETY * self.fit.size_pt
        heights = [text_lines(text, half, size) * size * self.fit.line + 0.2 * size for text in texts]
        return self.heading + sum(heights) / 2


def best_fit(
    *,
    blocks: Sequence[tuple[Sequence[str], Rows]],
    main_text: Sequence[str],
    aside_text: Sequence[str],
    confirmations: int,
    stays: Rows,
    whole_text: Sequence[str],
    safety: Sequence[str],
) -> Fit:
    """Return the largest size of type, and a width of the narrow column, at which the sheet should fit one side.

    Where it fits at none, it is set in the last size and runs over.

    Parameters
    ----------
    blocks : sequence of (sentences, rows)
        What is said of each team, its title first, and its table of seats.
    main_text, aside_text : sequence of str
        Other paragraphs of the wide and of the narrow column; a heading in the narrow one is an empty text.
    confirmations : int
        Dates for a go or no-go.
    stays : sequence of rows
        The table of those who stay, over both columns.
    whole_text, safety : sequence of str
        Paragraphs under that table, and the safety lines.
    """

    def height(fit: Fit) -> float:
        m, size = _Measure(fit), fit.size_pt
        whole, aside_pt = _WHOLE_MM * _MM, (fit.aside_mm - _EDGE_MM) * _MM
        main_pt = whole - (fit.aside_mm + _GAP_MM) * _MM
        main = m.heading + m.text(main_text, main_pt)
        for sentences, rows in blocks:
            said = [sentences[0], " ".join(sentences[1:])] if fit.flow else sentences
            main += m.text(said, main_pt, 0) + 0.6 * size + m.rows(rows, m.seat_shares(rows, main_pt), main_pt)
            main += m.head() if len(rows) > 1 else 0.4 * size
        below_heads = [text for text in aside_text if text]
        aside = m.heading * (len(aside_text) - len(below_heads)) + m.text(below_heads, aside_pt - 1.2 * size, 0.2)
        aside += (m.heading + m.head(2) + confirmations * (_CONFIRM_MM * _MM + 0.2 * size + 1)) if confirmations else 0
        below = m.heading + m.text(whole_text, whole) + m.stays(stays, whole)[0]
        # The narrower the column, the more of each line a browser leaves empty.
        narrow = 1.0 + 0.13 * (ASIDES_MM[-1] - fit.aside_mm) / (ASIDES_MM[-1] - ASIDES_MM[0])
        return _SPARE * (max(main, narrow * aside) + below + m.safety(safety, whole) + _ENDS * size)

    room = (height_mm() - _MARGINS_MM) * _MM
    steps = [(size, False) for size in SIZES_PT if size >= _EASY_PT]
    steps += [(size, True) for size in SIZES_PT if size <= _EASY_PT]

    def shortest(step: tuple[float, bool]) -> Fit:
        return min((Fit(step[0], aside, step[1]) for aside in ASIDES_MM), key=height)

    # Each step needs less room than the one before.
    first = bisect_left(steps, True, hi=len(steps) - 1, key=lambda step: height(shortest(step)) <= room)
    best = shortest(steps[first])
    return replace(best, shift_percent=_Measure(best).stays(stays, _WHOLE_MM * _MM)[1], fits=height(best) <= room)
