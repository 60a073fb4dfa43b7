"""Rows of text → domain objects; a cell that cannot be read gets a finding and a stand-in, so checks can go on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, fields
from typing import Any

from roundplan.intake.finding import BadCell, Finding
from roundplan.intake.raw import RawRow
from roundplan.intake.table import Column, Table


@dataclass(frozen=True, slots=True)
class Built:
    """An object and the row that it came from."""

    made: Any
    row: RawRow


@dataclass(slots=True)
class TableRead:
    """The rows of one table that could be built.

    Attributes
    ----------
    bad : set of (str, int, str)
        File, row and column of cells that have a finding already.
    """

    table: Table
    built: list[Built] = field(default_factory=list)
    bad: set[tuple[str, int, str]] = field(default_factory=set)


Values = dict[str, Any]
RowCheck = Callable[[Values], Iterator[tuple[str, str, str, str]]]


def finding_at(row: RawRow, code: str, column: str, words: str, remedy: str) -> Finding:
    """Return a finding at a cell."""
    cell = row.cells.get(column, "")
    return Finding(code=code, file=row.file, row=row.number, column=column, cell=cell, words=words, remedy=remedy)


def read_rows(table: Table, rows: list[RawRow], digits: int, findings: list[Finding]) -> TableRead:
    """Build the domain objects of a table.

    Parameters
    ----------
    table : Table
        The table.
    rows : list of RawRow
        Its rows as text.
    digits : int
        Decimals of the currency.
    findings : list of Finding
        Grows.
    """
    read = TableRead(table)
    for row in rows:
        values: Values = {}
        before = len(findings)
        for column in table.columns:
            _read_cell(row, column, digits, values, findings)
        bad = {found.column for found in findings[before:]}
        for code, name, words, remedy in _row_checks(table.name, values):
            if name not in bad:
                findings.append(finding_at(row, code, name, words, remedy))
                bad.add(name)
        read.bad |= {(row.file, row.number, name) for name in bad}
        if not any(column.kind.form == "text" and column.name in bad for column in _key_columns(table)):
            read.built.append(Built(_make(table, values), row))
    return read


def _key_columns(table: Table) -> Iterator[Column]:
    return (column for column in table.columns if column.name in table.key)


def _read_cell(row: RawRow, column: Column, digits: int, values: Values, findings: list[Finding]) -> None:
    text = row.cells.get(column.name, "")
    if not text:
        if column.required:
            remedy = f"fill it in: {column.meaning}"
            findings.append(finding_at(row, "blank-required", column.name, f"{column.name} is blank", remedy))
            values[column.name] = column.kind.fallback
        return
    try:
        values[column.name] = column.kind.read(text, digits)
    except BadCell as bad:
        findings.append(finding_at(row, bad.code, column.name, bad.words, bad.remedy))
        if column.required:
            values[column.name] = column.kind.fallback


def _make(table: Table, values: Values) -> Any:
    known = {entry.name for entry in fields(table.makes)}
    made = {table.column(name).attribute: value for name, value in values.items()}
    made = {name: value for name, value in made.items() if name in known}
    if table.name == "staff":
        made["cover_roles"] = () if made.get("learner") else made.get("cover_roles", made["roles"])
    if table.name == "roads" and "closed_from" in values and "closed_to" in values:
        made["closures"] = ((values["closed_from"], values["closed_to"]),)
    return table.makes(**made)


_PAIRS = {
    "absences": ("from", "to"),
    "relief": ("from", "to"),
    "trainers": ("available_from", "available_to"),
    "crews": ("available_from", "available_to"),
    "roads": ("closed_from", "closed_to"),
}


def _row_checks(table: str, values: Values) -> Iterator[tuple[str, str, str, str]]:
    """Yield code, column, words and remedy of what is wrong within one row."""
    if table in _PAIRS:
        first, last = _PAIRS[table]
        if first in values and last in values and values[last] < values[first]:
            yield "ends-before-start", last, f"{last} is before {first}", "check both dates"
    if table == "roads":
        yield from _check_road(values)
    if table == "staff" and values.get("learner") and values.get("cover_roles"):
        yield "contradiction", "cover_roles", "a learner never covers", "clear cover_roles, or learner"
    if table == "crews" and values["seats"] <= values.get("drivers", 1):
        yield "out-of-range", "seats", "all seats are taken by drivers", "count all seats of the vehicle"
    if table == "cases" and ("approved_by" in values) != ("approved_on" in values):
        blank = "approved_on" if "approved_by" in values else "approved_by"
        yield "half-given", blank, "the approval has a name or a date, not both", "enter both, or neither"


def _check_road(values: Values) -> Iterator[tuple[str, str, str, str]]:
    if values["from"] == values["to"]:
        yield "contradiction", "to", "the road ends where it starts", "name the two ends"
    for one, other in (("closed_from", "closed_to"), ("open_from", "open_to")):
        if (one in values) != (other in values):
            blank = other if one in values else one
            yield "half-given", blank, f"{one} and {other} go together", "enter both, or neither"
    if "open_from" in values and "open_to" in values and values["open_to"] <= values["open_from"]:
        yield "ends-before-start", "open_to", "open_to is not after open_from", "check both times"
    if values.get("hours") == 0 or values.get("km") == 0:
        column = "hours" if values.get("hours") == 0 else "km"
        yield "out-of-range", column, "is 0, so that the road would take no time", "enter more than 0, or clear it"
