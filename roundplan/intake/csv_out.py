"""Tables as CSV text; text that a spreadsheet would run as a formula is guarded, numbers never are."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping

from roundplan.intake.cleaning import guard
from roundplan.intake.table import Table


def csv_text(table: Table, rows: Iterable[Mapping[str, str]]) -> str:
    """Return a table as CSV with a heading and CRLF line ends (RFC 4180).

    Parameters
    ----------
    table : Table
        Gives the columns and which of them are numbers.
    rows : iterable of mapping
        Cells by column; missing ones are blank.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([column.name for column in table.columns])
    for row in rows:
        cells = [(column, row.get(column.name, "")) for column in table.columns]
        writer.writerow([cell if column.kind.form == "number" else guard(cell) for column, cell in cells])
    return out.getvalue()
