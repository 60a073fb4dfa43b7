"""A round worked out by hand, announced, and slips of it filled in as coordinators would."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path

import openpyxl
from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan import workflow
from roundplan.domain.decision import Contact
from roundplan.followup.clock import held_at
from roundplan.handouts.document import Document
from roundplan.handouts.folder import Folder
from roundplan.handouts.folder import documents as everything
from roundplan.intake import read_round, write_round

SENT = datetime(2026, 5, 1, 9, 30, tzinfo=UTC)
LATER = datetime(2026, 5, 20, 8, tzinfo=UTC)
NEAR = datetime(2026, 5, 27, 8, tzinfo=UTC)
"""Moments: announced; thirteen days and six days before the first session, on 2 June."""

Cells = Mapping[tuple[str, str], object]
"""What is written in a workbook: by name of the sheet and cell."""

ALL_WELL: Cells = {("Who goes", "S6"): "yes", ("Who goes", "S8"): "yes"}
"""Gama's slip: both of its people come. Row 7 is a guest whom Delt replies for."""


def write_draft(folder: Path) -> Path:
    """Write the hand plan as a draft, with a contact; returns the folder of outputs."""
    write_round(hand_round(), folder / "tables")
    reading = read_round(folder / "tables")
    contacts = (Contact(who="manager", phone="+000 111 222"),)
    with held_at(SENT):
        workflow.write_handouts(hand_plan(), dataclasses.replace(reading, contacts=contacts), folder / "OUT")
    return folder / "OUT"


def fill(slip: Path, target: Path, cells: Cells) -> Path:
    """Write into a slip and save it elsewhere."""
    book = openpyxl.load_workbook(slip)
    for (sheet, cell), value in cells.items():
        book[sheet][cell] = value
    book.save(target)
    return target


def take(out: Path, *files: Path, now: datetime = LATER, **options: object) -> workflow.Answered:
    """Take files in at a moment."""
    with held_at(now):
        return workflow.take_replies(out, files, who="Anna", **options)  # type: ignore[arg-type]


def only(wanted: Callable[[str], bool]) -> Callable[[Folder], Iterator[Document]]:
    """Return what stands in for all documents of a folder: plan.json and some others, by their paths."""

    def some(folder: Folder) -> Iterator[Document]:
        yield from (d for d in everything(folder) if d.path == "plan.json" or wanted(d.path))

    return some


slips_alone = only(
    lambda path: path == "closing.xlsx" or (path.startswith(("slips/", "sessions/")) and not path.endswith(".html"))
)
"""Stands in for all documents of a folder: plan.json, slips and forms, which is what most tests look at."""
