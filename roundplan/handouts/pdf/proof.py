"""Text made fit to print: hidden characters out, letters that no font holds found and written as their code."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from roundplan.domain.saying import Notice, saying
from roundplan.handouts.pdf.typefaces import has_glyph
from roundplan.handouts.speech import FROM_RIGHT

_LETTERS = r"[^\s\u200b-\u200f\u2060-\u2069/–-]"
_LONG_WORD = {False: re.compile(_LETTERS + "{19,}"), True: re.compile(_LETTERS + "{13,}")}
"""Words too long for a line, and for a column of a table."""
_ADDRESS = re.compile(r"(?=.{3,45}$)[^\s@]+@[^\s@]+")
"""An e-mail address by itself, short enough for a line."""
_PIECE = 9
_BREAK_HERE = "\N{ZERO WIDTH SPACE}"
_HIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066\u2067\ufeff]")
_APART = re.compile("[\u2068\u2069]")
_LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"
_FROM_RIGHT_ON = re.compile(f"{FROM_RIGHT.pattern}(?:[^A-Za-z0-9]*{FROM_RIGHT.pattern})?")
_LATIN = re.compile("[A-Za-z]")


@dataclass(frozen=True, slots=True)
class Missing:
    """Characters of one text that no font holds."""

    document: str
    text: str
    characters: str

    @property
    def notice(self) -> Notice:
        """The same as a warning."""
        said = saying(
            "“{text}” holds characters that the fonts for print do not have; they stand there as {codes}",
            text=self.text,
            codes=codes_of(self.characters),
        )
        return Notice(file=self.document, row=None, column="", said=said)

    def __str__(self) -> str:
        return f"{self.document}: {self.notice.said}"


@dataclass(slots=True)
class Proof:
    """Reads all text of one document before it is printed, and remembers what is missing."""

    document: str
    missing: list[Missing] = field(default_factory=list)
    _read: dict[tuple[str, bool], str] = field(default_factory=dict)

    def clean(self, text: str, narrow: bool = False) -> str:
        """Return the text as it can be printed; ``narrow``: in a column of a table."""
        found = self._read.get((text, narrow))
        if found is None:
            found = self._read[text, narrow] = self._cleaned(text, narrow)
        return found

    def _cleaned(self, text: str, narrow: bool) -> str:
        plain = unicodedata.normalize("NFC", _HIDDEN.sub("", text)).removeprefix(_LEFT_TO_RIGHT)
        if plain.isascii():
            return _breakable(plain, narrow)
        lost = [c for c in plain if not c.isspace() and not has_glyph(c)]
        if lost:
            if not any(one.text == plain for one in self.missing):
                self.missing.append(Missing(self.document, plain, "".join(lost)))
            plain = "".join(_code(c) if c in lost else c for c in plain)
        return _steady(_breakable(plain, narrow))


def codes_of(characters: str) -> str:
    """Return the codes that stand in a document in place of characters."""
    return ", ".join(dict.fromkeys(_code(c) for c in characters))


def missing_lines(found: Iterable[Missing]) -> Iterator[Notice]:
    """Yield one warning a text, with all the documents that it stands in."""
    texts: dict[tuple[str, str], list[str]] = {}
    for one in found:
        texts.setdefault((one.text, one.characters), []).append(one.document)
    for (text, characters), documents in texts.items():
        yield Missing(", ".join(dict.fromkeys(documents)), text, characters).notice


def _code(character: str) -> str:
    return f"[U+{ord(character):04X}]"


def _breakable(text: str, narrow: bool) -> str:
    """Let long words be broken, so that none is cut at the edge of a page or runs into the next column."""
    if not narrow and _ADDRESS.fullmatch(text):
        return text  # a mark within it would be copied along, and no letter would arrive
    return _LONG_WORD[narrow].sub(lambda found: _BREAK_HERE.join(_pieces(found.group())), text)


def _pieces(word: str) -> Iterator[str]:
    """Yield pieces of a word, never parting a mark from its letter."""
    start = 0
    for index in range(1, len(word)):
        if (
            index - start >= _PIECE
            and not unicodedata.combining(word[index])
            and unicodedata.category(word[index]) != "Mc"
        ):
            yield word[start:index]
            start = index
    yield word[start:]


def _steady(text: str) -> str:
    """Keep what follows a name written from right to left in its place.

    A sentence sets such names apart itself, in pairs of marks; in one that does not, a mark follows each stretch of
    their letters. A name that stands alone is left as it is.
    """
    marks = "".join(_APART.findall(text))
    if marks:
        return text if marks == "\u2068\u2069" * (len(marks) // 2) else _steady(_APART.sub("", text))
    if FROM_RIGHT.search(text) and _LATIN.search(text):
        return _FROM_RIGHT_ON.sub(lambda found: found.group() + _LEFT_TO_RIGHT, text)
    return text
