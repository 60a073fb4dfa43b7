"""PDFs as a reader takes them in: text in reading order, fonts, sizes of paper."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path

from fontTools.ttLib import TTFont
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from roundplan.handouts.pdf.typefaces import FOLDER

UNSEEN = re.compile("[\u00ad\u200b-\u200f\u2028-\u202e\u2060\u2066-\u2069]")


def flat(text: str) -> str:
    """Return text without marks that nobody sees, one space for any white space."""
    return " ".join(UNSEEN.sub("", text).split())


def pages(source: Path | bytes) -> list[str]:
    """Return the text of each page."""
    return [flat(page.extract_text()) for page in _reader(source).pages]


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
    outside: list[str] = []
    for page in _reader(source).pages:
        right = float(page.mediabox.width) - margin

        def visit(text: str, cm: list[float], _tm: object, _font: object, size: float, edge: float = right) -> None:
            said = flat(text)
            if said and not margin <= cm[4] <= cm[4] + _length(said) * size <= edge:
                outside.append(said)

        page.extract_text(visitor_text=visit)
    return outside


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
