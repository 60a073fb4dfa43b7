"""Reply codes: short enough to type on a phone, with a check letter so that a code mistyped is no other code.

A code such as ``K3P`` is the facility's letters, the number of the row and a check letter. Letters are a number in base
23 (I, L and O, which look like figures, are left out), and 23 is prime: the check letter is a sum of all letters and
figures, each with a weight of its own, and of a number that tells drafts from what readers were told. One letter or
figure mistyped, two neighbours swapped, or a draft's slip therefore never gives a code that is valid (numbers of more
than eight figures excepted). A figure mistyped as a letter may give letters that no facility has, so whoever reads
codes says which there are. What a code stands for is known from the slips that were sent out.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ"
"""Letters of codes: 23, a prime number, those left out that look like a one or a nought."""

_BASE = len(LETTERS)
_CHECK_WEIGHT = 13
_PERSON_SALT = 7  # sets codes of persons apart from codes of rows with the same figures
_LOOKALIKES = str.maketrans("ILO", "110")


class Word(StrEnum):
    """What a coordinator can reply."""

    YES = "yes"
    NO = "no"
    REPLACED = "replaced by"


REPLY_WORDS: dict[Word, dict[str, str]] = {
    Word.YES: {"en": "yes", "fr": "oui", "pt": "sim", "sw": "ndiyo"},
    Word.NO: {"en": "no", "fr": "non", "pt": "não", "sw": "hapana"},
    Word.REPLACED: {"en": "replaced by", "fr": "remplacé par", "pt": "substituído por", "sw": "badala yake"},
}
"""What stands in the drop-down of a slip, by language; a reader takes any of them."""

SHORT_WORDS: dict[str, str] = {"en": "by", "fr": "par", "pt": "por", "sw": "badala"}
"""What is typed in a phone message for "replaced by", by language; a reader takes any of them."""


def plain(text: str) -> str:
    """Return a word as it is compared: small letters, no accents, no stops, single spaces."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^\w ]", " ", bare.casefold()).split())


_WORD_OF = {
    **{plain(said): word for word, by_language in REPLY_WORDS.items() for said in by_language.values()},
    **{plain(said): Word.REPLACED for said in SHORT_WORDS.values()},
}


def reply_word(text: str) -> Word | None:
    """Return what a reply means, in whichever language it was given; None if it is none of the words."""
    return _WORD_OF.get(plain(text))


def facility_letters(number: int, of: int) -> str:
    """Return the letters of a facility: its place in the table, from 0, written in base 23.

    Parameters
    ----------
    number : int
        Place in the table.
    of : int
        Facilities in the table; all of them get the same number of letters.
    """
    width = 1
    while _BASE**width < of:
        width += 1
    said = ""
    for _ in range(width):
        number, digit = divmod(number, _BASE)
        said = LETTERS[digit] + said
    return said


def check_letter(letters: str, number: int, check: int, *, salt: int = 0) -> str:
    """Return the check letter of a code; see the head of this module for what it finds."""
    values = [LETTERS.index(letter) for letter in letters] + [int(figure) for figure in str(number)]
    weighted = sum(weight * value for weight, value in enumerate(values, start=1))
    return LETTERS[(weighted + _CHECK_WEIGHT * check + salt) % _BASE]


def row_code(letters: str, number: int, check: int) -> str:
    """Return the code of a row of a slip.

    Parameters
    ----------
    letters : str
        The facility's, as :func:`facility_letters` gives them.
    number : int
        Number of the row among all that the facility was ever asked, from 1.
    check : int
        What sets a draft's codes apart, ``numbering.DRAFT_CHECK`` or ``TOLD_CHECK``.
    """
    return f"{letters}{number}{check_letter(letters, number, check)}"


def person_code(letters: str, number: int, check: int) -> str:
    """Return the code of a person who could come instead: the number among the facility's staff, and a check letter.

    The facility's letters are not written, they are those of the row that the person is named for.
    """
    return f"{number}{check_letter(letters, number, check, salt=_PERSON_SALT)}"


@dataclass(frozen=True, slots=True)
class TypedReply:
    """What a coordinator typed about one row.

    Attributes
    ----------
    letters : str
        Of the facility.
    number : int
        Of the row.
    substitute : int or None
        Number among the facility's staff; given exactly with ``replaced by``.
    """

    letters: str
    number: int
    word: Word
    substitute: int | None = None


class NotUnderstood(ValueError):
    """A typed reply that cannot be taken; the text says why in plain words."""


_TYPED = re.compile(r"^\s*([A-Z]+?) ?([0-9ILO]{1,8}?) ?([A-Z])\b[ :,;=-]+(.*)$", re.IGNORECASE | re.DOTALL)
_SUBSTITUTE = re.compile(r"^(.*?)[ :]+([0-9ILO]{1,8}?) ?([A-Z])[ .!]*$", re.IGNORECASE | re.DOTALL)


def read_typed(text: str, check: int, *, known: Collection[str] | None = None) -> TypedReply:
    """Read one typed reply such as ``K3P yes`` or ``k3p by 4M``.

    Parameters
    ----------
    text : str
        As it was typed: small letters, spaces within the code, and I, L, O for one and nought are let pass.
    check : int
        What went into the check letters of the slips that were sent out.
    known : collection of str or None
        Letters of all facilities, so that others are refused; None = any letters are taken.

    Raises
    ------
    NotUnderstood
        If the code or the word is not right.
    """
    found = _TYPED.match(" ".join(text.split()))
    if found is None:
        raise NotUnderstood(f"“{text.strip()}” is no code with a reply, such as K3P yes")
    letters, number, mark, said = _letters(found[1]), _number(found[2]), found[3].upper(), found[4]
    if (
        letters is None
        or number is None
        or (known is not None and letters not in known)
        or check_letter(letters, number, check) != mark
    ):
        raise NotUnderstood(
            f"“{found[1]}{found[2]}{found[3]}” is no code of a slip that was sent out: mistyped, or of a draft"
        )
    word = reply_word(said)
    if word in (Word.YES, Word.NO):
        return TypedReply(letters, number, word)
    named = _SUBSTITUTE.match(said)
    if named is None or reply_word(named[1]) is not Word.REPLACED:
        raise NotUnderstood(f"“{said.strip()}” is no reply; type yes, no, or by and the code of who comes")
    substitute = _number(named[2])
    if substitute is None or check_letter(letters, substitute, check, salt=_PERSON_SALT) != named[3].upper():
        raise NotUnderstood(f"“{named[2]}{named[3]}” is no code of a person on that slip: mistyped, or of a draft")
    return TypedReply(letters, number, Word.REPLACED, substitute)


def _letters(text: str) -> str | None:
    upper = text.upper()
    return upper if all(letter in LETTERS for letter in upper) else None


def _number(text: str) -> int | None:
    """Return a number as typed; None for one that begins with a nought, which no code does."""
    figures = text.upper().translate(_LOOKALIKES)
    return None if figures.startswith("0") else int(figures)
