"""The guide as Markdown: the parts of README.md that are made from the code stand between two marks each.

``python -m roundplan.intake.guide_markdown README.md`` renews them.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

from roundplan.domain.settings import setting_rows
from roundplan.intake.blank_toml import default_text
from roundplan.intake.columns import TABLES

_SPECIAL = re.compile(r"([\\`*|<>\[\]])")


def tables_part() -> str:
    """Return the tables of the inputs, one row each: name, whether it must exist, what it holds, required columns."""
    rows = [
        (
            f"`{table.name}`",
            "yes" if table.required else "",
            _plain(table.meaning),
            ", ".join(f"`{column.name}`" for column in table.columns if column.required),
        )
        for table in TABLES
    ]
    return _table(("table", "must exist", "what it holds", "columns to fill in always"), rows)


def settings_part() -> str:
    """Return the keys of round.toml, one row each: section, key, meaning, unit, default, source."""
    rows = [
        (
            f"`[{row.section}]`",
            f"`{row.key}`",
            _plain(row.meaning),
            _plain(row.unit),
            _plain(default_text(row) or "blank"),
            _plain(row.source),
        )
        for row in setting_rows()
    ]
    return _table(("section", "key", "meaning", "unit", "default", "source"), rows)


PARTS: dict[str, Callable[[], str]] = {"tables": tables_part, "settings": settings_part}
"""Parts by the name in their marks."""


def renewed(text: str) -> str:
    """Return a Markdown text with every marked part made anew.

    Parameters
    ----------
    text : str
        Holds ``<!-- NAME: begin -->`` and ``<!-- NAME: end -->`` once for each name of :data:`PARTS`.

    Returns
    -------
    str
        The same text, its parts as the code has them.

    Raises
    ------
    ValueError
        If the marks of a part do not stand there exactly once.
    """
    for name, make in PARTS.items():
        begin, end = f"<!-- {name}: begin -->", f"<!-- {name}: end -->"
        before, found, rest = text.partition(begin)
        _, closed, after = rest.partition(end)
        if not (found and closed) or begin in after or end in after:
            raise ValueError(f"the marks {begin} and {end} must stand there once, in this order")
        text = f"{before}{begin}\n{make()}\n{end}{after}"
    return text


def _table(heading: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [heading, tuple("---" for _ in heading), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def _plain(text: str) -> str:
    """Return a text that Markdown shows as it stands."""
    return _SPECIAL.sub(r"\\\1", text)


def main(paths: Iterable[str]) -> None:
    """Renew the marked parts of files."""
    for path in map(Path, paths):
        text = path.read_text(encoding="utf-8")
        path.write_text(renewed(text), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
