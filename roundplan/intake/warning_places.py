"""Where a warning belongs: the row of a code, or a key of round.toml."""

from __future__ import annotations

import dataclasses

from roundplan.domain.saying import Notice, Saying
from roundplan.intake.finding import Finding, warning
from roundplan.intake.raw import RawRow
from roundplan.intake.rows import TableRead
from roundplan.intake.settings_reader import SettingsRead


class WarningPlaces:
    """Finds the row behind a code.

    Parameters
    ----------
    reads : dict of TableRead
        What was built, by table.
    settings : SettingsRead
        The settings and where they stand.
    """

    def __init__(self, reads: dict[str, TableRead], settings: SettingsRead) -> None:
        self._settings = settings
        self._rows: dict[tuple[str, str], RawRow] = {}
        for name, read in reads.items():
            for built in read.built:
                key = getattr(built.made, "code", None)
                if key is not None:
                    self._rows.setdefault((name, key), built.row)

    def at(self, code: str, table: str, key: str, column: str, said: Saying, remedy: Saying) -> Finding:
        """Return a warning at a row of a table; the cell is left out, the words say what matters."""
        row = self._rows.get((table, key))
        file, number = (row.file, row.number) if row else (table, None)
        return warning(code, file, number, column, said, remedy)

    def of_setting(self, code: str, column: str, said: Saying, remedy: Saying | None) -> Finding:
        """Return a warning at a key of round.toml."""
        found = self._settings.finding(code, column, str(said), str(remedy) if remedy is not None else "")
        notice = Notice(file=found.file, row=found.row, column=column, said=said, remedy=remedy)
        return dataclasses.replace(found, notice=notice)

    def entered(self, column: str) -> bool:
        """Whether the key was entered."""
        return column in self._settings.entries
