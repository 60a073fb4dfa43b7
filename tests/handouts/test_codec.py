from __future__ import annotations

import dataclasses
import json
import typing
from datetime import date
from enum import Enum
from typing import Any

import jsonschema
import pytest
from html_sample import sample_plan
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundplan.domain.plan import Plan, SessionDay
from roundplan.handouts import schema
from roundplan.handouts.codec import (
    PlanFileError,
    hints_of,
    inner_of,
    is_clock,
    is_optional,
    plan_from_json,
    plan_to_json,
)

DAY = 86_400
TEXT = st.text(max_size=6)
SCALARS: dict[Any, st.SearchStrategy[Any]] = {
    str: TEXT,
    int: st.integers(-(10**12), 10**12),
    float: st.floats(allow_nan=False, allow_infinity=False),
    bool: st.booleans(),
    date: st.dates(),
}


ONLY_THE_CODEC = {("$.teams[0].dates[0]", "no date"), ("$.trips[0].weight_kg", "too large")}
"""What JSON Schema lets pass: dates that no calendar holds, numbers that no computer holds."""


def values(hint: Any) -> st.SearchStrategy[Any]:
    if is_optional(hint):
        return st.none() | values(inner_of(hint))
    if typing.get_origin(hint) is tuple:
        parts = typing.get_args(hint)
        if parts[-1] is Ellipsis:
            return st.lists(values(parts[0]), max_size=2).map(tuple)
        return st.tuples(*(values(part) for part in parts))
    if isinstance(hint, type) and issubclass(hint, Enum):
        return st.sampled_from(hint)
    if dataclasses.is_dataclass(hint):
        return objects(typing.cast(type, hint))
    return SCALARS[hint]


def objects(kind: type) -> st.SearchStrategy[Any]:
    fields = {
        name: st.just(1)
        if (kind, name) == (Plan, "format")
        else st.integers(0, DAY)
        if is_clock(name, hint)
        else values(hint)
        for name, hint in hints_of(kind).items()
    }
    return st.builds(kind, **fields)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(objects(Plan))
def test_any_plan_comes_back_the_same_and_fits_the_schema(plan: Plan) -> None:
    text = plan_to_json(plan)
    assert plan_from_json(text) == plan
    assert plan_to_json(plan_from_json(text)) == text
    jsonschema.Draft202012Validator(schema.plan_schema()).validate(json.loads(text))


def test_clocks_dates_and_enums_are_written_for_people() -> None:
    raw = json.loads(plan_to_json(sample_plan()))
    session = raw["sessions"][0]
    assert session["days"][0] == {
        "date": "2027-03-02",
        "start": "08:30",
        "end": "15:50",
        "pauses": [{"start": "12:30", "end": "13:15", "kind": "lunch"}],
    }
    assert raw["trips"][0]["days"][0]["legs"][0]["drive"]["start"] == "DEP"
    assert raw["teams"][0]["seats"][0]["role"] == "surgical provider"
    assert list(raw) == sorted(raw)


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        (lambda p: p["sessions"][0]["days"][0].update(start="8:30"), "$.sessions[0].days[0].start", "no time of day"),
        (lambda p: p["sessions"][0]["days"][0].update(end="24:01"), "$.sessions[0].days[0].end", "no time of day"),
        (lambda p: p["teams"][0].update(dates=["2027-02-30"]), "$.teams[0].dates[0]", "no date"),
        (lambda p: p["teams"][0].update(dates="2027-02-03"), "$.teams[0].dates", "is text where a list is wanted"),
        (lambda p: p["teams"][0]["seats"][0].update(role="surgeon"), "$.teams[0].seats[0].role", "known are"),
        (lambda p: p["teams"][0].update(number=True), "$.teams[0].number", "a whole number is wanted"),
        (lambda p: p["teams"][0].update(extra=1), "$.teams[0]", 'holds "extra"'),
        (lambda p: p["teams"][0].pop("code"), "$.teams[0]", 'lacks "code"'),
        (lambda p: p["cover"][0]["named"][0].append("x"), "$.cover[0].named[0]", "3 entries where 2 are wanted"),
        (lambda p: p["trips"][0].update(weight_kg="12"), "$.trips[0].weight_kg", "is text where a number is wanted"),
        (lambda p: p["trips"][0].update(weight_kg=10**400), "$.trips[0].weight_kg", "too large"),
        (lambda p: p.update(search=None), "$.search", "is null where an object is wanted"),
        (lambda p: p.update(format=2), "$.format", "is 2; this program reads format 1"),
    ],
)
def test_what_is_no_plan_is_refused_with_its_place(change: Any, place: str, words: str) -> None:
    raw = json.loads(plan_to_json(sample_plan()))
    change(raw)
    text = json.dumps(raw)
    with pytest.raises(PlanFileError) as refused:
        plan_from_json(text)
    assert refused.value.path == place
    assert words in refused.value.words
    if (place, words) not in ONLY_THE_CODEC:
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(schema.plan_schema()).validate(raw)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is no JSON"),
        ("{", "line 1, column 2"),
        ("[]", "is a list where an object is wanted"),
        ("[" * 100_000, "too deep"),
        ("1" * 5000, "too long"),
        ('{"format": 1, "format": 1}', '"format" twice'),
        ('{"format": NaN}', "NaN is no number"),
    ],
)
def test_what_is_no_json_is_refused(text: str, words: str) -> None:
    with pytest.raises(PlanFileError, match=r"^\$: ") as refused:
        plan_from_json(text)
    assert words in str(refused.value)


def test_a_time_outside_the_day_is_never_written() -> None:
    plan = sample_plan()
    late = dataclasses.replace(plan.sessions[0], days=(SessionDay(date=date(2027, 3, 2), start=0, end=DAY + 1),))
    with pytest.raises(ValueError, match="86401"):
        plan_to_json(dataclasses.replace(plan, sessions=(late,)))


def test_the_schema_in_the_package_is_the_current_one() -> None:
    assert schema.shipped_schema() == schema.schema_text()
    jsonschema.Draft202012Validator.check_schema(json.loads(schema.shipped_schema()))
