"""Everything that an output folder holds: each reader's document under its name, in its reader's language."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from functools import partial

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.domain.saying import Notice
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import maps, report
from roundplan.handouts.attendance import workbook as attendance_form
from roundplan.handouts.calendars import facility as facility_calendar
from roundplan.handouts.calendars import trainer as trainer_calendar
from roundplan.handouts.codec import plan_to_json
from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.file_names import file_names
from roundplan.handouts.manager import workbook as round_workbook
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.crew_pack import crew_pack
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.paper import printed_on
from roundplan.handouts.pdf.blocks import Printed
from roundplan.handouts.pdf.press import print_later
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
from roundplan.handouts.speech import first_spoken, speaking
from roundplan.handouts.store import labels
from roundplan.handouts.store import workbook as supplies_workbook

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


@dataclass(frozen=True, slots=True)
class Document:
    """One file of the folder.

    Attributes
    ----------
    path : str
        Where it stands within the folder.
    language : str
        What its reader reads, one of ``speech.LANGUAGES``.
    content : function without arguments, returning bytes
        Makes it; called while its language is spoken.
    """

    path: str
    language: str
    content: Callable[[], bytes]


def documents(
    plan: Plan,
    training_round: TrainingRound,
    contacts: Sequence[Contact] = (),
    warnings: Sequence[Notice] = (),
    *,
    base_map: str = "",
) -> Iterator[tuple[str, bytes]]:
    """Yield each document's path within the folder and its content.

    Parameters
    ----------
    warnings : sequence of Notice
        Warnings about the inputs.
    base_map : str
        Outlines of the user's own for the map, as ``roundplan.intake`` leaves them; empty = none.
    """
    yield "plan.json", plan_to_json(plan).encode()
    known = {contact.who: contact for contact in contacts}
    index = PlanIndex(plan, training_round)
    missing: list[Missing] = []
    packs = _at_the_press(index, Binder(index, known), missing)
    kinds = (
        _whole_round(index, warnings, missing, base_map),
        _districts(index, known),
        _slips(index, known),
        _facilities(index, known),
        _road(index, known),
        _sessions(index),
    )
    try:
        for document in (document for kind in kinds for document in kind):
            with speaking(document.language), printed_on(training_round.settings.round.paper):
                content = document.content()
            yield document.path, content
        for path, printing in packs:
            yield path, printing.result()
    finally:
        for _, printing in packs:
            printing.cancel()


def _at_the_press(index: PlanIndex, binder: Binder, missing: list[Missing]) -> list[tuple[str, Future[bytes]]]:
    """Return the packs on paper, now being printed; letters that could not be printed are added to ``missing``."""
    packs = []
    for path, spoken, pack in _packs(index, binder):
        with speaking(spoken):
            printing, lost = print_later(pack())
        missing.extend(lost)
        packs.append((path, printing))
    return packs


def _packs(index: PlanIndex, binder: Binder) -> Iterator[tuple[str, str, Callable[[], Printed]]]:
    """Yield each pack's path, its language and what makes it.

    Trainers of a crew follow one another: what their packs have in common is laid out once.
    """
    names = file_names(index.trainers_used())
    first = {code: next(trip.code for trip, _, _ in index.days_aboard(code)) for code in names}
    for code in sorted(names, key=first.__getitem__):
        path, spoken = f"trainers/{names[code]}.pdf", _own_language(index, index.training_round.trainer(code).languages)
        yield path, spoken, partial(trainer_pack, binder, code, path)
    for code, name in file_names(index.crews_used()).items():
        path = f"crews/{name}.pdf"
        yield path, _round_language(index), partial(crew_pack, binder, code, path)


def _whole_round(
    index: PlanIndex, warnings: Sequence[Notice], missing: Sequence[Missing], base_map: str
) -> Iterator[Document]:
    """Yield what is for everybody; the packs are worded before, as the report tells what could not be printed there."""
    plan, training_round, spoken = index.plan, index.training_round, _round_language(index)

    def reported() -> bytes:
        return report.render(plan, training_round, warnings=(*warnings, *missing_lines(missing))).encode()

    yield Document("report.html", spoken, reported)
    yield Document("round.xlsx", spoken, lambda: round_workbook.render(plan, training_round))
    yield Document("map.html", spoken, lambda: maps.render(plan, training_round, base_map=base_map).encode())
    yield Document("summary.html", spoken, lambda: summary.render(plan, training_round).encode())
    yield Document("supplies.xlsx", spoken, lambda: supplies_workbook.render(plan, training_round))
    yield Document("labels.html", spoken, lambda: labels.render(plan, training_round).encode())


def _districts(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    names = file_names(dict.fromkeys(f.district for f in index.training_round.facilities))
    spoken = _round_language(index)
    for district, name in names.items():
        page = _page(district_sheet.render, index, district, contacts)
        yield Document(f"districts/{name}.html", spoken, page)
        yield Document(f"districts/{name}.xlsx", spoken, partial(slip_workbook.render_district, index, district))


def _slips(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    """Yield the slips of the facilities that have anything to reply to, in the coordinator's language."""
    spoken = _round_language(index)
    for code, name in file_names(f.code for f in index.training_round.facilities).items():
        if has_replies(index, code):
            page = _text(partial(slip_page.render, index, code, contacts=contacts))
            yield Document(f"slips/{name}.html", spoken, page)
            yield Document(f"slips/{name}.xlsx", spoken, partial(slip_workbook.render_facility, index, code))
            yield Document(f"slips/{name}.txt", spoken, _text(partial(slip_messages.render, index, code)))


def _facilities(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    for code, name in file_names(f.code for f in index.training_round.facilities).items():
        spoken = _own_language(index, index.training_round.facility(code).languages)
        yield Document(f"facilities/{name}.html", spoken, _page(facility_sheet.render, index, code, contacts))
        if facility_calendar.wanted(index, code):
            yield Document(f"facilities/{name}.ics", spoken, partial(facility_calendar.render, index, code))
        if release.wanted(index, code):
            letter = _text(partial(release.render, index, code, contacts=contacts))
            yield Document(f"letters/{name}.html", spoken, letter)


def _road(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    for code, name in file_names(index.trainers_used()).items():
        spoken = _own_language(index, index.training_round.trainer(code).languages)
        yield Document(f"trainers/{name}.html", spoken, _page(trainer_page.render, index, code, contacts))
        yield Document(f"trainers/{name}.ics", spoken, partial(trainer_calendar.render, index, code))
    spoken = _round_language(index)
    for code, name in file_names(index.crews_used()).items():
        yield Document(f"crews/{name}.html", spoken, _page(crew_page.render, index, code, contacts))
        yield Document(f"crews/{name}.gpx", spoken, partial(gpx.render, index, code))
        yield Document(f"crews/{name}.txt", spoken, _text(partial(listing.render, index, code)))


def _sessions(index: PlanIndex) -> Iterator[Document]:
    spoken = _round_language(index)
    for code, name in file_names(session.code for session in index.sessions_in_order).items():
        for sheet, render in SESSION_SHEETS.items():
            yield Document(f"sessions/{name}-{sheet}.html", spoken, _text(partial(render, index, code)))
        form = partial(attendance_form.render_session, index, code)
        yield Document(f"sessions/{name}-attendance.xlsx", spoken, form)
    if index.plan.sessions:
        yield Document("closing.xlsx", spoken, partial(attendance_form.render_office, index))


def _round_language(index: PlanIndex) -> str:
    """Return the language of readers who have none of their own in the tables."""
    return first_spoken([index.training_round.settings.round.language])


def _own_language(index: PlanIndex, languages: Sequence[str]) -> str:
    """Return the first of a reader's languages that documents are written in, else the round's."""
    return first_spoken([*languages, index.training_round.settings.round.language])


def _page(
    render: Callable[..., str], index: PlanIndex, code: str, contacts: Mapping[str, Contact]
) -> Callable[[], bytes]:
    """Return what makes one reader's page."""
    return lambda: render(index.plan, index.training_round, code, contacts=contacts).encode()


def _text(render: Callable[[], str]) -> Callable[[], bytes]:
    """Return what makes a document's bytes from what makes its text."""
    return lambda: render().encode()
