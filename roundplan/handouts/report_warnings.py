"""Warnings about the inputs, gathered where many rows have the same thing wrong."""

from __future__ import annotations

import re
from collections.abc import Sequence

from roundplan.handouts.words import list_words

ENOUGH = 3
"""From so many rows on, the same warning is said once for all of them."""

_ROW = re.compile(r"^(?P<file>[^:]+?), row (?P<row>\d+), (?P<column>column [^:]+): (?P<who>\S+) (?P<rest>.+)$", re.S)


def gathered(warnings: Sequence[str]) -> list[str]:
    """Return the warnings, those that differ in row and code only as one line where the first of them stood."""
    groups: dict[tuple[str, ...], list[re.Match[str]]] = {}
    for line in warnings:
        if found := _ROW.match(line):
            groups.setdefault(_same(found), []).append(found)
    said, done = [], set()
    for line in warnings:
        found = _ROW.match(line)
        group = groups[_same(found)] if found else []
        if found is None or len(group) < ENOUGH:
            said.append(line)
        elif _same(found) not in done:
            done.add(_same(found))
            rows, codes = (list_words(one[part] for one in group) for part in ("row", "who"))
            said.append(f"{found['file']}, rows {rows}, {found['column']}: {codes}: each {found['rest']}")
    return said


def _same(found: re.Match[str]) -> tuple[str, ...]:
    return found["file"], found["column"], found["rest"]
