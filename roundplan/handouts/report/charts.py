"""Bar charts as inline SVG: each bar with its figure, parts told apart by dark, light and open fill, right in grey.

A table beside each chart says the same; the drawing has a title and a description for those who cannot see it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from roundplan.handouts.page import environment
from roundplan.handouts.speech import say
from roundplan.handouts.words import list_words

LABEL_WIDTH = 176
BAR_WIDTH = 344
ROW_HEIGHT = 27
TOP = 54
LABEL_LETTERS = 25
MOST_BARS = 32
"""Bars of one drawing; more go into a further one, so that each fits on a page."""
LETTER_WIDTH = 6.3
"""Width of a letter at the size of the legend, on the generous side."""

FILLS = (("#1c3f6b", "#1c3f6b"), ("#b9c4d2", "#1d2733"), ("#fffefb", "#1d2733"))
"""Fill and edge of a bar's parts in turn: dark, light, open."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    Attributes
    ----------
    label : str
        What it stands for.
    parts : tuple of float
        Lengths of its parts, in the chart's unit.
    figure : str
        What stands behind it, in words and figures.
    mark : float or None
        Where a stroke across the bar stands (a limit, a budget); None = nowhere.
    """

    label: str
    parts: tuple[float, ...]
    figure: str
    mark: float | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a bar as drawn."""

    x: float
    width: float
    fill: str
    edge: str


@dataclass(frozen=True, slots=True)
class Row:
    """A bar as drawn."""

    y: float
    label: str
    title: str
    pieces: tuple[Piece, ...]
    mark: float | None
    end: float
    figure: str


def bar_chart(ident: str, title: str, parts: Sequence[str], bars: Sequence[Bar], *, mark: str = "") -> Markup:
    """Return bars one below the other, in drawings that fit a page each; empty where there are none.

    Parameters
    ----------
    ident : str
        Start of the ids of title and description, unique on the page.
    parts : sequence of str
        What the parts of each bar are, in order; three at most.
    mark : str
        What the strokes across bars are; empty = there are none.
    """
    if not bars:
        return Markup("")
    longest = max((max(sum(bar.parts), bar.mark or 0.0) for bar in bars), default=0.0) or 1.0
    pages = [bars[n : n + MOST_BARS] for n in range(0, len(bars), MOST_BARS)]
    names = [*parts, mark] if mark else list(parts)
    drawn = []
    for number, page in enumerate(pages, 1):
        said = [say("{label}: {figure}.", label=bar.label, figure=bar.figure) for bar in page]
        drawing = {
            "ident": ident if number == 1 else f"{ident}-{number}",
            "title": title if len(pages) == 1 else f"{title} ({number}/{len(pages)})",
            "desc": " ".join([say("Bars show {parts}.", parts=list_words(names)), *said]),
            "width": LABEL_WIDTH + BAR_WIDTH + 166,
            "height": TOP + ROW_HEIGHT * len(page) + 4,
            "legend": _legend(parts, mark),
            "rows": tuple(_row(place, bar, BAR_WIDTH / longest) for place, bar in enumerate(page)),
        }
        drawn.append(environment().get_template("bars.svg.j2").render(d=drawing))
    return Markup("\n".join(drawn))


def _legend(parts: Sequence[str], mark: str) -> tuple[tuple[int, str, str, str], ...]:
    """Return place, name, fill and edge of each part, one behind the other; a stroke has no fill."""
    found, x = [], LABEL_WIDTH
    drawn = [(name, *FILLS[number]) for number, name in enumerate(parts)]
    for name, fill, edge in [*drawn, (mark, "", "#87301a")] if mark else drawn:
        found.append((x, name, fill, edge))
        x += 34 + round(LETTER_WIDTH * len(name))
    return tuple(found)


def _row(number: int, bar: Bar, scale: float) -> Row:
    x = float(LABEL_WIDTH)
    pieces = []
    for part, (fill, edge) in zip(bar.parts, FILLS, strict=False):
        if part:
            pieces.append(Piece(round(x, 1), round(part * scale, 1), fill, edge))
        x += part * scale
    mark = None if bar.mark is None else round(LABEL_WIDTH + bar.mark * scale, 1)
    return Row(
        y=TOP + ROW_HEIGHT * number,
        label=bar.label if len(bar.label) <= LABEL_LETTERS else bar.label[: LABEL_LETTERS - 1].rstrip() + "…",
        title=bar.label,
        pieces=tuple(pieces),
        mark=mark,
        end=round(max(x, mark or 0.0) + 7, 1),
        figure=bar.figure,
    )
