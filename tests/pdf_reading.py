"""PDFs as a reader takes them in: text in reading order, fonts, sizes of paper."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from fontTools.ttLib import TTFont
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from roundplan.handouts.pdf.typefaces import FOLDER

UNSEEN = re.compile("[\u00ad\u200b-\u200f\u2028-\u202e\u2060\u2066-\u2069]")


def flat(text: str) -> str:
    """Return text without marks that nobody sees, one space for any white space, none after a hyphen (a line's end)."""
    return " ".join(UNSEEN.sub("", text).split()).replace("- ", "-")


def pages(source: Path | bytes) -> list[str]:
    """Return the text of each page."""
    return [page.text for page in _read(_content(source))]


def whole(source: Path | bytes) -> str:
    """Return the text of a document."""
    return " ".join(pages(source))


def properties(source: Path | bytes) -> dict[str, str]:
    """Return what the file says of itself."""
    return {str(key): str(value) for key, value in (_reader(source).metadata or {}).items()}


def paper(source: Path | bytes) -> set[tuple[int, int]]:
    """Return the sizes of all pages in whole points."""
    return {(round(page.mediabox.width), round(page.mediabox.height)) for page in _reader(source).pages}


def fonts(source: Path | bytes) -> dict[str, bool]:
    """Return each font by name without its subset's mark, and whether it is embedded."""
    found: dict[str, bool] = {}
    for page in _reader(source).pages:
        resources = page["/Resources"].get_object()
        assert isinstance(resources, DictionaryObject)
        for entry in resources.get("/Font", DictionaryObject()).get_object().values():
            font = entry.get_object()
            inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
            described = inner["/FontDescriptor"].get_object()
            name = str(font["/BaseFont"]).partition("+")[2] or str(font["/BaseFont"])
            found[name] = any(key in described for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    return found


def words_outside(source: Path | bytes, margin: float = 40) -> list[str]:
    """Return text that starts or ends nearer to the side of its page than ``margin`` points: what would be cut."""
    return [
        text
        for page in _read(_content(source))
        for start, end, _, text in page.words
        if not margin <= start <= end <= page.width - margin
    ]


def overlapping(source: Path | bytes) -> list[tuple[str, str]]:
    """Return stretches of text on one line of which the first runs into the second."""
    found = []
    for page in _read(_content(source)):
        lines: dict[float, list[tuple[float, float, str]]] = {}
        for start, end, height, text in page.words:
            lines.setdefault(round(height, 1), []).append((start, end, text))
        for line in lines.values():
            line.sort()
            found += [(one[2], two[2]) for one, two in pairwise(line) if one[0] < two[0] < one[1] - 1]
    return found


@dataclass(frozen=True)
class _Page:
    """Text of a page, and where each stretch of it starts, ends and stands, in points from the left and from below."""

    text: str
    width: float
    words: tuple[tuple[float, float, float, str], ...]


@lru_cache(maxsize=8)
def _read(content: bytes) -> tuple[_Page, ...]:
    """Read a document once, which takes long."""
    found = []
    for page in _reader(content).pages:
        words: list[tuple[float, float, float, str]] = []

        def visit(
            text: str, cm: list[float], _tm: object, _font: object, size: float, words: list[Any] = words
        ) -> None:
            if said := flat(text):
                words.append((cm[4], cm[4] + _length(said) * size, cm[5], said))

        text = page.extract_text(visitor_text=visit)
        found.append(_Page(flat(text), float(page.mediabox.width), tuple(words)))
    return tuple(found)


def _content(source: Path | bytes) -> bytes:
    return source if isinstance(source, bytes) else source.read_bytes()


def _length(text: str) -> float:
    """Return the length of Latin text over its size of type, set in the regular face: never longer than it is drawn."""
    advances = _advances()
    return sum(advances.get(ord(letter), 0.0) for letter in text)


@cache
def _advances() -> dict[int, float]:
    with TTFont(FOLDER / "NotoSans-Regular.ttf", lazy=True) as font:
        widths, units = font["hmtx"].metrics, font["head"].unitsPerEm
        return {point: widths[name][0] / units for point, name in font.getBestCmap().items()}


def _reader(source: Path | bytes) -> PdfReader:
    return PdfReader(io.BytesIO(source) if isinstance(source, bytes) else source)
