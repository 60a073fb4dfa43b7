"""The plan that readers were told last, out of the record, with all that its slips asked and offered."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from sqlite3 import Connection

from roundplan.followup.answers import holding
from roundplan.followup.asked import Asked, Kind, Question, question
from roundplan.followup.clock import today
from roundplan.followup.documents import content_of, document_of, numbers_told
from roundplan.followup.matching import Matcher, SentRows, row_key
from roundplan.followup.opening import sheets_of
from roundplan.followup.received import SLIP
from roundplan.followup.standing import Standing, standings
from roundplan.followup.versions import Version, input_files_of, last_told, plan_of
from roundplan.handouts.codec import plan_from_json
from roundplan.handouts.file_names import file_names
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips import workbook
from roundplan.handouts.slips.substitutes import for_cover, for_seat
from roundplan.handouts.speech import LANGUAGES, speaking
from roundplan.intake import read_round
from roundplan.slips.layout import Column
from roundplan.slips.numbering import Numbers
from roundplan.slips.reading import Returned, read_slip


@dataclass(frozen=True)
class AnnouncedPlan:
    """One announced version with its round.

    Attributes
    ----------
    numbers : Numbers or None
        Of all reply codes that were sent out; None in a record from before they were kept.
    document : function of a path and a version, returning bytes or None
        A document as it was sent out in a version of its own; None if it never had that version.
    """

    version: Version
    index: PlanIndex
    numbers: Numbers | None = None
    document: Callable[[str, int], bytes | None] = lambda path, version: None

    @cached_property
    def question(self) -> Question:
        """All that it asks."""
        return question(self.index.plan, self.index.training_round, self.numbers)

    def matcher(self) -> Matcher:
        """Return what tells whom a returned row is about."""
        return Matcher(self.question, self.index.training_round, self.index.plan.round_name, self.sent)

    def standings(self, connection: Connection) -> tuple[tuple[Standing, ...], date]:
        """Return how everything stands by the record, and the date on which that is."""
        day = today(self.index.training_round.settings.round.time_zone)
        return standings(self.question, holding(connection), day), day

    def sent(self, slip: Returned) -> SentRows | None:
        """Return the rows of a slip as it was sent in its version; None if none such was sent."""
        key = (slip.scope, slip.language, slip.version)
        if key not in self._sent:
            self._sent[key] = self._rows_sent(*key)
        return self._sent[key]

    @cached_property
    def _sent(self) -> dict[tuple[str, str, int], SentRows | None]:
        return {}

    @cached_property
    def _paths(self) -> dict[str, str]:
        """Paths of slips by code of the facility or name of the district; a code comes before a name like it."""
        facilities = self.index.training_round.facilities
        districts = file_names(dict.fromkeys(f.district for f in facilities))
        return {
            **{district: f"districts/{name}.xlsx" for district, name in districts.items()},
            **{code: f"slips/{name}.xlsx" for code, name in file_names(f.code for f in facilities).items()},
        }

    def _rows_sent(self, scope: str, language: str, version: int) -> SentRows | None:
        path = self._paths.get(scope)
        content = self.document(path, version) if path else None
        if content is None and path and version == self.version.number and language in LANGUAGES:
            with speaking(language):
                content = self._slip_of(scope)
        if content is None:
            return None
        rows: dict[tuple[str, ...], list[Mapping[Column, str]]] = {}
        for row in read_slip(dict(sheets_of(content, SLIP))).rows:
            rows.setdefault(row_key(row), []).append(row.locked)
        return rows

    def _slip_of(self, scope: str) -> bytes:
        """Return a slip as it was sent by a version whose documents the record does not keep."""
        if self.index.training_round.is_facility(scope):
            return workbook.render_facility(self.index, scope, numbers=self.numbers)
        return workbook.render_district(self.index, scope, numbers=self.numbers)

    def eligible(self, asked: Asked) -> frozenset[str]:
        """Return who may take a seat, or stay, instead."""
        if asked.kind is Kind.SEAT:
            team = self.index.teams[asked.team]
            seat = next(seat for seat in team.seats if seat.person == asked.person)
            return frozenset(person.code for person in for_seat(self.index, team, seat))
        return frozenset(
            person.code
            for cover in self.index.plan.cover
            if (cover.facility, cover.date, cover.shift) == (asked.facility, asked.dates[0], asked.shift)
            and (cover.kind, cover.team or "") == (asked.cover, asked.team)
            and asked.role is not None
            for person in for_cover(self.index, cover, asked.role)
        )


def announced_plan(connection: Connection) -> AnnouncedPlan | None:
    """Return the version that readers were told last; None while there are drafts only."""
    version = last_told(connection)
    if version is None:
        return None
    plan = plan_from_json(plan_of(connection, version))
    with tempfile.TemporaryDirectory() as folder:
        for name, content in input_files_of(connection, version).items():
            Path(folder, name).write_bytes(content)
        reading = read_round(folder)

    def document(path: str, number: int) -> bytes | None:
        told = document_of(connection, path, number)
        return content_of(connection, told) if told else None

    return AnnouncedPlan(version, PlanIndex(plan, reading.training_round), numbers_told(connection), document)
