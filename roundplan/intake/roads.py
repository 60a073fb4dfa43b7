"""Road rows → roads: a repeated row adds a closure to the first."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from roundplan.domain.place import Road
from roundplan.intake.finding import Finding
from roundplan.intake.rows import Built, TableRead, finding_at

_SAME = ("km", "hours", "surface", "open_from", "open_to", "oneway")


def join_closures(read: TableRead, findings: list[Finding]) -> None:
    """Fold repeated rows into the first row of the same ends, in place."""
    firsts: dict[tuple[str, str], Built] = {}
    for built in read.built:
        road: Road = built.made
        ends = (road.start, road.end)
        if ends not in firsts:
            findings.extend(_no_length(built))
            firsts[ends] = built
            continue
        first = firsts[ends]
        findings.extend(_repeated(first, built))
        closures = first.made.closures + road.closures
        firsts[ends] = Built(dataclasses.replace(first.made, closures=closures), first.row)
    read.built = list(firsts.values())


def _no_length(built: Built) -> Iterator[Finding]:
    row = built.row
    if "km" not in row.cells and "hours" not in row.cells:
        yield finding_at(row, "blank-required", "km", "neither km nor hours is given", "enter one of them")


def _repeated(first: Built, again: Built) -> Iterator[Finding]:
    number = first.row.number
    if not again.made.closures and "closed_from" not in again.row.cells:
        words = f"the road stands in row {number} already"
        yield finding_at(again.row, "road-twice", "from", words, "remove the row, or enter a further closure")
    for name in _SAME:
        if name in again.row.cells and again.row.cells[name] != first.row.cells.get(name):
            words = f"{name} differs from row {number}, the same road"
            yield finding_at(again.row, "contradiction", name, words, "leave it blank in the repeated row")
