"""Reading report, summary, map and labels back notices what is wrong; test_generated_rounds.py reads them all."""

from __future__ import annotations

import dataclasses

from html_sample import sample_plan, sample_round
from report_facts import Facts


def test_a_fact_that_is_wrong_is_found() -> None:
    plan, training_round = sample_plan(), sample_round()
    facts = Facts(plan, training_round)
    facts.plan["teams"] = facts.plan["teams"][1:]
    facts.plan["costs"] = facts.plan["costs"][1:]
    facts.plan["trips"] = facts.plan["trips"][1:]
    found = " ".join(facts.faults())
    for what in (
        "coverage of",
        "cost of",
        "total cost",
        "timeline",
        "load of",
        "labels",
        "drives on the map",
        "summary",
    ):
        assert what in found, what


def test_a_changed_plan_changes_what_the_pages_say() -> None:
    plan, training_round = sample_plan(), sample_round()
    fewer = dataclasses.replace(plan, costs=plan.costs[1:])
    assert list(Facts(fewer, training_round).costs()) == []
