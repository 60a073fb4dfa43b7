"""Where a warning belongs: the row of a code, or a key of round.toml."""

from __future__ import annotations

from roundplan.intake.finding import Finding
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

    def at(self, code: str, table: str, key: str, column: str, words: str, remedy: str) -> Finding:
        """Return a warning at a row of a table; the cell is left out, the words say what matters."""
        row = self._rows.get((table, key))
        file, number = (row.file, row.number) if row else (table, None)
        return Finding(code=code, file=file, row=number, column=column, words=words, remedy=remedy)

    def of_setting(self, code: str, column: str, words: str, remedy: str) -> Finding:
        """Return a warning at a key of round.toml."""
        return self._settings.finding(code, column, words, remedy)

    def entered(self, column: str) -> bool:
        """Whether the key was entered."""
        return column in self._settings.entries
