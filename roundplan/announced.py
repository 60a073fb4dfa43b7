"""The plan that readers were told last, out of the record, with all that its slips asked and offered."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from sqlite3 import Connection

from roundplan.followup.answers import holding
from roundplan.followup.asked import Asked, Kind, Question, question
from roundplan.followup.clock import today
from roundplan.followup.matching import Matcher, SentRows, row_key
from roundplan.followup.received import sheets_of
from roundplan.followup.standing import Standing, standings
from roundplan.followup.versions import Version, input_files_of, last_told, plan_of
from roundplan.handouts.codec import plan_from_json
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.slips import workbook
from roundplan.handouts.slips.substitutes import for_cover, for_seat
from roundplan.handouts.speech import LANGUAGES, speaking
from roundplan.intake import read_round
from roundplan.slips.layout import Column
from roundplan.slips.reading import Returned, read_slip


@dataclass(frozen=True)
class AnnouncedPlan:
    """One announced version with its round."""

    version: Version
    index: PlanIndex

    @cached_property
    def question(self) -> Question:
        """All that it asks."""
        return question(self.index.plan, self.index.training_round)

    def matcher(self) -> Matcher:
        """Return what tells whom a returned row is about."""
        return Matcher(self.question, self.index.training_round, self.index.plan.round_name, self.sent)

    def standings(self, connection: Connection) -> tuple[tuple[Standing, ...], date]:
        """Return how everything stands by the record, and the date on which that is."""
        day = today(self.index.training_round.settings.round.time_zone)
        return standings(self.question, holding(connection), day), day

    def sent(self, slip: Returned) -> SentRows | None:
        """Return the rows of a slip as it was sent; None if none was sent for its scope in its language."""
        key = (slip.scope, slip.language)
        if key not in self._sent:
            self._sent[key] = self._rows_sent(*key)
        return self._sent[key]

    @cached_property
    def _sent(self) -> dict[tuple[str, str], SentRows | None]:
        return {}

    def _rows_sent(self, scope: str, language: str) -> SentRows | None:
        facilities = self.index.training_round.facilities
        if language not in LANGUAGES:
            return None
        with speaking(language):
            if any(scope == facility.code for facility in facilities):
                content = workbook.render_facility(self.index, scope)
            elif any(scope == facility.district for facility in facilities):
                content = workbook.render_district(self.index, scope)
            else:
                return None
        rows: dict[tuple[str, ...], list[Mapping[Column, str]]] = {}
        for row in read_slip(dict(sheets_of(content))).rows:
            rows.setdefault(row_key(row), []).append(row.locked)
        return rows

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
    return AnnouncedPlan(version, PlanIndex(plan, reading.training_round))
