"""The language that a document is being written in, and its sentences: English messages looked up in catalogues."""

from __future__ import annotations

import gettext
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel import Locale

LANGUAGES = ("en", "fr", "pt", "sw")
"""Languages that documents are written in; English needs no catalogue."""

LOCALES = {"en": "en_GB", "fr": "fr", "pt": "pt_PT", "sw": "sw"}
"""Whose month names, number formats and lists each language takes: those used in most of Africa."""

CATALOGUES = Path(__file__).parent / "locale"
"""Folder of the catalogues, ``<language>/LC_MESSAGES/handouts.po``; they are read as they are, never compiled."""

NUMBER_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
"""English words for ``{numeral}``; in other languages number words bend with their noun, so figures stand there."""

FROM_RIGHT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff]")
"""Letters of scripts that are written from right to left."""

_BIDI_MARKS = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_ISOLATE, _END_OF_ISOLATE, _LEFT_TO_RIGHT = "\u2068", "\u2069", "\u200e"
_spoken: ContextVar[str] = ContextVar("spoken", default="en")


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Set the language of everything said within; one that there is no catalogue for gives English.

    Parameters
    ----------
    language : str
        BCP 47 code; of ``fr-CM`` the first part counts.
    """
    token = _spoken.set(first_spoken([language]))
    try:
        yield
    finally:
        _spoken.reset(token)


def first_spoken(languages: Iterable[str]) -> str:
    """Return the first of some languages, by BCP 47 code, that documents are written in; English if none is."""
    codes = (language.replace("_", "-").split("-")[0].lower() for language in languages)
    return next((code for code in codes if code in LANGUAGES), "en")


def language() -> str:
    """Return the language of what is being said, one of ``LANGUAGES``."""
    return _spoken.get()


def locale() -> Locale:
    """Return the locale of what is being said: month names, number formats, lists."""
    return locale_of(language())


@cache
def locale_of(code: str) -> Locale:
    """Return the locale of one of ``LANGUAGES``."""
    from babel import Locale

    return Locale.parse(LOCALES[code])


def say(message: str, /, **values: object) -> str:
    """Say a sentence in the language that is spoken.

    Parameters
    ----------
    message : str
        The English sentence, written out where it is said so that it can be extracted; ``{name}`` stands for a value.
    **values
        Values by name. Text written from right to left is set apart, so that it does not turn what stands around it.
    """
    return _filled(_catalogue(language()).gettext(message), values)


def several(one: str, many: str, number: int, /, **values: object) -> str:
    """Say a sentence about a number of things.

    Parameters
    ----------
    one, many : str
        The English sentence for one thing and for any other number.
    number : int
        How many; the sentence may name it as ``{number}``, in figures with thousands marked, or as ``{numeral}``, in
        English a word up to twelve and otherwise figures.
    **values
        Further values by name.
    """
    said = _catalogue(language()).ngettext(one, many, number)
    return _filled(said, {"number": figures(number), "numeral": numeral(number), **values})


def message(text: str) -> str:
    """Return the text as it is: marks a message in a table of messages that ``say`` is given later."""
    return text


def figures(number: int) -> str:
    """Write a whole number in figures, thousands marked as the language does."""
    from babel.numbers import format_decimal

    return str(format_decimal(number, format="#,##0", locale=locale()))


def numeral(number: int) -> str:
    """Write a whole number up to twelve as an English word; in other languages, and beyond, in figures."""
    if language() == "en" and 0 <= number < len(NUMBER_WORDS):
        return NUMBER_WORDS[number]
    return figures(number)


def apart(value: object) -> object:
    """Set text that is written from right to left apart from what stands around it; leave all else alone."""
    if isinstance(value, str) and FROM_RIGHT.search(value):
        return f"{_ISOLATE}{value}{_END_OF_ISOLATE}"
    return value


def closed(text: str) -> bool:
    """Whether every mark that sets a name apart has its end, and no end stands without its mark."""
    depth = 0
    for letter in text:
        depth += (letter == _ISOLATE) - (letter == _END_OF_ISOLATE)
        if depth < 0:
            return False
    return depth == 0


def without_marks(text: str) -> str:
    """Return a text without marks of reading direction, which some formats and programs cannot show."""
    return _BIDI_MARKS.sub("", text)


def sentence(text: str) -> str:
    """Return a text in which names are set apart so that it reads from left to right, whatever name comes first."""
    return f"{_LEFT_TO_RIGHT}{text}" if _ISOLATE in text and not text.startswith(_LEFT_TO_RIGHT) else text


def _filled(said: str, values: Mapping[str, object]) -> str:
    return sentence(said.format(**{name: apart(value) for name, value in values.items()}))


@cache
def _catalogue(code: str) -> gettext.NullTranslations:
    """Read a catalogue; messages without a translation, or with one marked as unsure, stay English."""
    if code == "en":
        return gettext.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    with (CATALOGUES / code / "LC_MESSAGES" / "handouts.po").open("rb") as source:
        catalogue = read_po(source, locale=code)
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
