"""A round.toml to fill in: every key with meaning, unit and default."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.settings import SettingRow, setting_rows
from roundplan.intake.setting_kinds import KINDS
from roundplan.intake.toml_out import toml_value

_HEAD = """\
# Settings of the round. A key that starts with # keeps its default; take the # away to change it.
# name, first_day, last_day and the prices in use must be filled in: the empty ones below ask for it.
# A price of 0 means that nothing is paid; "none" leaves the line out of all totals.
"""
_ASKED = frozenset(
    {"round.name", "round.first_day", "round.last_day", "round.time_zone", "round.country", "round.currency"}
)
_NOT_A_PRICE = frozenset({"contingency_percent", "cap"})
_EMPTY = frozenset({"first_day", "last_day"})


def default_text(row: SettingRow) -> str:
    """Return the default of a key as text, empty where it has none."""
    if row.default is None or row.key in _EMPTY:
        return ""
    return KINDS[row.section][row.key].write(row.default, 2)


def blank_toml() -> str:
    """Return the text of round.toml with every key explained; the keys to fill in stand empty."""
    lines = [_HEAD]
    section = ""
    for row in setting_rows():
        if row.section != section:
            section = row.section
            lines.append(f"\n[{section}]")
        lines.extend(_lines(row))
    return "\n".join(lines) + "\n"


def _lines(row: SettingRow) -> Iterator[str]:
    default = default_text(row)
    parts = [row.meaning, f"unit: {row.unit}" if row.unit else "", f"default: {default or 'blank'}", row.source]
    yield "# " + "; ".join(part for part in parts if part)
    price = row.section == "prices" and row.key not in _NOT_A_PRICE
    if price or f"{row.section}.{row.key}" in _ASKED:
        yield f'{row.key} = ""'
    else:
        yield f"# {row.key} = {toml_value(default, KINDS[row.section][row.key]) or chr(34) * 2}"
