"""All documents of a plan, written into a folder: of a draft all anew, of a version that is told those that changed."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from sqlite3 import Connection

from roundplan.costs.pricing import price_plan
from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.domain.same_codes import codes_of, with_codes_of
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.documents import Told, content_of, digest_of_bytes, documents_told, numbers_told
from roundplan.followup.versions import DRAFT, contacts_of, plans_told
from roundplan.handouts import folder as folders
from roundplan.handouts.changes_told import changes_told
from roundplan.handouts.codec import plan_from_json
from roundplan.handouts.difference import differences
from roundplan.handouts.document import Reader, Whose
from roundplan.handouts.editions import Edition, Editions, Had
from roundplan.handouts.folder import Folder
from roundplan.handouts.plan_index import PlanIndex
from roundplan.intake import Reading
from roundplan.outfolder.announced import AnnouncedPlan, announced_plan
from roundplan.slips.numbering import DRAFT_CHECK, TOLD_CHECK, Numbers, numbers_for


@dataclass(frozen=True)
class Written:
    """What was written.

    Attributes
    ----------
    numbers : Numbers
        Letters and numbers of reply codes in it.
    told : sequence of (Told, bytes)
        Documents that are new to their readers or have changed; of a draft none.
    """

    numbers: Numbers
    told: Sequence[tuple[Told, bytes]] = ()


def with_codes_told(connection: Connection, plan: Plan, training_round: TrainingRound) -> Plan:
    """Return a plan in which whatever readers know by a code has it still, and nothing new has a code they know.

    Parameters
    ----------
    connection : Connection
        The folder's record.
    """
    told = [plan_from_json(text) for text in plans_told(connection)]
    if not told:
        return plan
    coded = with_codes_of(told[-1], plan, [code for earlier in told for code in codes_of(earlier)])
    if coded == plan:
        return plan
    return dataclasses.replace(coded, costs=price_plan(coded, training_round))  # they are told by codes


def write_documents(connection: Connection, plan: Plan, reading: Reading, fresh: Path) -> Written:
    """Write all documents of a plan into an empty folder.

    Parameters
    ----------
    connection : Connection
        The folder's record, which says what readers have.
    reading : Reading
        What the plan was made from.
    """
    draft = plan.status == DRAFT
    last = announced_plan(connection)
    earlier = numbers_told(connection) or (_numbers_of(last) if last else None)
    check = DRAFT_CHECK if draft else TOLD_CHECK
    numbers = numbers_for(plan, reading.training_round, earlier, check=check)
    folder = Folder(
        index=PlanIndex(plan, reading.training_round),
        contacts=reading.contacts,
        numbers=numbers,
        warnings=[warning.told for warning in reading.warnings],
        base_map=reading.base_map,
    )
    if draft:
        for path, started in [(d.path, d.plain(None).started()) for d in folders.documents(folder)]:
            _write(fresh, path, started())
        return Written(numbers)
    told = [_told(edition) for edition in _editions(connection, folder, last, earlier, fresh) if edition.changed]
    return Written(numbers, [entry for entry in told if entry is not None])


def _editions(
    connection: Connection, folder: Folder, last: AnnouncedPlan | None, numbers: Numbers | None, fresh: Path
) -> Iterator[Edition]:
    """Write what a new version brings, beside what is as it was; yield each document."""
    had = {path: _had(connection, told) for path, told in documents_told(connection).items()}
    now = dataclasses.replace(folder, kept=had.keys())
    before = None
    if last is not None:
        contacts: Sequence[Contact] = contacts_of(connection, last.version)
        before = Folder(index=last.index, contacts=contacts, numbers=numbers, kept=had.keys())
    words = changes_told(differences(before.index, now.index)) if before else lambda whose: ()
    for edition in list(Editions(now, before, had, words).written()):  # packs are printed while the rest is made
        _write(fresh, edition.path, edition.content)
        yield edition


def _had(connection: Connection, told: Told) -> Had:
    whose = Whose(Reader(told.reader), told.code)
    return Had(told.version, whose, told.source, partial(content_of, connection, told))


def _told(edition: Edition) -> tuple[Told, bytes] | None:
    if edition.whose is None:
        return None
    digest = digest_of_bytes(edition.content)
    told = Told(edition.path, edition.version, edition.whose.reader, edition.whose.code, edition.source, digest)
    return told, edition.content


def _numbers_of(last: AnnouncedPlan) -> Numbers:
    """Return the numbers with which a version was told before the record kept them."""
    return numbers_for(last.index.plan, last.index.training_round, check=TOLD_CHECK)


def _write(folder: Path, name: str, content: bytes) -> None:
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
