"""Settings as round.toml."""

from __future__ import annotations

import json
import re
from typing import Any

from roundplan.domain.settings import Settings
from roundplan.intake.day_kinds import parts_of
from roundplan.intake.kinds import Kind
from roundplan.intake.setting_kinds import KINDS, POOLED
from roundplan.intake.word_kinds import NONE

_BARE = re.compile(r"[A-Za-z0-9_-]+", re.ASCII)
_PLAIN_NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?", re.ASCII)


def settings_toml(settings: Settings) -> str:
    """Return round.toml with every key that has a value; a key left out has none.

    Parameters
    ----------
    settings : Settings
        The settings; amounts in minor units become major ones.
    """
    digits = settings.round.currency_digits
    sections = []
    for section, kinds in KINDS.items():
        group = getattr(settings, section)
        lines = [f"{key} = {text}" for key, kind in kinds.items() if (text := _value(group, key, kind, digits))]
        if lines:
            sections.append("\n".join([f"[{section}]", *lines]))
    return "\n\n".join(sections) + "\n"


def _value(group: Any, key: str, kind: Kind, digits: int) -> str:
    value = getattr(group, key)
    if key == "guests" and group.guests_pooled:
        return toml_string(POOLED)
    if key in getattr(group, "left_out", ()):
        return toml_string(NONE)
    return "" if value is None else toml_value(kind.write(value, digits), kind)


def toml_value(text: str, kind: Kind) -> str:
    """Write the text of a value as TOML; empty where the text is.

    Parameters
    ----------
    text : str
        As a cell would hold it.
    kind : Kind
        Gives the TOML type.
    """
    if not text:
        return ""
    if kind.form == "yes/no":
        return "true" if text == "yes" else "false"
    if kind.form == "date" or (kind.form == "number" and _PLAIN_NUMBER.fullmatch(text)):
        return text
    if kind.form == "list":
        return "[" + ", ".join(toml_string(part) for part in parts_of(text)) + "]"
    if kind.form == "table":
        pairs = [part.rpartition(" ") for part in parts_of(text)]
        entries = [f"{_key(name)} = {toml_string(v) if v == NONE else v}" for name, _, v in pairs]
        return "{ " + ", ".join(entries) + " }"
    return toml_string(text)


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else toml_string(name)


def toml_string(text: str) -> str:
    """Return a TOML basic string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
