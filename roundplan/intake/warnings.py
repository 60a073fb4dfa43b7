"""Warnings: what does not stop a run, and should be known before it."""

from __future__ import annotations

from roundplan.domain.training_round import TrainingRound
from roundplan.intake.cover_warnings import cover_warnings
from roundplan.intake.crew_warnings import crew_warnings
from roundplan.intake.finding import Finding
from roundplan.intake.round_warnings import (
    date_warnings,
    room_warnings,
    row_warnings,
    session_warnings,
    table_warnings,
)
from roundplan.intake.rows import TableRead
from roundplan.intake.settings_reader import SettingsRead
from roundplan.intake.warning_places import WarningPlaces


def gather_warnings(
    training_round: TrainingRound, settings: SettingsRead, reads: dict[str, TableRead]
) -> list[Finding]:
    """Return every warning of a round that can be read.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    settings : SettingsRead
        Tells where each key stands.
    reads : dict of TableRead
        Tell where each row stands.
    """
    places = WarningPlaces(reads, settings)
    kinds = (
        date_warnings,
        session_warnings,
        room_warnings,
        row_warnings,
        table_warnings,
        crew_warnings,
        cover_warnings,
    )
    return [warning for kind in kinds for warning in kind(training_round, places)]
