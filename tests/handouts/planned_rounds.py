"""Planned rounds to read documents back against: by hand, the demo, invented ones; everybody has a name of their own.

The plans are those of a hand planner's greedy, which keeps every rule and takes a second or two.
"""

from __future__ import annotations

import dataclasses
import sys
from functools import cache
from pathlib import Path

from html_sample import sample_plan, sample_round

from roundplan.domain.decision import Contact
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.plan_index import PlanIndex

ROOT = Path(__file__).parents[2]
NAMES = ("sample", "demo", "eight facilities", "twelve facilities")


@cache
def planned(name: str) -> PlanIndex:
    """Return a planned round by its name in ``NAMES``."""
    plan, training_round = _made(name)
    return PlanIndex(plan, told_apart(training_round))


def _made(name: str) -> tuple[Plan, TrainingRound]:
    if name == "sample":
        return sample_plan(), sample_round()
    bench = str(Path(__file__).parents[1] / "bench")
    if bench not in sys.path:
        sys.path.append(bench)
    from generator import generate
    from rivals.greedy import greedy_plan

    if name == "demo":
        from roundplan.intake import read_round

        training_round = read_round(ROOT / "inputs_demo").training_round
    else:
        sizes = {"eight facilities": (8, 5, 2, 3), "twelve facilities": (12, 10, 2, 1)}
        *size, seed = sizes[name]
        training_round = generate(*size, seed=seed)
    return greedy_plan(training_round, seconds=60, seed=1), training_round


def told_apart(training_round: TrainingRound) -> TrainingRound:
    """Return the round with each person's code in their name, so that names in documents tell whose they are."""
    people = tuple(dataclasses.replace(p, name=name_of(p.code)) for p in training_round.people)
    return training_round.replace(people=people)


def name_of(person: str) -> str:
    return f"Person-{person}."


def people_in(text: str, index: PlanIndex) -> set[str]:
    """Return the codes of the people whose names stand in a text."""
    return {person.code for person in index.training_round.people if person.name in text}


def phones(index: PlanIndex) -> dict[str, Contact]:
    """Return a contact for everybody and every site, each with a phone of its own."""
    r = index.training_round
    codes = [
        "manager",
        *(row.code for row in (*r.people, *r.trainers, *r.facilities, *r.places)),
        *dict.fromkeys(f.district for f in r.facilities),
    ]
    return {code: Contact(who=code, phone=f"+000 {number:06d}") for number, code in enumerate(codes, 1)}


def phones_in(text: str, contacts: dict[str, Contact]) -> set[str]:
    return {who for who, contact in contacts.items() if contact.phone in text}
