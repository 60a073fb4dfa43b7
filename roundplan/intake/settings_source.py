"""The entries of round.toml or of the sheet ``round``: section, key, value and where they stand."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from roundplan.domain.clock import clock_text
from roundplan.intake.cleaning import clean, tidy
from roundplan.intake.csv_source import decode, read_bytes
from roundplan.intake.finding import BadCell, Finding
from roundplan.intake.kinds import Kind
from roundplan.intake.raw import Sheet, heading_of
from roundplan.intake.setting_kinds import KINDS

ROUND_TOML = "round.toml"
_SECTION = re.compile(r"\s*\[\s*([^\[\]]+?)\s*\]")
_KEY = re.compile(r"""\s*["']?([A-Za-z0-9_\-]+)["']?\s*(\.\s*["']?([A-Za-z0-9_\-]+)["']?\s*)?[.=]""")
_AT = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")


@dataclass(frozen=True, slots=True)
class Entry:
    """One value that was entered."""

    file: str
    row: int | None
    section: str
    key: str
    value: Any

    @property
    def column(self) -> str:
        """Section and key."""
        return f"{self.section}.{self.key}" if self.key else self.section


def read_toml(path: Path, findings: list[Finding]) -> list[Entry] | None:
    """Read round.toml; what is no TOML becomes one finding with its line, and None is returned."""
    data = read_bytes(path, findings)
    if data is None:
        return None
    text = decode(data, path.name, findings).replace("\r\n", "\n")
    try:
        tree = tomllib.loads(text)
    except RecursionError:
        findings.append(_syntax(None, "brackets are nested too deep"))
        return None
    except ValueError as error:
        at = _AT.search(str(error))
        row = int(at.group(1)) if at and at.group(1) else text.count("\n") + 1 if at else None
        findings.append(_syntax(row, _AT.sub("", str(error)).strip()))
        return None
    lines = _lines_of(text)
    entries = []
    for section, group in tree.items():
        if not isinstance(group, dict):
            entries.append(Entry(ROUND_TOML, lines.get(("", section)), "", section, group))
            continue
        if section not in KINDS:
            entries.append(Entry(ROUND_TOML, lines.get((section, "")), section, "", group))
            continue
        for key, value in group.items():
            row = lines.get((section, key)) or lines.get((f"{section}.{key}", ""))
            entries.append(Entry(ROUND_TOML, row, section, key, value))
    return entries


def _syntax(row: int | None, words: str) -> Finding:
    return Finding(
        code="broken-toml",
        file=ROUND_TOML,
        row=row,
        words=f"cannot be read as TOML: {words}",
        remedy='text needs quotation marks, a date none, such as name = "North" and first_day = 2027-02-01',
    )


def _lines_of(text: str) -> dict[tuple[str, str], int]:
    """Return the line of each section and key, as far as plain layout tells."""
    lines: dict[tuple[str, str], int] = {}
    section = ""
    for number, line in enumerate(text.split("\n"), start=1):
        header, key = _SECTION.match(line), _KEY.match(line)
        if header and "=" not in line.partition("]")[0]:
            section = ".".join(part.strip().strip("\"'") for part in header.group(1).split("."))
            lines.setdefault((section, ""), number)
        elif key and section:
            lines.setdefault((section, key.group(1)), number)
        elif key:
            lines.setdefault((key.group(1), key.group(3) or "") if key.group(3) else ("", key.group(1)), number)
    return lines


def read_settings_sheet(sheet: Sheet, findings: list[Finding]) -> list[Entry] | None:
    """Read a sheet with the headings section, key and value."""
    filled = [(number, cells) for number, cells in sheet.lines if any(cell.strip() for cell in cells)]
    headings = [heading_of(cell) for cell in filled[0][1]] if filled else []
    missing = [name for name in ("section", "key", "value") if name not in headings]
    if missing:
        words = "lacks the headings " + ", ".join(missing)
        remedy = "put section, key and value into row 1"
        findings.append(Finding(code="missing-column", file=sheet.file, row=1, words=words, remedy=remedy))
        return None
    at = [headings.index(name) for name in ("section", "key", "value")]
    rows = [(number, [clean(cells[i]) if i < len(cells) else "" for i in at]) for number, cells in filled[1:]]
    return [Entry(sheet.file, number, part[0].casefold(), part[1].casefold(), part[2]) for number, part in rows]


def text_for(value: Any, kind: Kind) -> str:
    """Return the text of a TOML value as a cell would hold it.

    Raises
    ------
    BadCell
        If the value is of a type that the key cannot have.
    """
    if isinstance(value, str):
        return tidy(value)
    if isinstance(value, bool):
        return _if(kind.form == "yes/no", "yes" if value else "no", "true or false", kind)
    if isinstance(value, int | float):
        return _if(kind.form == "number", _number_text(value), "a number", kind)
    if isinstance(value, datetime | date):
        return _if(kind.form == "date", value.isoformat(), "a date", kind)
    if isinstance(value, time):
        words = clock_text(3600 * value.hour + 60 * value.minute + value.second)
        return _if(kind.words.startswith("time"), words, "a time of day", kind)
    if isinstance(value, list):
        return _if(kind.form == "list", "; ".join(_part(part, kind) for part in value), "a list", kind)
    parts = "; ".join(f"{tidy(str(name))} {_part(part, kind)}" for name, part in value.items())
    return _if(kind.form == "table", parts, "a table", kind)


def shown(value: Any) -> str:
    """Return a TOML value as text for a message, whatever it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a very long number"
    if isinstance(value, list):
        return "; ".join(shown(part) for part in value[:20])
    if isinstance(value, dict):
        return "; ".join(f"{name} = {shown(part)}" for name, part in list(value.items())[:20])
    return str(value)[:200]


def _if(fits: bool, text: str, what: str, kind: Kind) -> str:
    if not fits:
        raise BadCell("wrong-type", f"is {what}, where {kind.words} is wanted", "see the guide for an example")
    return text


def _number_text(value: float) -> str:
    if isinstance(value, int) and value.bit_length() > 200:
        raise BadCell("out-of-range", "is out of range", "enter a smaller number")
    return repr(value)


def _part(value: Any, kind: Kind) -> str:
    if isinstance(value, str):
        return tidy(value)
    if isinstance(value, date) and not isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _number_text(value)
    raise BadCell("wrong-type", f"holds {shown(value)!r}, where {kind.words} is wanted", "see the guide for an example")
