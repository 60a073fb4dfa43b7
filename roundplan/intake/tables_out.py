"""A round → tables as text, the way the reader takes them; used by the snapshot."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import MISSING, Field, fields
from typing import Any

from roundplan.domain.person import Person
from roundplan.domain.place import Road
from roundplan.domain.role import Role
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.columns import TABLES
from roundplan.intake.table import Column, Table
from roundplan.intake.word_kinds import COUNTS, ROLES

TextTables = dict[str, list[dict[str, str]]]


def round_to_tables(training_round: TrainingRound) -> TextTables:
    """Return every table of the round as text, in the order of the guide; blank where the default stands.

    Contacts are no part of a round. A placeholder becomes a head in ``staff_counts`` again.

    Parameters
    ----------
    training_round : TrainingRound
        The round.
    """
    digits = training_round.settings.round.currency_digits
    tables: TextTables = {}
    for table in TABLES:
        if table.attribute:
            rows = getattr(training_round, table.attribute)
            if table.name == "staff":
                rows = [person for person in rows if not person.placeholder]
            tables[table.name] = [text for row in rows for text in _texts(table, row, digits)]
    counts = _counts(training_round)
    for text in tables["facilities"]:
        text["staff_counts"] = COUNTS.write(counts.get(text["facility"], ()), digits)
    return tables


def _texts(table: Table, row: Any, digits: int) -> Iterator[dict[str, str]]:
    """Yield the rows that stand for one object: one, or one for each closure of a road."""
    defaults = {entry.name: entry for entry in fields(row)}
    text = {column.name: _cell(column, row, defaults, digits) for column in table.columns}
    if isinstance(row, Person):
        text["cover_roles"] = _cover_roles(row)
    if not isinstance(row, Road) or not row.closures:
        yield text
        return
    for number, (first, last) in enumerate(row.closures):
        again = text if number == 0 else dict.fromkeys(text, "") | {"from": row.start, "to": row.end}
        yield again | {"closed_from": first.isoformat(), "closed_to": last.isoformat()}


def _cell(column: Column, row: Any, defaults: dict[str, Field[Any]], digits: int) -> str:
    entry = defaults.get(column.attribute)
    if entry is None:
        return ""
    value = getattr(row, column.attribute)
    usual = entry.default if entry.default is not MISSING else None
    if value is None or (value == usual and not column.required):
        return ""
    return column.kind.write(value, digits)


def _cover_roles(person: Person) -> str:
    if person.cover_roles == person.roles or (person.learner and not person.cover_roles):
        return ""
    return ROLES.write(person.cover_roles, 0)


def _counts(training_round: TrainingRound) -> dict[str, tuple[tuple[Role, int], ...]]:
    heads: dict[str, Counter[Role]] = {}
    for person in training_round.people:
        if person.placeholder:
            heads.setdefault(person.facility, Counter())[person.roles[0]] += 1
    return {code: tuple(counter.items()) for code, counter in heads.items()}
