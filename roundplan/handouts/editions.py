"""Documents that live on: one that says what it said stays as its reader has it, one that changed is written anew.

A document carries the version of its own last change. Whether it changed is told from what goes into it, made from the
plan that was told before and from the new one, under the version that its reader has: a version's number, the moment of
writing or what other readers are told never makes it a new one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import folder as folders
from roundplan.handouts.document import Document, Whose
from roundplan.handouts.folder import Folder
from roundplan.handouts.marking import Changes, Seen, no_longer
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.withdrawn import session_withdrawn, session_withdrawn_book
from roundplan.handouts.speech import say, speaking

WITHDRAWN = "withdrawn"
"""What goes into a document of something that is planned no more: nothing of any plan."""


@dataclass(frozen=True, slots=True)
class Had:
    """A document as its reader has it.

    Attributes
    ----------
    version : int
        Of its own last change.
    source : str
        SHA-256 of what went into it, or ``WITHDRAWN``.
    content : function without arguments, returning bytes or None
        The file; None once it has been purged.
    """

    version: int
    whose: Whose
    source: str
    content: Callable[[], bytes | None]


@dataclass(frozen=True, slots=True)
class Edition:
    """A document to be written.

    Attributes
    ----------
    started : function without arguments, returning bytes
        Gives the file; what is printed is being printed meanwhile.
    whose : Whose or None
        None = written anew with every version.
    version : int
        Of its own last change.
    source : str
        As in ``Had``; empty where it is written anew with every version.
    changed : bool
        Whether its reader does not have it so.
    """

    path: str
    started: Callable[[], bytes]
    whose: Whose | None
    version: int
    source: str = ""
    changed: bool = True

    @property
    def content(self) -> bytes:
        """The file."""
        return self.started()


Words = Callable[[Whose], Sequence[str]]
"""Says what changed for a reader, in the language that is spoken."""


@dataclass(frozen=True)
class Editions:
    """Documents of a version that readers are told, beside what they have.

    Attributes
    ----------
    now, before : Folder
        Of the new plan, and of the one that was told last; None = none was.
    had : mapping of str to Had
        By path.
    """

    now: Folder
    before: Folder | None
    had: Mapping[str, Had]
    words: Words

    def written(self) -> Iterator[Edition]:
        """Yield every document of the folder, in the order in which they are to be made."""
        made: set[str] = set()
        for document in folders.documents(self.now):
            made.add(document.path)
            yield self._edition(document)
        for path, had in self.had.items():
            if path not in made:
                leaving = self._leaving.get(path)
                yield self._edition(leaving) if leaving else self._withdrawn(path, had)

    def _edition(self, document: Document) -> Edition:
        number, had = self.now.index.plan.version, self.had.get(document.path)
        if document.whose is None:
            return Edition(document.path, document.plain(None).started(), None, number)
        if had is None:
            plain = document.plain(number)
            return Edition(document.path, plain.started(), document.whose, number, plain.digest)
        kept = had.content()
        plain = document.plain(had.version, kept)
        if plain.digest == had.source:
            return self._unchanged(document.path, had, partial(bytes, kept) if kept else plain.started())
        earlier = self._earlier.get(document.path) if had.source != WITHDRAWN else None
        then = replace(earlier, language=document.language).plain(had.version, kept) if earlier else None
        if earlier and then and (earlier.language, then.digest) == (document.language, plain.digest):
            return self._unchanged(
                document.path, had, partial(bytes, kept) if kept else plain.started()
            )  # a newer program, in other words
        before = then.seen if then else plain.seen

        def changes() -> Changes:
            marks = bool(plain.seen.rows.keys() - before.rows or plain.seen.lines - before.lines)
            return Changes(had.version, self._lines(had.whose, before, plain.seen), before, marks)

        started = document.marked(number, kept, changes)
        return Edition(document.path, started, document.whose, number, document.plain(number, kept).digest)

    def _unchanged(self, path: str, had: Had, started: Callable[[], bytes]) -> Edition:
        return Edition(path, started, had.whose, had.version, had.source, changed=False)

    def _lines(self, whose: Whose, before: Seen, now: Seen) -> tuple[str, ...]:
        """Say what changed: for the reader, or where nothing is said of that, which rows went."""
        said = tuple(self.words(whose)) or no_longer(before, now)
        if said or before != now:
            return said
        return (say("Details have changed that are not marked: a contact, or who can come instead."),)

    def _withdrawn(self, path: str, had: Had) -> Edition:
        """Return a document that says that what it was about is planned no more."""
        kept = had.content()
        if had.source == WITHDRAWN and kept is not None:
            return self._unchanged(path, had, partial(bytes, kept))
        number, spoken = self.now.index.plan.version, self.now.language
        earlier = self._earlier.get(path)
        index = self.before.index if self.before and earlier else None
        with speaking(spoken):
            withdrawn = session_withdrawn_book if path.endswith(".xlsx") else session_withdrawn
            content = withdrawn(self.now.index.plan, index, had.whose.code, version=number)
        return Edition(path, partial(bytes, content), had.whose, number, WITHDRAWN)

    @cached_property
    def _earlier(self) -> dict[str, Document]:
        """Documents of the plan that was told before, by path."""
        return {document.path: document for document in folders.documents(self.before)} if self.before else {}

    @cached_property
    def _leaving(self) -> dict[str, Document]:
        """Documents of readers who stand in the tables no more, by path: there is nothing in the new plan for them."""
        if self.before is None:
            return {}
        index = self.now.index
        everybody = with_leavers(index.training_round, self.before.index.training_round)
        return {d.path: d for d in folders.documents(replace(self.now, index=PlanIndex(index.plan, everybody)))}


def with_leavers(now: TrainingRound, before: TrainingRound) -> TrainingRound:
    """Return the new round with the facilities, trainers and crews that were in the tables before and are no more."""

    def left(table: str) -> tuple[object, ...]:
        here = {row.code for row in getattr(now, table)}
        return tuple(row for row in getattr(before, table) if row.code not in here)

    changed = {table: (*getattr(now, table), *left(table)) for table in ("facilities", "trainers", "crews")}
    sites = {site.code for site in (*now.facilities, *now.places, *before.facilities)}
    places = (*now.places, *(place for place in before.places if place.code not in sites))
    return now.replace(**changed, places=places)
