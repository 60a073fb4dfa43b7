"""Everything that an output folder holds: each reader's document under its name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts import (
    crew_page,
    district_sheet,
    district_workbook,
    facility_sheet,
    map_page,
    report,
    round_workbook,
    supplies_workbook,
    trainer_page,
)
from roundplan.handouts.codec import plan_to_json
from roundplan.handouts.file_names import file_names
from roundplan.handouts.packs.binder import Binder
from roundplan.handouts.packs.crew_pack import crew_pack
from roundplan.handouts.packs.trainer_pack import trainer_pack
from roundplan.handouts.pdf.press import print_pdf
from roundplan.handouts.pdf.proof import Missing, missing_lines
from roundplan.handouts.plan_index import PlanIndex

OWN_NAMES = frozenset(
    {
        "plan.json",
        "inputs",
        "report.html",
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


def documents(
    plan: Plan, training_round: TrainingRound, contacts: Sequence[Contact] = (), warnings: Sequence[str] = ()
) -> Iterator[tuple[str, bytes]]:
    """Yield each document's path within the folder and its content."""
    by_who = {contact.who: contact for contact in contacts}
    missing: list[Missing] = []
    yield "plan.json", plan_to_json(plan).encode()
    yield from _packs(Binder(PlanIndex(plan, training_round), by_who), missing)
    warnings = (*warnings, *missing_lines(missing))
    yield "report.html", report.render(plan, training_round, warnings=warnings).encode()
    yield "round.xlsx", round_workbook.render(plan, training_round)
    yield "map.html", map_page.render(plan, training_round).encode()
    yield "supplies.xlsx", supplies_workbook.render(plan, training_round)
    yield from _people_documents(PlanIndex(plan, training_round), by_who)


def _packs(binder: Binder, missing: list[Missing]) -> Iterator[tuple[str, bytes]]:
    """Yield the packs on paper; letters that could not be printed are added to ``missing``.

    Trainers of a crew follow one another: what their packs have in common is laid out once.
    """
    index = binder.index
    first = {code: next(trip.code for trip, _, _ in index.days_aboard(code)) for code in index.trainers_used()}
    names = file_names(index.trainers_used())
    packs = [
        *(trainer_pack(binder, code, f"trainers/{names[code]}.pdf") for code in sorted(names, key=first.__getitem__)),
        *(crew_pack(binder, code, f"crews/{name}.pdf") for code, name in file_names(index.crews_used()).items()),
    ]
    for pack in packs:
        content, lost = print_pdf(pack)
        missing += lost
        yield pack.path, content


def _people_documents(index: PlanIndex, contacts: dict[str, Contact]) -> Iterator[tuple[str, bytes]]:
    plan, training_round = index.plan, index.training_round
    for code, name in file_names(dict.fromkeys(f.district for f in training_round.facilities)).items():
        yield f"districts/{name}.html", district_sheet.render(plan, training_round, code, contacts=contacts).encode()
        yield f"districts/{name}.xlsx", district_workbook.render(plan, training_round, code)
    for code, name in file_names(f.code for f in training_round.facilities).items():
        yield f"facilities/{name}.html", facility_sheet.render(plan, training_round, code, contacts=contacts).encode()
    for code, name in file_names(index.trainers_used()).items():
        yield f"trainers/{name}.html", trainer_page.render(plan, training_round, code, contacts=contacts).encode()
    for code, name in file_names(index.crews_used()).items():
        yield f"crews/{name}.html", crew_page.render(plan, training_round, code, contacts=contacts).encode()
