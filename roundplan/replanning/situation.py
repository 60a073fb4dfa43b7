"""What bears on a plan that readers were told: replies, new facts, what is past; and the round as it now is."""

from __future__ import annotations

import dataclasses
import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from sqlite3 import Connection

from roundplan.domain.decision import Contact
from roundplan.domain.outcome import FactsRefused
from roundplan.domain.plan import Cover, Plan
from roundplan.domain.repair import RepairTask, SeatRef
from roundplan.domain.role import Role
from roundplan.followup.asked import Kind
from roundplan.followup.decided import Decided, decided
from roundplan.followup.facts import Fact, batches, in_force
from roundplan.followup.held.cancelled import cancelled
from roundplan.followup.proposals import base_version
from roundplan.followup.released import free_subjects, sources
from roundplan.followup.standing import Standing, State
from roundplan.followup.versions import contacts_of, input_files_of, last_version
from roundplan.intake import FindingsError, Reading, read_round, snapshot
from roundplan.intake.changes import ChangedRow
from roundplan.outfolder.announced import AnnouncedPlan
from roundplan.outfolder.outputs import fingerprint
from roundplan.outfolder.places import StrPath
from roundplan.outfolder.records import told_plan


@dataclass(frozen=True)
class Situation:
    """How things stand with a plan that was told.

    Attributes
    ----------
    reading : Reading
        The round's own tables with all facts in force and all that is decided, contacts beside them.
    basis : str
        Digest of the version that was told and of these tables: equal where nothing has come since.
    """

    told: AnnouncedPlan
    today: date
    standings: tuple[Standing, ...]
    facts: tuple[Fact, ...]
    decided: Decided
    reading: Reading
    basis: str

    @property
    def task(self) -> RepairTask:
        """What is to be repaired; who stays instead of somebody stands in the cover already, by their reply."""
        return RepairTask(
            announced=stays_as_replied(self.told.index.plan, self.standings),
            training_round=self.reading.training_round,
            today=self.today,
            confirmed=frozenset(SeatRef(*seat) for seat in self.decided.confirmed),
            released=frozenset(SeatRef(*seat) for seat in self.decided.released),
        )


def stays_as_replied(plan: Plan, standings: Sequence[Standing]) -> Plan:
    """Return a plan with those in its cover who, by the replies, stay instead of those named."""
    instead = {
        (s.asked.facility, s.asked.dates[0], s.asked.shift, s.asked.cover, s.asked.team, s.asked.role, s.asked.person):
            s.substitute
        for s in standings
        if s.asked.kind is Kind.COVER and s.state is State.REPLACED
    }  # fmt: skip
    if not instead:
        return plan

    def named(cover: Cover) -> tuple[tuple[Role, str], ...]:
        key = (cover.facility, cover.date, cover.shift, cover.kind.value, cover.team or "")
        return tuple((role, instead.get((*key, role, person), person)) for role, person in cover.named)

    return dataclasses.replace(
        plan, cover=tuple(dataclasses.replace(cover, named=named(cover)) for cover in plan.cover)
    )


def situation(connection: Connection, told: AnnouncedPlan) -> Situation:
    """Return how things stand by the record.

    Raises
    ------
    roundplan.intake.FindingsError
        If the round's own tables and the facts do not fit each other any more.
    """
    standings, today = told.standings(connection)
    facts = in_force(connection)
    plan, free = told.index.plan, free_subjects(connection)
    settled = decided(plan, standings, today, free, sources(connection), cancelled(connection, plan))
    reading = read_with(connection, [*batches(facts), settled.rows], since=today)
    newest = last_version(connection)
    contacts = contacts_of(connection, newest) if newest else ()
    return Situation(
        told=told,
        today=today,
        standings=standings,
        facts=facts,
        decided=settled,
        reading=_with_contacts(reading, contacts),
        basis=_basis(told, reading),
    )


def situation_in(connection: Connection, out: StrPath) -> Situation:
    """Return how things stand with the plan that readers of a folder were told last.

    Raises
    ------
    WrongPlace
        If nothing has been announced there.
    FactsRefused
        If the round's own tables and the facts do not fit each other any more.
    """
    try:
        return situation(connection, told_plan(connection, out))
    except FindingsError as error:
        raise FactsRefused([str(finding) for finding in error.findings]) from error


def read_with(connection: Connection, changes: Sequence[Sequence[ChangedRow]], since: date | None = None) -> Reading:
    """Read the round's own tables with changed rows in them.

    Raises
    ------
    roundplan.intake.FindingsError
        With everything that is wrong.
    """
    with tempfile.TemporaryDirectory() as folder:
        for name, content in input_files_of(connection, base_version(connection)).items():
            Path(folder, name).write_bytes(content)
        return read_round(folder, changes=changes, since=since)


def _with_contacts(reading: Reading, contacts: tuple[Contact, ...]) -> Reading:
    return dataclasses.replace(reading, contacts=contacts)


def _basis(told: AnnouncedPlan, reading: Reading) -> str:
    with tempfile.TemporaryDirectory() as folder:
        snapshot(reading, folder)
        tables = fingerprint(Path(folder))
    return hashlib.sha256(f"{told.version.id} {told.version.digest} {tables}".encode()).hexdigest()
