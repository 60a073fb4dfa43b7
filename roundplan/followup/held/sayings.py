"""A row of a form in hand, and what it says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from roundplan.attendance.layout import ROUND
from roundplan.attendance.reading import Written
from roundplan.domain.held import split_key
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.held.cells import Cells
from roundplan.followup.held.statement import Statement
from roundplan.followup.matching import NotTaken
from roundplan.followup.replies import Place


@dataclass(frozen=True, slots=True)
class Said:
    """What a row says, and what is doubtful about it though it was taken."""

    statements: tuple[Statement, ...]
    doubts: tuple[NotTaken, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a form in which something was filled in."""

    training_round: TrainingRound
    written: Written
    cells: Cells
    place: Place

    @property
    def where(self) -> str:
        """The session in words: venue and date, or the office."""
        if self.written.session == ROUND:
            return "after the round"
        venue, day = split_key(self.written.session)
        return f"{self.training_round.name_of(venue)} {day}"

    @property
    def session_date(self) -> str:
        """First date of the session, ISO 8601."""
        return split_key(self.written.session)[1]

    def statement(self, subject: tuple[str, ...], about: str, content: Mapping[str, str]) -> Statement:
        """Return a statement of this row."""
        return Statement(
            part=self.written.part,
            session=self.written.session,
            subject=subject,
            about=f"{self.where}, {about}",
            content=content,
            place=self.place,
        )

    def said(self, subject: tuple[str, ...], about: str, content: Mapping[str, str], *doubts: NotTaken | None) -> Said:
        """Return what this row says: one statement."""
        return Said((self.statement(subject, about, content),), tuple(doubt for doubt in doubts if doubt is not None))
