"""One document of the folder: whose it is, what goes into it, and how it is written."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import partial
from typing import Any

from roundplan.domain.role import Paper
from roundplan.handouts.marking import Changes, Seen, marking, noting
from roundplan.handouts.paper import printed_on
from roundplan.handouts.pdf.blocks import Printed
from roundplan.handouts.pdf.marked import marked, seen_in
from roundplan.handouts.pdf.press import composed, press_later
from roundplan.handouts.pdf.proof import Missing
from roundplan.handouts.speech import speaking


class Reader(StrEnum):
    """Kinds of readers whose documents live on from version to version."""

    FACILITY = "facility"
    DISTRICT = "district"
    TRAINER = "trainer"
    CREW = "crew"
    SESSION = "session"
    STORE = "store"


@dataclass(frozen=True, slots=True)
class Whose:
    """Whose document it is: kind of reader, and their code (a district's name; nothing for the store)."""

    reader: Reader
    code: str = ""


Make = Callable[[int | None, bytes | None], bytes]
"""Makes a file, given the version that it carries (None = the plan's) and what its reader has (None = nothing)."""

Compose = Callable[[int | None], Printed]
"""Makes the words of a printed document, given the version that it carries."""


@dataclass(frozen=True, slots=True)
class Plain:
    """A document without marks.

    Attributes
    ----------
    digest : str
        SHA-256 of what goes into it; documents with equal digests say the same.
    seen : Seen
        Its rows and sentences.
    file : bytes or None
        The file; None of what is yet to be printed.
    words : dict
        What is to be printed.
    """

    digest: str
    seen: Seen
    file: bytes | None = None
    words: dict[str, Any] = field(default_factory=dict)

    def started(self) -> Callable[[], bytes]:
        """Return what gives the file; what is printed is being printed from now on, beside other work."""
        if self.file is not None:
            return partial(bytes, self.file)
        return press_later(self.words).result


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """One file of the folder.

    Attributes
    ----------
    path : str
        Where it stands within the folder.
    language : str
        What its reader reads, one of ``speech.LANGUAGES``.
    paper : Paper
        What it is printed on.
    whose : Whose or None
        None = the manager's or everybody's: written anew with every version.
    make : Make or None
        Makes the file; None for what is printed.
    compose : Compose or None
        Makes the words of what is printed.
    lost : function of what could not be printed
        Told of letters that no font can print.
    """

    path: str
    language: str
    paper: Paper
    whose: Whose | None = None
    make: Make | None = None
    compose: Compose | None = None
    lost: Callable[[str, Sequence[Missing]], None] = lambda path, missing: None

    def plain(self, version: int | None, earlier: bytes | None = None) -> Plain:
        """Return the document without marks.

        Parameters
        ----------
        version : int or None
            Version that it carries; None = the plan's.
        earlier : bytes or None
            The file as its reader has it; calendars go on from it.
        """
        with speaking(self.language), printed_on(self.paper), noting() as seen:
            if self.compose is None:
                made = self._made(version, earlier)
                return Plain(hashlib.sha256(made).hexdigest(), seen, made)
            printed = self.compose(version)
        data, missing = composed(printed)
        self.lost(self.path, missing)
        words = json.dumps(data, ensure_ascii=False).encode("utf-8", "surrogatepass")
        return Plain(hashlib.sha256(words).hexdigest(), seen_in(printed), None, data)

    def marked(self, version: int, earlier: bytes | None, changes: Callable[[], Changes]) -> Callable[[], bytes]:
        """Return what gives the file with what changed in it marked; it is being printed from now on.

        Parameters
        ----------
        version, earlier
            As for ``plain``.
        changes : function without arguments, returning Changes
            Called while the document's language is spoken.
        """
        with speaking(self.language), printed_on(self.paper):
            told = changes()
            with marking(told):
                if self.compose is None:
                    return partial(bytes, self._made(version, earlier))
                return press_later(composed(marked(self.compose(version), told))[0]).result

    def _made(self, version: int | None, earlier: bytes | None) -> bytes:
        assert self.make is not None, self.path
        return self.make(version, earlier)
