"""A plan and its round without anybody's name: codes made anew, free text left out, every rule still to be audited."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from roundplan.costs.pricing import price_plan
from roundplan.domain.decision import Lock, LockKind
from roundplan.domain.person import Person
from roundplan.domain.plan import Plan
from roundplan.domain.training_round import TrainingRound

APPROVED = "somebody"
"""Stands for whoever approved a case: that it was approved stays known."""

_OF_PEOPLE = frozenset({"person", "standby", "people", "observers", "director", "trainer", "named"})
"""Fields of a plan that hold codes of people."""


def anonymous(plan: Plan, training_round: TrainingRound) -> tuple[Plan, TrainingRound]:
    """Return both with new codes in place of names and codes of people, and without contacts, remarks and reasons.

    New codes say the facility and a number in the order of the old codes' table, which says nothing of a person.
    """
    codes = _new_codes(training_round)
    made = _round(training_round, codes)
    bare: Plan = dataclasses.replace(_walked(plan, codes), reasons=(), costs=())
    return dataclasses.replace(bare, costs=price_plan(bare, made)), made


def _new_codes(r: TrainingRound) -> dict[str, str]:
    taken = {site.code for site in r.sites()} | {crew.code for crew in r.crews} | {item.code for item in r.items}
    taken |= {person.code for person in r.people} | {
        trainer.code for trainer in r.trainers
    }  # no new code is anybody's old one
    codes: dict[str, str] = {}
    wanted = [(p.code, p.facility) for p in sorted(r.people, key=lambda p: (p.facility, p.roles[0].value, p.code))]
    wanted += [(t.code, "TRAINER") for t in r.trainers]
    numbers: dict[str, int] = {}
    for old, head in wanted:
        if old in codes:
            continue
        number = numbers.get(head, 0) + 1
        while f"{head}-{number:02}" in taken:
            number += 1
        numbers[head], codes[old] = number, f"{head}-{number:02}"
    return codes


def _round(r: TrainingRound, codes: Mapping[str, str]) -> TrainingRound:
    def code(old: str) -> str:
        return codes.get(old, old)

    return dataclasses.replace(
        r,
        facilities=tuple(dataclasses.replace(f, exposure_contact="") for f in r.facilities),
        places=tuple(dataclasses.replace(p, exposure_contact="") for p in r.places),
        people=tuple(
            sorted((dataclasses.replace(p, code=code(p.code), name=code(p.code)) for p in r.people), key=_code)
        ),
        duties=tuple(dataclasses.replace(d, person=code(d.person)) for d in r.duties),
        absences=tuple(dataclasses.replace(a, who=code(a.who), kind="") for a in r.absences),
        relief=tuple(dataclasses.replace(row, person=code(row.person)) for row in r.relief),
        trainers=tuple(
            dataclasses.replace(t, code=code(t.code), name=code(t.code), person=t.person and code(t.person))
            for t in r.trainers
        ),
        ledger=tuple(dataclasses.replace(row, person=code(row.person)) for row in r.ledger),
        locks=tuple(_lock(lock, codes) for lock in r.locks),
        cases=tuple(dataclasses.replace(case, approved_by=case.approved_by and APPROVED) for case in r.cases),
        budget=tuple(dataclasses.replace(line, note="") for line in r.budget),
    )


def _code(person: Person) -> str:
    return person.code


def _lock(lock: Lock, codes: Mapping[str, str]) -> Lock:
    of_person = lock.kind in (LockKind.SEAT, LockKind.PERSON) and lock.who is not None
    return dataclasses.replace(lock, who=codes.get(lock.who or "", lock.who) if of_person else lock.who, why="")


def _walked(value: Any, codes: Mapping[str, str], inside: bool = False) -> Any:
    """Return a part of a plan with the codes in its fields of people replaced."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        entries = dataclasses.fields(value)
        made = {e.name: _walked(getattr(value, e.name), codes, e.name in _OF_PEOPLE) for e in entries}
        return dataclasses.replace(value, **made)
    if isinstance(value, tuple):
        return tuple(_walked(part, codes, inside) for part in value)
    return codes.get(value, value) if inside and type(value) is str else value
