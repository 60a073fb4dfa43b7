"""The JSON Schema of plan.json, made from the same type hints as the codec.

``python -m roundplan.handouts.schema`` writes it anew into the package.
"""

from __future__ import annotations

import dataclasses
import inspect
import json
import typing
from datetime import date
from enum import Enum
from importlib.resources import files
from pathlib import Path
from typing import Any

from roundplan.domain.plan import PLAN_FORMAT, Plan
from roundplan.handouts.codec import CLOCK_PATTERN, DATE_PATTERN, hints_of, inner_of, is_clock, is_optional

SCHEMA_FILE = "plan.schema.json"

_SCALARS: dict[Any, dict[str, Any]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
    date: {"type": "string", "format": "date", "pattern": DATE_PATTERN},
}
_CLOCK = {"type": "string", "pattern": CLOCK_PATTERN, "description": "Time of day, local."}


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a plan file."""
    definitions: dict[str, Any] = {}
    _define(Plan, definitions)
    definitions["Plan"]["properties"]["format"] = {"const": PLAN_FORMAT}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:roundplan:plan:{PLAN_FORMAT}",
        "title": "A planned training round",
        "description": "Times of day are local; money is in minor units of the round's currency.",
        "$ref": "#/$defs/Plan",
        "$defs": dict(sorted(definitions.items())),
    }


def schema_text() -> str:
    """Return the JSON Schema as text, as the package holds it."""
    return json.dumps(plan_schema(), indent=1, ensure_ascii=False) + "\n"


def shipped_schema() -> str:
    """Return the JSON Schema that the package holds."""
    return files("roundplan.handouts").joinpath(SCHEMA_FILE).read_text(encoding="utf-8")


def _define(kind: type[Any], definitions: dict[str, Any]) -> None:
    if kind.__name__ in definitions:
        return
    definitions[kind.__name__] = {}
    if issubclass(kind, Enum):
        definitions[kind.__name__] = {
            "description": _first_sentence(kind),
            "enum": [member.value for member in kind],
        }
        return
    hints = hints_of(typing.cast(Any, kind))
    definitions[kind.__name__] = {
        "type": "object",
        "description": _first_sentence(kind),
        "properties": {
            name: _CLOCK if is_clock(name, hint) else _schema_of(hint, definitions)
            for name, hint in sorted(hints.items())
        },
        "required": sorted(hints),
        "additionalProperties": False,
    }


def _schema_of(hint: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    if is_optional(hint):
        return {"anyOf": [_schema_of(inner_of(hint), definitions), {"type": "null"}]}
    if typing.get_origin(hint) is tuple:
        parts = typing.get_args(hint)
        if parts[-1] is Ellipsis:
            return {"type": "array", "items": _schema_of(parts[0], definitions)}
        fixed = [_schema_of(part, definitions) for part in parts]
        return {"type": "array", "prefixItems": fixed, "items": False, "minItems": len(fixed)}
    if dataclasses.is_dataclass(hint) or issubclass(hint, Enum):
        _define(typing.cast(type, hint), definitions)
        return {"$ref": f"#/$defs/{hint.__name__}"}
    return _SCALARS[hint]


def _first_sentence(kind: type[Any]) -> str:
    return (inspect.getdoc(kind) or "").partition("\n\n")[0].replace("\n", " ")


if __name__ == "__main__":
    Path(__file__).with_name(SCHEMA_FILE).write_text(schema_text(), encoding="utf-8")
