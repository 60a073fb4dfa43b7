"""Text made fit to print: hidden characters out, letters that no font holds found and written as their code."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from roundplan.handouts.page import printable
from roundplan.handouts.pdf.typefaces import has_glyph

_LONG_WORD = re.compile(r"[^\s\u200b-\u200d\u2060]{19,}")
_PIECE = 9
_BREAK_HERE = "\N{ZERO WIDTH SPACE}"
_LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"
_RIGHT_TO_LEFT = re.compile(
    "[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff]"
    "(?:[^A-Za-z0-9]*[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff])?"
)


@dataclass(frozen=True, slots=True)
class Missing:
    """Characters of one text that no font holds."""

    document: str
    text: str
    characters: str

    def __str__(self) -> str:
        codes = ", ".join(dict.fromkeys(_code(c) for c in self.characters))
        return (
            f"{self.document}: “{self.text}” holds characters that the fonts for print do not have; "
            f"they stand there as {codes}"
        )


@dataclass(slots=True)
class Proof:
    """Reads all text of one document before it is printed, and remembers what is missing."""

    document: str
    missing: list[Missing] = field(default_factory=list)
    _read: dict[str, str] = field(default_factory=dict)

    def clean(self, text: str) -> str:
        """Return the text as it can be printed."""
        found = self._read.get(text)
        if found is None:
            found = self._read[text] = self._cleaned(text)
        return found

    def _cleaned(self, text: str) -> str:
        plain = unicodedata.normalize("NFC", str(printable(text)))
        if plain.isascii():
            return _breakable(plain)
        lost = [c for c in plain if not c.isspace() and not has_glyph(c)]
        if lost:
            self.missing.append(Missing(self.document, plain, "".join(lost)))
            plain = "".join(_code(c) if c in lost else c for c in plain)
        return _steady(_breakable(plain))


def missing_lines(found: Iterable[Missing]) -> Iterator[str]:
    """Yield one line a text, with all the documents that it stands in."""
    texts: dict[tuple[str, str], list[str]] = {}
    for one in found:
        texts.setdefault((one.text, one.characters), []).append(one.document)
    for (text, characters), documents in texts.items():
        yield str(Missing(", ".join(dict.fromkeys(documents)), text, characters))


def _code(character: str) -> str:
    return f"[U+{ord(character):04X}]"


def _breakable(text: str) -> str:
    """Let a word of more than 18 letters be broken, so that none is cut at the edge of a column."""
    return _LONG_WORD.sub(lambda found: _BREAK_HERE.join(_pieces(found.group())), text)


def _pieces(word: str) -> Iterator[str]:
    """Yield pieces of a word, never parting a mark from its letter."""
    start = 0
    for index in range(1, len(word)):
        if index - start >= _PIECE and not unicodedata.combining(word[index]) and unicodedata.category(word[index]) != "Mc":
            yield word[start:index]
            start = index
    yield word[start:]


def _steady(text: str) -> str:
    """Keep what follows a name written from right to left in its place: a mark after each stretch of such letters."""
    return _RIGHT_TO_LEFT.sub(lambda found: found.group() + _LEFT_TO_RIGHT, text)
