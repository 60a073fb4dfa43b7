"""Whatever happens to the fields of a plan, the audit answers with breaches and never with an error."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import date
from enum import Enum
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from worked_rounds.hand_plan import TUE, WED, hand_plan, hand_round

from roundplan.audit import audit_plan, describe
from roundplan.domain.plan import Plan

PLAN, ROUND = hand_plan(), hand_round()
CODES = [
    "",
    "X9",
    "ALFA",
    "BETA",
    "HALL",
    "BASE",
    "T01",
    "T1",
    "S1",
    "S2",
    "C1",
    "C2",
    "R1",
    "ALFA-P1",
    "GAMA-P2",
    "K1",
]
DATES = [date.min, date.max, date(2026, 5, 31), TUE, WED, date(2026, 6, 7), date(2027, 1, 1)]
MAYBE = {"wall": 3, "wall_end": 9, "bound": -5}

Path = tuple[str | int, ...]


def paths(value: Any, at: Path = ()) -> Iterator[Path]:
    """Yield the way to every field and every row."""
    if dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield (*at, field.name)
            yield from paths(getattr(value, field.name), (*at, field.name))
    elif isinstance(value, tuple):
        for index, part in enumerate(value):
            yield (*at, index)
            yield from paths(part, (*at, index))


PATHS = sorted(set(paths(PLAN)), key=str)


def altered(data: st.DataObject, value: Any, name: str | int) -> Any:
    """Return another value of the same kind."""
    draw = data.draw
    if isinstance(value, Enum):
        return draw(st.sampled_from(list(type(value))))
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return draw(st.sampled_from([-(10**12), -1, 0, 1, 2, value + 1, 43_200, 86_400, 10**12]))
    if isinstance(value, float):
        return draw(st.sampled_from([float("nan"), float("inf"), float("-inf"), -1.0, 0.0, value / 3, 1e300]))
    if isinstance(value, str):
        return draw(st.sampled_from(CODES))
    if isinstance(value, date):
        return draw(st.sampled_from(DATES))
    if value is None:
        return MAYBE.get(str(name)) if name in MAYBE else draw(st.sampled_from(CODES))
    if isinstance(value, tuple) and not isinstance(name, int):
        return draw(st.sampled_from([(), value[::-1], value + value, value[1:], value[:-1]]))
    return value


def put(data: st.DataObject, value: Any, path: Path, name: str | int = "") -> Any:
    """Return the tree with what lies at the end of a path altered; a path that leads nowhere alters nothing."""
    if not path:
        return altered(data, value, name)
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        if not isinstance(value, tuple) or step >= len(value):
            return value
        return (*value[:step], put(data, value[step], rest, step), *value[step + 1 :])
    if not dataclasses.is_dataclass(value):
        return value
    return dataclasses.replace(value, **{step: put(data, getattr(value, step), rest, step)})


@settings(max_examples=400, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_random_corruption_never_crashes_the_audit(data):
    plan: Plan = PLAN
    for path in data.draw(st.lists(st.sampled_from(PATHS), min_size=1, max_size=4)):
        plan = put(data, plan, path)

    lines = describe(audit_plan(plan, ROUND))

    assert all(line.isprintable() for line in lines)


def test_the_corruption_reaches_every_part_of_a_plan():
    assert len(PATHS) > 500
    names = {step for path in PATHS for step in path if isinstance(step, str)}
    assert {"standby", "drives", "nights", "named", "joins_at", "wall_end", "bound", "case"} <= names
