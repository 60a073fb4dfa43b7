"""Changed rows put into tables that were read: added, or in place of rows with the same key."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from roundplan.domain.presence import ONE_DAY
from roundplan.intake.changes import ChangedRow, Effect, key_of
from roundplan.intake.raw import RawRow, RawTables
from roundplan.intake.settings_source import Entry
from roundplan.intake.sources import Source
from roundplan.intake.workbook_source import SETTINGS_SHEET

_SPANS = {
    "absences": ("from", "to"),
    "relief": ("from", "to"),
    "roads": ("closed_from", "closed_to"),
    "duties": ("date", "date"),
}
"""First and last date of rows that hold for a stretch of dates."""

_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def merge(source: Source, changes: Iterable[Sequence[ChangedRow]], since: date | None = None) -> None:
    """Put changed rows into tables that were read; what they hold is checked with everything else.

    Parameters
    ----------
    source : Source
        Grows.
    changes : iterable of sequences of ChangedRow
        One sequence for each time that facts were given, the earliest first.
    since : date or None
        Earlier dates stay as they are in the tables: what was planned for them has been held or not.
    """
    for given in changes:
        batches: dict[tuple[str, tuple[str, ...], Effect], list[ChangedRow]] = {}
        for change in given:
            batches.setdefault((change.table, change.key, change.effect), []).append(change)
        for batch in batches.values():
            _merge_batch(
                source, [row for change in batch if (row := _from(change, since)) is not None], batch[0], since
            )


def _from(change: ChangedRow, since: date | None) -> ChangedRow | None:
    """Return a row without what it says of dates before another; None if it speaks of no other dates."""
    if since is None or change.effect is Effect.DROP or change.table not in _SPANS:
        return change
    first, last = _SPANS[change.table]
    start, end = change.cells.get(first, ""), change.cells.get(last, "")
    if not (_ISO_DATE.fullmatch(start) and _ISO_DATE.fullmatch(end)) or start >= since.isoformat():
        return change
    if end < since.isoformat():
        return None
    return ChangedRow(change.table, {**change.cells, first: since.isoformat()}, change.file, change.row)


def _until(row: RawRow, table: str, since: date | None) -> RawRow | None:
    """Return what a row that is replaced says of dates before another; None if nothing."""
    if since is None or table not in _SPANS:
        return None
    first, last = _SPANS[table]
    eve = (since - ONE_DAY).isoformat()
    start, end = row.cells.get(first, ""), row.cells.get(last, "")
    if not start or start > eve:
        return None
    return RawRow(row.file, row.number, {**row.cells, last: min(end, eve)})


def _merge_batch(source: Source, batch: Sequence[ChangedRow], first: ChangedRow, since: date | None) -> None:
    """Put rows with one key into their table: a single one over the cells of a single row, several instead of all.

    ``first`` is one of them as it was given.
    """
    if first.table == SETTINGS_SHEET:
        _merge_settings(source, batch)
        return
    rows = source.tables.of(first.table)
    if first.effect is Effect.DROP:
        source.tables.rows[first.table] = [row for row in rows if not _holds(row, first.cells)]
        return
    if first.table == "roads":
        _merge_roads(source.tables, batch)
        return
    names = key_of(first.table)
    old = [row for row in rows if names and tuple(row.cells.get(name, "") for name in names) == first.key]
    over = old[0].cells if len(old) == 1 and len(batch) == 1 else {}
    fresh = [_laid_over(over, change) for change in batch]
    place = rows.index(old[0]) if old else len(rows)
    past = [cut for row in old if (cut := _until(row, first.table, since)) is not None]
    kept = [row for row in rows if row not in old]
    _put(source.tables, first.table, [*kept[:place], *past, *fresh, *kept[place:]])


def _merge_settings(source: Source, batch: Sequence[ChangedRow]) -> None:
    for change in batch:
        section, key, value = (change.cells[name] for name in ("section", "key", "value"))
        others = [entry for entry in source.entries or [] if (entry.section, entry.key) != (section, key)]
        source.entries = [*others, *([Entry(change.file, change.row, section, key, value)] if value else [])]


def _merge_roads(tables: RawTables, batch: Sequence[ChangedRow]) -> None:
    """Add a closure to a road, or lay other cells over its first row; closures that it has stay."""
    for change in batch:
        rows = tables.of("roads")
        ends = {change.cells["from"], change.cells["to"]}
        first = next((row for row in rows if {row.cells.get("from"), row.cells.get("to")} == ends), None)
        if first is None:
            _put(tables, "roads", [*rows, _laid_over({}, change)])
            continue
        own = {"from": first.cells["from"], "to": first.cells["to"]}
        closure = {name: text for name, text in change.cells.items() if name.startswith("closed_") and text}
        other = {name: text for name, text in change.cells.items() if name not in closure and name not in own and text}
        if other:
            laid = RawRow(change.file, change.row, {**first.cells, **other})
            rows = [laid if row is first else row for row in rows]
        if closure:
            rows = [*rows, RawRow(change.file, change.row, {**own, **closure})]
        _put(tables, "roads", rows)


def _laid_over(cells: Mapping[str, str], change: ChangedRow) -> RawRow:
    merged = {**cells, **change.cells}
    return RawRow(change.file, change.row, {name: text for name, text in merged.items() if text})


def _put(tables: RawTables, table: str, rows: list[RawRow]) -> None:
    tables.rows[table] = rows
    tables.present.add(table)


def _holds(row: RawRow, cells: Mapping[str, str]) -> bool:
    return all(row.cells.get(name, "") == text for name, text in cells.items())
