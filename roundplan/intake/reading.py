"""``read_round``: tables → :class:`TrainingRound`, every finding gathered, then raised once."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from roundplan.domain.decision import Contact
from roundplan.domain.flaw import FlawsFound
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.base_map import read_base_map
from roundplan.intake.changes import ChangedRow
from roundplan.intake.columns import TABLES
from roundplan.intake.contacts import check_contacts
from roundplan.intake.coordinates import check_coordinates
from roundplan.intake.finding import Finding, FindingsError
from roundplan.intake.locate import Locator
from roundplan.intake.merging import merge
from roundplan.intake.placeholders import placeholders
from roundplan.intake.prices import check_prices
from roundplan.intake.raw import RawTables
from roundplan.intake.roads import join_closures
from roundplan.intake.rows import Built, TableRead, read_rows
from roundplan.intake.settings_reader import SettingsRead, read_settings
from roundplan.intake.settings_source import ROUND_TOML
from roundplan.intake.sources import read_source
from roundplan.intake.warnings import gather_warnings
from roundplan.travel.calendar import UnknownCountry

RawText = dict[str, tuple[dict[str, str], ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read.

    Attributes
    ----------
    training_round : TrainingRound
        The round, cross-checked.
    contacts : tuple of Contact
        Kept apart from the round.
    warnings : tuple of Finding
        What does not stop a run.
    tables : dict
        Rows as text, by table; blank cells left out.
    base_map : str
        Outlines of the user's own as GeoJSON, geometries and names alone; empty = none given.
    """

    training_round: TrainingRound
    contacts: tuple[Contact, ...]
    warnings: tuple[Finding, ...]
    tables: RawText
    base_map: str = ""


def read_round(
    path: str | os.PathLike[str],
    *,
    today: date | None = None,
    changes: Iterable[Sequence[ChangedRow]] = (),
    since: date | None = None,
) -> Reading:
    """Read the inputs of a round.

    Parameters
    ----------
    path : path-like
        A folder of CSV files with round.toml, a folder with one .xlsx workbook, or the workbook itself.
    today : date or None
        Stands in for a blank ``plan_date``; None = the date of the computer.
    changes : iterable of sequences of ChangedRow
        New facts, put into the tables before anything is checked.
    since : date or None
        Changes bear on this date and later ones; None = on all.

    Returns
    -------
    Reading
        The round, the contacts and the warnings.

    Raises
    ------
    FindingsError
        Once, with everything found wrong.
    """
    findings: list[Finding] = []
    warnings: list[Finding] = []
    source = read_source(Path(path), findings)
    merge(source, changes, since)
    settings = read_settings(source.entries, today or date.today(), findings)
    digits = settings.settings.round.currency_digits
    reads = {table.name: read_rows(table, source.tables.of(table.name), digits, findings) for table in TABLES}
    join_closures(reads["roads"], findings)
    check_coordinates(_located(reads), findings, warnings)
    check_contacts(reads, source.tables, findings)
    findings.extend(_prices(reads, settings))
    base_map = read_base_map(source.folder, settings, findings)
    training_round = _build(source.tables, reads, settings, findings)
    if findings or training_round is None:
        raise FindingsError(_in_order(findings), _in_order(warnings))
    try:
        warnings.extend(gather_warnings(training_round, settings, reads))
    except UnknownCountry as unknown:
        remedy = "leave country blank and enter the holidays as closed_days"
        found = settings.finding("unknown-word", "round.country", str(unknown), remedy)
        raise FindingsError([found], _in_order(warnings)) from None
    return Reading(
        training_round=training_round,
        contacts=tuple(built.made for built in reads["contacts"].built),
        warnings=tuple(_in_order(warnings)),
        tables={name: tuple(row.cells for row in rows) for name, rows in source.tables.rows.items()},
        base_map=base_map,
    )


def _located(reads: dict[str, TableRead]) -> list[Built]:
    """Return the sites whose coordinates could be read."""
    return [
        built
        for name in ("facilities", "places")
        for built in reads[name].built
        if not any((built.row.file, built.row.number, c) in reads[name].bad for c in ("latitude", "longitude"))
    ]


def _prices(reads: dict[str, TableRead], settings: SettingsRead) -> list[Finding]:
    made = {name: [built.made for built in reads[name].built] for name in ("facilities", "places", "trainers")}
    crews = len(reads["crews"].built)
    return list(check_prices(made["facilities"], made["places"], made["trainers"], crews, settings))


def _build(
    raw: RawTables, reads: dict[str, TableRead], settings: SettingsRead, findings: list[Finding]
) -> TrainingRound | None:
    """Put the round together; what its cross-checks find becomes findings with row and cell."""
    made = {table.attribute: tuple(b.made for b in reads[table.name].built) for table in TABLES if table.attribute}
    digits = settings.settings.round.currency_digits
    made["people"] += tuple(placeholders(reads["facilities"], reads["staff"], digits))
    try:
        return TrainingRound(settings=settings.settings, **made)
    except FlawsFound as found:
        located = list(Locator(raw, reads, settings).findings(found.flaws))
        if not located and not findings:
            located = [
                Finding(code="contradiction", file=flaw.table, column=flaw.field, words=flaw.words, remedy=flaw.remedy)
                for flaw in found.flaws
            ]
        findings.extend(located)
        return None


def _in_order(findings: list[Finding]) -> list[Finding]:
    """Sort by file in the order of the tables, then by row; what concerns the whole round comes first."""
    order = {table.name: number for number, table in enumerate(TABLES, start=2)}

    def key(found: Finding) -> tuple[int, str, int]:
        name = found.file.rpartition(" ")[2].removesuffix(".csv").casefold()
        first = 0 if not found.file else 1 if found.file == ROUND_TOML else order.get(name, 1)
        return first, found.file, found.row or 0

    return sorted(findings, key=key)
