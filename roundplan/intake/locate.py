"""Cross-checks of the domain speak of tables and keys; here they get file, row and cell."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.flaw import Flaw
from roundplan.intake.columns import BY_NAME
from roundplan.intake.day_kinds import parts_of
from roundplan.intake.finding import Finding, nearest
from roundplan.intake.raw import RawTables
from roundplan.intake.rows import Built, TableRead, finding_at
from roundplan.intake.settings_reader import SettingsRead
from roundplan.intake.table import Column, Table

_CODE_COLUMN = {
    "facilities": "facility",
    "places": "place",
    "staff": "person",
    "trainers": "trainer",
    "crews": "crew",
    "supplies": "item",
}


class Locator:
    """Turns flaws into findings.

    Parameters
    ----------
    raw : RawTables
        All tables as text.
    reads : dict of TableRead
        What was built from them.
    settings : SettingsRead
        The settings and where their entries stand.
    """

    def __init__(self, raw: RawTables, reads: dict[str, TableRead], settings: SettingsRead) -> None:
        self._raw = raw
        self._reads = reads
        self._settings = settings
        self._rows: dict[str, dict[str, list[Built]]] = {name: _by_key(read) for name, read in reads.items()}

    def findings(self, flaws: tuple[Flaw, ...]) -> Iterator[Finding]:
        """Yield a finding for each flaw that no cell has a finding for yet, each once."""
        seen: set[Finding] = set()
        for flaw in flaws:
            for found in self._of(flaw):
                if found not in seen:
                    seen.add(found)
                    yield found

    def _of(self, flaw: Flaw) -> Iterator[Finding]:
        if flaw.table not in BY_NAME:
            section = flaw.field.partition(".")[0]  # a key that fell back to its default may contradict others
            if not any(key.startswith(f"{section}.") for key in self._settings.bad):
                yield self._settings.finding("contradiction", flaw.field, flaw.words, flaw.remedy)
            return
        table = BY_NAME[flaw.table]
        column = next((c for c in table.columns if c.name == flaw.field), None)
        unknown = flaw.words.startswith("there is no ")
        if unknown and column and not all(name in self._raw.present for name in self._targets(column)):
            return
        built = self._rows.get(flaw.table, {}).get(flaw.key, [])
        if not built:
            code = "contradiction"
            yield Finding(code=code, file=self._file(table), column=flaw.field, words=flaw.words, remedy=flaw.remedy)
        elif "stands in" in flaw.words:
            yield from self._twice(built, flaw)
        else:
            for one in built:
                yield from self._at(one, flaw, column if unknown else None)

    def _targets(self, column: Column) -> tuple[str, ...]:
        """Return the tables whose absence makes every code unknown; places need not exist."""
        return tuple(name for name in column.refers if BY_NAME[name].required)

    def _file(self, table: Table) -> str:
        rows = self._raw.of(table.name)
        return rows[0].file if rows else table.name

    def _twice(self, built: list[Built], flaw: Flaw) -> Iterator[Finding]:
        first = built[0].row
        if len(built) == 1:
            words = f"the code {flaw.key} is made from staff_counts too"
            yield finding_at(first, "code-twice", flaw.field, words, flaw.remedy)
        for one in built[1:]:
            other = f"row {first.number}" + (f" of {first.file}" if first.file != one.row.file else "")
            words = f"the code {flaw.key} stands in {other} too"
            yield finding_at(one.row, "code-twice", flaw.field, words, flaw.remedy)

    def _at(self, one: Built, flaw: Flaw, refers: Column | None) -> Iterator[Finding]:
        row = one.row
        if (row.file, row.number, flaw.field) in self._reads[flaw.table].bad:
            return
        remedy = flaw.remedy
        code = "contradiction"
        if refers is not None:
            code = "unknown-code"
            cell = row.cells.get(flaw.field, "")
            named = parts_of(cell) if refers.kind.form == "list" else [cell]
            wanted = max((part for part in named if flaw.words.endswith(f" {part}")), key=len, default=None)
            if wanted is None:
                return  # several rows share the key; this one is sound
            near = nearest(wanted, self._known(refers))
            remedy = f"did you mean {near}?" if near else flaw.remedy
        yield finding_at(row, code, flaw.field, flaw.words, remedy)

    def _known(self, column: Column) -> list[str]:
        return [code for name in column.refers for code in self._raw.codes(name, _CODE_COLUMN[name])]


def _by_key(read: TableRead) -> dict[str, list[Built]]:
    rows: dict[str, list[Built]] = {}
    for number, built in enumerate(read.built, start=1):
        table = read.table
        attributes = [table.column(name).attribute for name in table.key]
        key = " / ".join(str(getattr(built.made, name)) for name in attributes) if attributes else str(number)
        rows.setdefault(key, []).append(built)
    return rows
