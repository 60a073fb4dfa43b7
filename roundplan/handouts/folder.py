"""Everything that an output folder holds: each reader's document under its name, in its reader's language."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.domain.saying import Notice
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import maps, report
from roundplan.handouts.codec import plan_to_json
from roundplan.handouts.district import sheet as district_sheet
from roundplan.handouts.district import workbook as district_workbook
from roundplan.handouts.facility import sheet as facility_sheet
from roundplan.handouts.file_names import file_names
from roundplan.handouts.manager import workbook as round_workbook
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report import summary
from roundplan.handouts.road import crew_page, trainer_page
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
        "facilities",
        "trainers",
        "crews",
        "supplies.xlsx",
    }
)
"""Names at the top of an output folder that the program writes."""


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
    warnings : sequence of str
        Warnings about the inputs, in plain words.
    base_map : str
        Outlines of the user's own for the map, as ``roundplan.intake`` leaves them; empty = none.
    """
    yield "plan.json", plan_to_json(plan).encode()
    known = {contact.who: contact for contact in contacts}
    index = PlanIndex(plan, training_round)
    kinds = (
        _whole_round(index, warnings, base_map),
        _districts(index, known),
        _facilities(index, known),
        _road(index, known),
    )
    for document in (document for kind in kinds for document in kind):
        with speaking(document.language):
            content = document.content()
        yield document.path, content


def _whole_round(index: PlanIndex, warnings: Sequence[Notice], base_map: str) -> Iterator[Document]:
    plan, training_round, spoken = index.plan, index.training_round, _round_language(index)
    yield Document("report.html", spoken, lambda: report.render(plan, training_round, warnings=warnings).encode())
    yield Document("round.xlsx", spoken, lambda: round_workbook.render(plan, training_round))
    yield Document("map.html", spoken, lambda: maps.render(plan, training_round, base_map=base_map).encode())
    yield Document("summary.html", spoken, lambda: summary.render(plan, training_round).encode())
    yield Document("supplies.xlsx", spoken, lambda: supplies_workbook.render(plan, training_round))
    yield Document("labels.html", spoken, lambda: labels.render(plan, training_round).encode())


def _districts(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    names = file_names(dict.fromkeys(f.district for f in index.training_round.facilities))
    for district, name in names.items():
        page = _page(district_sheet.render, index, district, contacts)
        yield Document(f"districts/{name}.html", _round_language(index), page)
        yield Document(f"districts/{name}.xlsx", _round_language(index), _workbook(index, district))


def _facilities(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    for code, name in file_names(f.code for f in index.training_round.facilities).items():
        spoken = _own_language(index, index.training_round.facility(code).languages)
        yield Document(f"facilities/{name}.html", spoken, _page(facility_sheet.render, index, code, contacts))


def _road(index: PlanIndex, contacts: Mapping[str, Contact]) -> Iterator[Document]:
    for code, name in file_names(index.trainers_used()).items():
        spoken = _own_language(index, index.training_round.trainer(code).languages)
        yield Document(f"trainers/{name}.html", spoken, _page(trainer_page.render, index, code, contacts))
    for code, name in file_names(index.crews_used()).items():
        yield Document(f"crews/{name}.html", _round_language(index), _page(crew_page.render, index, code, contacts))


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


def _workbook(index: PlanIndex, district: str) -> Callable[[], bytes]:
    return lambda: district_workbook.render(index.plan, index.training_round, district)
