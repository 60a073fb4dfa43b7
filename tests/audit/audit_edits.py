"""Small edits of a plan for the audit's tests: one thing changed, everything else as it was."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date
from typing import Any

from roundplan.domain.plan import Cover, CoverKind, Plan, Seat
from roundplan.domain.role import Shift
from roundplan.domain.training_round import TrainingRound

Edit = Callable[[Plan, TrainingRound], tuple[Plan, TrainingRound]]


def change(rows: tuple[Any, ...], match: Callable[[Any], bool], **changes: Any) -> tuple[Any, ...]:
    """Return rows with those that match changed; none that matches is an error of the test."""
    if not any(match(row) for row in rows):
        raise LookupError("no row matches")
    return tuple(dataclasses.replace(row, **changes) if match(row) else row for row in rows)


def coded(code: str) -> Callable[[Any], bool]:
    return lambda row: row.code == code


def of_plan(edit: Callable[[Plan], Plan]) -> Edit:
    return lambda plan, training_round: (edit(plan), training_round)


def of_round(edit: Callable[[TrainingRound], TrainingRound]) -> Edit:
    return lambda plan, training_round: (plan, edit(training_round))


def plan_field(**changes: Any) -> Edit:
    return of_plan(lambda plan: dataclasses.replace(plan, **changes))


def team(code: str, /, **changes: Any) -> Edit:
    return of_plan(lambda p: dataclasses.replace(p, teams=change(p.teams, coded(code), **changes)))


def seats(code: str, edit: Callable[[tuple[Seat, ...]], tuple[Seat, ...]]) -> Edit:
    """Change a team's seats, and its outings so that they still hold just the people seated."""

    def apply(plan: Plan) -> Plan:
        held = next(t for t in plan.teams if t.code == code)
        return dataclasses.replace(plan, teams=change(plan.teams, coded(code), seats=edit(held.seats)))

    return of_plan(apply)


def seat(code: str, holder: str, /, **changes: Any) -> Edit:
    """Change a seat; a new person takes the old one's place in the outings too."""

    def apply(plan: Plan) -> Plan:
        held = next(t for t in plan.teams if t.code == code)
        new = changes.get("person", holder)
        outings = tuple(
            dataclasses.replace(o, people=tuple(new if p == holder else p for p in o.people)) for o in held.outings
        )
        kept = change(held.seats, lambda s: s.person == holder, **changes)
        return dataclasses.replace(plan, teams=change(plan.teams, coded(code), seats=kept, outings=outings))

    return of_plan(apply)


def outing(code: str, facility: str, edit: Callable[[Any], Any]) -> Edit:
    def apply(plan: Plan) -> Plan:
        held = next(t for t in plan.teams if t.code == code)
        outings = tuple(edit(o) if o.facility == facility else o for o in held.outings)
        return dataclasses.replace(plan, teams=change(plan.teams, coded(code), outings=outings))

    return of_plan(apply)


def outing_drive(code: str, facility: str, number: int, **changes: Any) -> Edit:
    def apply(held: Any) -> Any:
        drives = list(held.drives)
        drives[number] = dataclasses.replace(drives[number], **changes)
        return dataclasses.replace(held, drives=tuple(drives))

    return outing(code, facility, apply)


def session(code: str, /, **changes: Any) -> Edit:
    return of_plan(lambda p: dataclasses.replace(p, sessions=change(p.sessions, coded(code), **changes)))


def session_day(code: str, /, **changes: Any) -> Edit:
    def apply(plan: Plan) -> Plan:
        held = next(s for s in plan.sessions if s.code == code)
        days = (dataclasses.replace(held.days[0], **changes), *held.days[1:])
        return dataclasses.replace(plan, sessions=change(plan.sessions, coded(code), days=days))

    return of_plan(apply)


def slot(code: str, number: int, **changes: Any) -> Edit:
    def apply(plan: Plan) -> Plan:
        held = next(s for s in plan.sessions if s.code == code)
        slots = change(held.slots, lambda s: s.number == number, **changes)
        return dataclasses.replace(plan, sessions=change(plan.sessions, coded(code), slots=slots))

    return of_plan(apply)


def trip(**changes: Any) -> Edit:
    return of_plan(lambda p: dataclasses.replace(p, trips=change(p.trips, coded("R1"), **changes)))


def trip_day(day: date, **changes: Any) -> Edit:
    def apply(plan: Plan) -> Plan:
        held = next(t for t in plan.trips if t.code == "R1")
        days = change(held.days, lambda d: d.date == day, **changes)
        return dataclasses.replace(plan, trips=change(plan.trips, coded("R1"), days=days))

    return of_plan(apply)


def leg(day: date, *, driver: int = 1, **changes: Any) -> Edit:
    """Change the one leg of a date."""

    def apply(plan: Plan) -> Plan:
        held = next(t for t in plan.trips if t.code == "R1")
        (old,) = next(d for d in held.days if d.date == day).legs
        new = dataclasses.replace(old, driver=driver, drive=dataclasses.replace(old.drive, **changes))
        days = change(held.days, lambda d: d.date == day, legs=(new,))
        return dataclasses.replace(plan, trips=change(plan.trips, coded("R1"), days=days))

    return of_plan(apply)


def is_cover(facility: str, day: date, shift: Shift, kind: CoverKind) -> Callable[[Cover], bool]:
    return lambda c: (c.facility, c.date, c.shift, c.kind) == (facility, day, shift, kind)


def cover(facility: str, day: date, shift: Shift, kind: CoverKind, **changes: Any) -> Edit:
    match = is_cover(facility, day, shift, kind)
    return of_plan(lambda p: dataclasses.replace(p, cover=change(p.cover, match, **changes)))


def no_cover(facility: str, day: date, shift: Shift, kind: CoverKind) -> Edit:
    match = is_cover(facility, day, shift, kind)
    return of_plan(lambda p: dataclasses.replace(p, cover=tuple(c for c in p.cover if not match(c))))


def table(name: str, code: str, /, **changes: Any) -> Edit:
    return of_round(lambda r: r.replace(**{name: change(getattr(r, name), coded(code), **changes)}))


def add(name: str, *rows: Any) -> Edit:
    return of_round(lambda r: r.replace(**{name: (*getattr(r, name), *rows)}))


def setting(section: str, **changes: Any) -> Edit:
    def apply(training_round: TrainingRound) -> TrainingRound:
        settings = training_round.settings
        group = dataclasses.replace(getattr(settings, section), **changes)
        return training_round.replace(settings=dataclasses.replace(settings, **{section: group}))

    return of_round(apply)


def both(*edits: Edit) -> Edit:
    def apply(plan: Plan, training_round: TrainingRound) -> tuple[Plan, TrainingRound]:
        for edit in edits:
            plan, training_round = edit(plan, training_round)
        return plan, training_round

    return apply
