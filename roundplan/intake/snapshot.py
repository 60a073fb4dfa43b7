"""The snapshot: what a plan came from, written so that it reads as the same round again."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from roundplan.domain.training_round import TrainingRound
from roundplan.intake.columns import BY_NAME
from roundplan.intake.csv_out import csv_text
from roundplan.intake.settings_source import ROUND_TOML
from roundplan.intake.tables_out import round_to_tables
from roundplan.intake.toml_out import settings_toml

if TYPE_CHECKING:
    from roundplan.intake.reading import Reading


def snapshot(reading: Reading, folder: str | os.PathLike[str]) -> None:
    """Write the tables, normalised, and round.toml with ``plan_date`` resolved, and the base map; no contacts.

    Parameters
    ----------
    reading : Reading
        What was read.
    folder : path-like
        Made if it does not exist; tables of an earlier snapshot there are replaced.
    """
    write_round(reading.training_round, folder)
    if reading.base_map:
        name = reading.training_round.settings.map.base
        (Path(folder) / name).write_text(reading.base_map, encoding="utf-8", newline="\n")


def write_round(training_round: TrainingRound, folder: str | os.PathLike[str]) -> None:
    """Write a round as a folder of CSV files and round.toml.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    folder : path-like
        Made if it does not exist.
    """
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    for name, rows in round_to_tables(training_round).items():
        path = target / f"{name}.csv"
        if rows or BY_NAME[name].required:
            path.write_text(csv_text(BY_NAME[name], rows), encoding="utf-8", newline="")
        else:
            path.unlink(missing_ok=True)
    (target / ROUND_TOML).write_text(settings_toml(training_round.settings), encoding="utf-8", newline="\n")
