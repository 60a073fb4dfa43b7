"""Everything that an output folder holds: each reader's document under its name, in its reader's language."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial

from roundplan.domain.decision import Contact
from roundplan.domain.role import Paper
from roundplan.domain.saying import Notice
from roundplan.handouts import maps, report
from roundplan.handouts.attendance import workbook as attendance_form
from roundplan.handouts.calendars import facility as facility_calendar
from roundplan.handouts.calendars import trainer as trainer_calendar
from roundplan.handouts.codec import plan_to_json
from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.document import Compose, Document, Make, Reader, Whose
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.file_names import file_names
from roundplan.handouts.manager import workbook as round_workbook
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.crew_pack import crew_pack
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.pdf.blocks import Printed
from roundplan.handouts.pdf.proof import Missing, missing_lines
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report import summary
from roundplan.handouts.road import crew_page, trainer_page
from roundplan.handouts.routes import gpx, listing
from roundplan.handouts.sheets import actions, observers, payments, register, release
from roundplan.handouts.slips import messages as slip_messages
from roundplan.handouts.slips import page as slip_page
from roundplan.handouts.slips import workbook as slip_workbook
from roundplan.handouts.slips.rows import has_replies
from roundplan.handouts.speech import first_spoken
from roundplan.handouts.store import labels
from roundplan.handouts.store import workbook as supplies_workbook
from roundplan.slips.numbering import Numbers

OWN_NAMES = frozenset(
    {
        "plan.json",
        "inputs",
        "report.html",
        "summary.html",
        "labels.html",
        "round.xlsx",
        "map.html",
        "districts",
        "slips",
        "letters",
        "facilities",
        "trainers",
        "crews",
        "sessions",
        "supplies.xlsx",
        "closing.xlsx",
    }
)
"""Names at the top of an output folder that the program writes."""


SESSION_SHEETS = {
    "attendance": register.render,
    "payments": payments.render,
    "observers": observers.render,
    "actions": actions.render,
}
"""Sheets of each session by the end of their file name."""


@dataclass(frozen=True)
class Folder:
    """What the documents of a plan are made from.

    Attributes
    ----------
    contacts : sequence of Contact
        Whom to call.
    numbers : Numbers or None
        Letters and numbers of reply codes; None = as if no slip had gone out before.
    warnings : sequence of Notice
        Warnings about the inputs.
    base_map : str
        Outlines of the user's own for the map, as ``roundplan.intake`` leaves them; empty = none.
    kept : collection of str
        Paths of documents that readers have: they are made even where their reader has nothing to do any more.
    """

    index: PlanIndex
    contacts: Sequence[Contact] = ()
    numbers: Numbers | None = None
    warnings: Sequence[Notice] = ()
    base_map: str = ""
    kept: Collection[str] = frozenset()
    _missing: dict[str, Sequence[Missing]] = field(default_factory=dict, repr=False)

    @cached_property
    def known(self) -> Mapping[str, Contact]:
        """Contacts by code."""
        return {contact.who: contact for contact in self.contacts}

    @cached_property
    def binder(self) -> Binder:
        """Parts that several packs share."""
        return Binder(self.index, self.known)

    @property
    def missing(self) -> list[Missing]:
        """Letters that no font can print, in what was made so far."""
        return [missing for path in self._missing for missing in self._missing[path]]

    @property
    def language(self) -> str:
        """Language of readers who have none of their own in the tables."""
        return first_spoken([self.index.training_round.settings.round.language])

    def own_language(self, languages: Sequence[str]) -> str:
        """Return the first of a reader's languages that documents are written in, else the round's."""
        return first_spoken([*languages, self.index.training_round.settings.round.language])

    def file(self, path: str, language: str, whose: Whose | None, make: Make) -> Document:
        """Return a document that is written as it is made."""
        return Document(path=path, language=language, paper=self._paper, whose=whose, make=make)

    def print(self, path: str, language: str, whose: Whose, compose: Compose) -> Document:
        """Return a document that is printed as PDF."""
        paper, lost = self._paper, self._missing.__setitem__
        return Document(path=path, language=language, paper=paper, whose=whose, compose=compose, lost=lost)

    @property
    def _paper(self) -> Paper:
        return self.index.training_round.settings.round.paper


def documents(folder: Folder) -> Iterator[Document]:
    """Yield all documents; to be made in this order, as the report tells what could not be printed in the packs."""
    yield folder.file("plan.json", "en", None, lambda *_: plan_to_json(folder.index.plan).encode())
    for kind in (_packs, _whole_round, _store, _districts, _slips, _facilities, _road, _sessions):
        yield from kind(folder)


def _packs(folder: Folder) -> Iterator[Document]:
    """Yield the packs on paper.

    Trainers of a crew follow one another: what their packs have in common is laid out once.
    """
    index, names = folder.index, _travellers(folder)
    first = {code: next((trip.code for trip, _, _ in index.days_aboard(code)), "") for code in names}
    for code in sorted(names, key=first.__getitem__):
        path, spoken = f"trainers/{names[code]}.pdf", folder.own_language(index.training_round.trainer(code).languages)
        yield folder.print(path, spoken, Whose(Reader.TRAINER, code), _pack(trainer_pack, folder.binder, code, path))
    for code, name in _crews(folder).items():
        path = f"crews/{name}.pdf"
        yield folder.print(path, folder.language, Whose(Reader.CREW, code), _pack(crew_pack, folder.binder, code, path))


def _whole_round(folder: Folder) -> Iterator[Document]:
    """Yield what tells of the whole plan; it follows the packs."""
    plan, training_round, spoken = folder.index.plan, folder.index.training_round, folder.language

    def reported(*_: object) -> bytes:
        return report.render(plan, training_round, warnings=(*folder.warnings, *missing_lines(folder.missing))).encode()

    def mapped(*_: object) -> bytes:
        return maps.render(plan, training_round, base_map=folder.base_map).encode()

    yield folder.file("report.html", spoken, None, reported)
    yield folder.file("round.xlsx", spoken, None, lambda *_: round_workbook.render(plan, training_round))
    yield folder.file("map.html", spoken, None, mapped)
    yield folder.file("summary.html", spoken, None, lambda *_: summary.render(plan, training_round).encode())


def _store(folder: Folder) -> Iterator[Document]:
    plan, training_round, whose = folder.index.plan, folder.index.training_round, Whose(Reader.STORE)
    make: Make = lambda version, _: supplies_workbook.render(plan, training_round, version=version)  # noqa: E731
    yield folder.file("supplies.xlsx", folder.language, whose, make)
    yield folder.file("labels.html", folder.language, whose, _text(partial(labels.render, plan, training_round)))


def _districts(folder: Folder) -> Iterator[Document]:
    index, known, numbers = folder.index, folder.known, folder.numbers
    names = file_names(dict.fromkeys(f.district for f in index.training_round.facilities))
    for district, name in names.items():
        whose = Whose(Reader.DISTRICT, district)
        sheet = partial(district_sheet.render, index.plan, index.training_round, district)
        page = _text(partial(sheet, contacts=known, numbers=numbers))
        yield folder.file(f"districts/{name}.html", folder.language, whose, page)
        book = _book(partial(slip_workbook.render_district, index, district, numbers=numbers))
        yield folder.file(f"districts/{name}.xlsx", folder.language, whose, book)


def _slips(folder: Folder) -> Iterator[Document]:
    """Yield the slips of the facilities that have anything to reply to, in the coordinator's language."""
    index, spoken, numbers = folder.index, folder.language, folder.numbers
    for code, name in file_names(f.code for f in index.training_round.facilities).items():
        if not (has_replies(index, code) or f"slips/{name}.html" in folder.kept):
            continue
        whose = Whose(Reader.FACILITY, code)
        page = _text(partial(slip_page.render, index, code, contacts=folder.known, numbers=numbers))
        yield folder.file(f"slips/{name}.html", spoken, whose, page)
        book = _book(partial(slip_workbook.render_facility, index, code, numbers=numbers))
        yield folder.file(f"slips/{name}.xlsx", spoken, whose, book)
        typed = _text(partial(slip_messages.render, index, code, numbers=numbers))
        yield folder.file(f"slips/{name}.txt", spoken, whose, typed)


def _facilities(folder: Folder) -> Iterator[Document]:
    index, known = folder.index, folder.known
    for code, name in file_names(f.code for f in index.training_round.facilities).items():
        spoken = folder.own_language(index.training_round.facility(code).languages)
        whose = Whose(Reader.FACILITY, code)
        sheet = _text(partial(facility_sheet.render, index.plan, index.training_round, code, contacts=known))
        yield folder.file(f"facilities/{name}.html", spoken, whose, sheet)
        if facility_calendar.wanted(index, code) or f"facilities/{name}.ics" in folder.kept:
            yield folder.file(f"facilities/{name}.ics", spoken, whose, _diary(facility_calendar.render, index, code))
        if release.wanted(index, code) or f"letters/{name}.html" in folder.kept:
            letter = _text(partial(release.render, index, code, contacts=known))
            yield folder.file(f"letters/{name}.html", spoken, whose, letter)


def _road(folder: Folder) -> Iterator[Document]:
    index, known = folder.index, folder.known
    for code, name in _travellers(folder).items():
        spoken = folder.own_language(index.training_round.trainer(code).languages)
        whose = Whose(Reader.TRAINER, code)
        page = _text(partial(trainer_page.render, index.plan, index.training_round, code, contacts=known))
        yield folder.file(f"trainers/{name}.html", spoken, whose, page)
        yield folder.file(f"trainers/{name}.ics", spoken, whose, _diary(trainer_calendar.render, index, code))
    for code, name in _crews(folder).items():
        whose = Whose(Reader.CREW, code)
        page = _text(partial(crew_page.render, index.plan, index.training_round, code, contacts=known))
        yield folder.file(f"crews/{name}.html", folder.language, whose, page)
        yield folder.file(f"crews/{name}.gpx", folder.language, whose, _book(partial(gpx.render, index, code)))
        yield folder.file(f"crews/{name}.txt", folder.language, whose, _text(partial(listing.render, index, code)))


def _sessions(folder: Folder) -> Iterator[Document]:
    index = folder.index
    for code, name in file_names(session.code for session in index.sessions_in_order).items():
        for sheet, render in SESSION_SHEETS.items():
            path, whose = f"sessions/{name}-{sheet}.html", Whose(Reader.SESSION, code)
            yield folder.file(path, folder.language, whose, _text(partial(render, index, code)))
        form = _book(partial(attendance_form.render_session, index, code))
        yield folder.file(f"sessions/{name}-attendance.xlsx", folder.language, Whose(Reader.SESSION, code), form)
    if index.plan.sessions:
        yield folder.file("closing.xlsx", folder.language, None, lambda *_: attendance_form.render_office(index))


def _travellers(folder: Folder) -> dict[str, str]:
    """Return the names of the files of trainers who travel, or whose readers have a page, by code."""
    used = set(folder.index.trainers_used())
    names = file_names(trainer.code for trainer in folder.index.training_round.trainers)
    return {code: name for code, name in names.items() if code in used or f"trainers/{name}.html" in folder.kept}


def _crews(folder: Folder) -> dict[str, str]:
    """Return the names of the files of crews that have a trip, or whose readers have a page, by code."""
    used = set(folder.index.crews_used())
    names = file_names(crew.code for crew in folder.index.training_round.crews)
    return {code: name for code, name in names.items() if code in used or f"crews/{name}.html" in folder.kept}


def _pack(pack: Callable[..., Printed], binder: Binder, code: str, path: str) -> Compose:
    return lambda version: pack(binder, code, path, version=version)


def _text(render: Callable[..., str]) -> Make:
    """Return what makes a document's bytes from what makes its text."""
    return lambda version, _: render(version=version).encode()


def _book(render: Callable[..., bytes]) -> Make:
    return lambda version, _: render(version=version)


def _diary(render: Callable[..., bytes], index: PlanIndex, code: str) -> Make:
    """Return what makes a calendar, which goes on from the one that its reader has."""
    return lambda version, earlier: render(index, code, version=version, earlier=earlier)
