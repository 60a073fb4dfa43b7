"""Warnings about the inputs, gathered where many rows have the same thing wrong."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from roundplan.domain.saying import Notice, Saying, Value, ValueKind
from roundplan.handouts.retelling import retold
from roundplan.handouts.speech import say
from roundplan.handouts.words import list_words

ENOUGH = 3
"""From so many rows on, the same warning is said once for all of them."""


def gathered(warnings: Sequence[Notice]) -> list[str]:
    """Return the warnings, those that differ in row and code only as one line where the first of them stood."""
    groups: dict[Hashable, list[Notice]] = {}
    for warning in warnings:
        groups.setdefault(_same(warning), []).append(warning)
    said = []
    for group in groups.values():
        if len(group) < ENOUGH or _who(group[0]) is None:
            said += [_line(_place(one), one.said, one.remedy) for one in group]
        else:
            said.append(_together(group))
    return said


def _same(warning: Notice) -> Hashable:
    """Return what two warnings have in common that differ in row and code only."""
    rest = tuple(value for value in warning.said.values if value.name != "who")
    return warning.file, warning.column, warning.said.message, rest, warning.remedy, _who(warning) is None


def _who(warning: Notice) -> str | None:
    """Return the code that a warning about a row is about; None for any other warning."""
    if warning.row is None or warning.file.endswith(".toml"):
        return None
    return next((value.text for value in warning.said.values if value.name == "who"), None)


def _together(group: Sequence[Notice]) -> str:
    """Say a warning once for all the rows of a group."""
    first = group[0]
    codes = list_words(who for one in group if (who := _who(one)) is not None)
    each = Value(name="who", kind=ValueKind.TEXT, text=say("each of {codes}", codes=codes))
    values = tuple(each if value.name == "who" else value for value in first.said.values)
    rows = list_words(str(one.row) for one in group)
    place = say("{file}, rows {rows}, column {column}", file=first.file, rows=rows, column=first.column)
    return _line(place, Saying(message=first.said.message, values=values), first.remedy)


def _place(warning: Notice) -> str:
    """Say where a warning belongs."""
    facts = {"file": warning.file, "column": warning.column}
    if warning.file.endswith(".toml"):
        if warning.row is None:
            return say("{file}, {column}", **facts) if warning.column else warning.file
        return say("{file}, line {row}, {column}", row=warning.row, **facts)
    if warning.row is not None:
        return say("{file}, row {row}, column {column}", row=warning.row, **facts)
    return say("{file}, column {column}", **facts) if warning.column else warning.file


def _line(place: str, said: Saying, remedy: Saying | None) -> str:
    words = retold(said)
    if remedy is not None:
        words = say("{warning} — {remedy}", warning=words, remedy=retold(remedy))
    return say("{place}: {warning}", place=place, warning=words) if place else words
