"""The use cases after planning: announce a plan, take replies in, tell the history. Rooms load when used."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.counts import counted
from roundplan.domain.outcome import FactsRefused, NotAnnounced, WrongPlace
from roundplan.domain.plan import Plan
from roundplan.outfolder.outputs import documents_with, fingerprint, user_name, write_version
from roundplan.outfolder.places import INPUTS, PLAN_FILE, StrPath
from roundplan.outfolder.records import Waits, folder_of, record_of, told_plan

if TYPE_CHECKING:
    from sqlite3 import Connection

    from roundplan.intake import Reading


@dataclass(frozen=True, slots=True)
class Announced:
    """What announcing did.

    Attributes
    ----------
    changed : bool
        False if this very version had been announced before; then nothing was written.
    documents : tuple of str
        Paths of readers' documents that are new or have changed, in the folder; all others are as readers have them.
    """

    version: int
    changed: bool
    documents: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answered:
    """What taking replies in did.

    Attributes
    ----------
    taken : int
        Replies that the record did not hold before.
    findings : tuple of str
        One line each, with its place.
    told : tuple of str
        What stands where, and who has not replied.
    offers : tuple of str
        Whom to ask where somebody cannot come.
    """

    version: int
    taken: int
    findings: tuple[str, ...]
    told: tuple[str, ...]
    offers: tuple[str, ...] = ()


class _Nothing(Exception):
    """Announced before: the folder stays as it is."""


def announce(
    out: StrPath, *, who: str | None = None, why: str | None = None, release: bool = False, waits: Waits = None
) -> Announced:
    """Use case: the draft in a folder becomes what readers are told, all documents are written anew.

    Parameters
    ----------
    who, why : str or None
        Who announces it, and why; the user of the machine, and that the draft was agreed.
    release : bool
        Whether seats and cover that were confirmed in the version before may be other than they were.

    Raises
    ------
    NotAnnounced, WrongPlace, AuditFailed
        Nothing is written.
    """
    from roundplan.followup.confirmed import refuse_lost
    from roundplan.followup.versions import ANNOUNCED, REVISED, Author, contacts_of, last_told, last_version, plan_of
    from roundplan.handouts.codec import plan_from_json

    draft = _read_draft(out, waits)
    unnamed = sum(person.placeholder for person in draft.reading.training_round.people)
    if unnamed:
        words = f"names are still wanted for {counted(unnamed, 'person')} of the staff lists: the plan stays a draft"
        raise NotAnnounced([f"{words} — enter them in staff and plan again"])
    with record_of(draft.folder, waits) as connection:
        earlier = last_told(connection) if connection else None
        contacts = contacts_of(connection, newest) if connection and (newest := last_version(connection)) else ()
    status = REVISED if earlier else ANNOUNCED

    def settle(connection: Connection) -> Plan:
        told = last_told(connection)
        if (draft.folder / PLAN_FILE).read_text(encoding="utf-8") != draft.text or told != earlier:
            if told and plan_from_json(plan_of(connection, told)) == _as_told(draft.plan, told.number, told.status):
                raise _Nothing
            raise WrongPlace(f"another command wrote into {out} meanwhile; look at the plan, then announce it")
        if told and plan_of(connection, told) == draft.text:
            raise _Nothing
        if not release:
            refuse_lost(connection, draft.plan, draft.reading.training_round)
        return _as_told(draft.plan, told.number + 1 if told else 1, status)

    author = Author(who or user_name(), why or "the draft was agreed")
    reading = dataclasses.replace(draft.reading, contacts=contacts)
    try:
        made = write_version(draft.plan, settle, reading, draft.folder, author, status=status, waits=waits)
    except _Nothing:
        return Announced(earlier.number if earlier else draft.plan.version, changed=False)
    return Announced(made.version, changed=True, documents=documents_with(draft.folder, made.version, waits))


def _as_told(plan: Plan, number: int, status: str) -> Plan:
    return dataclasses.replace(plan, version=number, status=status)


def take_replies(
    out: StrPath,
    files: Sequence[StrPath],
    *,
    who: str | None = None,
    why: str | None = None,
    instead: bool = False,
    waits: Waits = None,
) -> Answered:
    """Use case: take returned slips in, all that is good in them at one moment, and tell what stands where.

    Parameters
    ----------
    who, why : str or None
        Who takes them in, and why; the user of the machine, and that slips came back.
    instead : bool
        Whether these replies hold instead of different ones that came before.

    Raises
    ------
    WrongPlace
        If nothing has been announced there, or the record cannot be used; nothing is taken.
    """
    from roundplan.followup.answers import put_in
    from roundplan.followup.received import read_file
    from roundplan.followup.record import writing
    from roundplan.followup.taking import Taker
    from roundplan.followup.telling import contradictions, told
    from roundplan.followup.versions import Author

    received = [read_file(Path(file)) for file in files]
    with record_of(folder_of(out, waits), waits) as connection:
        announced = told_plan(connection, out)
        assert connection is not None
        taker = Taker(announced.matcher(), announced.eligible)
        taker.take(received)
        author = Author(who or user_name(), why or "slips came back")
        training_round = announced.index.training_round
        with writing(connection):
            taken = put_in(connection, announced.version, taker.replies, training_round, author, instead=instead)
        standings, today = announced.standings(connection)
        offers = _offers(connection, out)
    touched = {reply.asked.subject for reply in taker.replies}
    own = [standing for standing in standings if standing.asked.subject in touched]
    findings = (*taker.findings, *contradictions(own, training_round))
    return Answered(
        version=announced.version.number,
        taken=taken,
        findings=tuple(map(str, findings)),
        told=tuple(told(standings, training_round, today)),
        offers=offers,
    )


def _offers(connection: Connection, out: StrPath) -> tuple[str, ...]:
    """Say whom to ask where somebody cannot come; nothing while new facts do not fit the tables any more."""
    from roundplan.replanning.offers import offer_lines
    from roundplan.replanning.situation import situation_in

    try:
        return tuple(offer_lines(situation_in(connection, out)))
    except FactsRefused:
        return ()


def tell_history(out: StrPath, *, waits: Waits = None) -> tuple[str, ...]:
    """Use case: versions of the plan, and who changed what, when and why; a line each, the earliest first.

    Raises
    ------
    WrongPlace
        If the folder has no record.
    """
    from roundplan.followup.history import history

    folder = folder_of(out, waits)
    with record_of(folder, waits) as connection:
        if connection is None:
            raise WrongPlace(f"{out} has no record yet; it begins when a plan is written there")
        return tuple(history(connection))


@dataclass(frozen=True, slots=True)
class _Draft:
    """What a folder of outputs holds: its plan, as text too, and the inputs beside it."""

    folder: Path
    plan: Plan
    text: str
    reading: Reading


def _read_draft(out: StrPath, waits: Waits) -> _Draft:
    from roundplan.handouts.codec import PlanFileError, plan_from_json
    from roundplan.intake import FindingsError, read_round

    folder = folder_of(out, waits)
    try:
        text = (folder / PLAN_FILE).read_text(encoding="utf-8")
        plan = plan_from_json(text)
        reading = read_round(folder / INPUTS)
    except (PlanFileError, UnicodeDecodeError) as error:
        raise NotAnnounced([f"{PLAN_FILE}: {error}"]) from error
    except FindingsError as error:
        raise NotAnnounced([str(f) for f in error.findings], [str(w) for w in error.warnings]) from error
    except OSError as error:
        raise WrongPlace(f"{error.filename or folder} cannot be read: {error.strerror or error}") from error
    if fingerprint(folder / INPUTS) != plan.fingerprint:
        raise NotAnnounced([f"the {INPUTS} folder is not what {PLAN_FILE} was made from — plan again"])
    return _Draft(folder, plan, text, reading)
