"""A plan that lives on: the round worked out by hand told again and again, with one thing changed each time."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from worked_rounds.hand_plan import hand_plan, hand_round

from roundplan.domain.plan import Cover, CoverKind, Plan, Seat, Team
from roundplan.handouts.document import Document
from roundplan.handouts.editions import Edition, Editions, Had
from roundplan.handouts.folder import Folder
from roundplan.handouts.plan_index import PlanIndex
from roundplan.slips.numbering import TOLD_CHECK, numbers_for

LIGHT = (".html", ".ics", ".txt", ".gpx")
"""Ends of documents that are made at once; PDFs and workbooks are left out where nothing is asked about them."""


def told_plan(version: int, plan: Plan | None = None) -> Plan:
    return replace(plan or hand_plan(), version=version, status="announced" if version == 1 else "revised")


def folder_of(plan: Plan, earlier: Folder | None = None, kept: Mapping[str, Had] | None = None) -> Folder:
    """Return what a plan's documents are made from; codes go on from those of an earlier version."""
    training_round = hand_round()
    numbers = numbers_for(plan, training_round, earlier.numbers if earlier else None, check=TOLD_CHECK)
    return Folder(index=PlanIndex(plan, training_round), numbers=numbers, kept=(kept or {}).keys())


def tell(folder: Folder, before: Folder | None = None, had: Mapping[str, Had] | None = None) -> dict[str, Edition]:
    """Return the documents of a version, by path."""
    known = had or {}
    now = replace(folder, kept=known.keys())
    earlier = replace(before, kept=known.keys()) if before else None
    return {e.path: e for e in Editions(now, earlier, known, lambda whose: ()).written()}


def had_of(editions: Mapping[str, Edition], before: Mapping[str, Had] | None = None) -> dict[str, Had]:
    """Return what readers have once they were told."""

    def kept(content: bytes) -> Callable[[], bytes]:
        return lambda: content

    new = {
        path: Had(e.version, e.whose, e.source, kept(e.content))
        for path, e in editions.items()
        if e.whose is not None and e.changed
    }
    return {**(before or {}), **new}


def changed(editions: Mapping[str, Edition]) -> set[str]:
    """Return the paths of readers' documents that are new or have changed."""
    return {path for path, edition in editions.items() if edition.whose is not None and edition.changed}


def light(documents: Iterator[Document]) -> Iterator[Document]:
    """Leave out what is printed, and what is the manager's."""
    return (document for document in documents if document.whose is not None and document.path.endswith(LIGHT))


# --- changes ---------------------------------------------------------------------------------------------------------


def with_seat(plan: Plan, person: str, /, **values: object) -> Plan:
    """Return a plan in which one seat is different; whoever sits in it travels."""

    def seat(old: Seat) -> Seat:
        return replace(old, **values) if old.person == person else old  # type: ignore[arg-type]

    instead = str(values.get("person", person))

    def team(old: Team) -> Team:
        outings = tuple(replace(o, people=tuple(instead if p == person else p for p in o.people)) for o in old.outings)
        return replace(old, seats=tuple(map(seat, old.seats)), outings=outings)

    return replace(plan, teams=tuple(map(team, plan.teams)))


def without_session(plan: Plan, code: str) -> Plan:
    """Return a plan without a session: nobody goes there, nobody stays for it, and the crew drives on."""
    gone = {team.code for team in plan.teams if team.session == code}
    homes = {team.facility for team in plan.teams if team.session == code}
    return replace(
        plan,
        sessions=tuple(s for s in plan.sessions if s.code != code),
        teams=tuple(t for t in plan.teams if t.session != code),
        trips=tuple(
            replace(t, days=tuple(replace(d, sessions=tuple(s for s in d.sessions if s != code)) for d in t.days))
            for t in plan.trips
        ),
        cover=tuple(c for c in plan.cover if c.team not in gone and not ({c.facility, c.for_facility} & homes)),
        costs=(),
    )


def with_cover(plan: Plan, facility: str, old: str, new: str) -> Plan:
    """Return a plan in which somebody else stays at a facility."""

    def cover(one: Cover) -> Cover:
        if one.facility != facility or one.kind is not CoverKind.OWN:
            return one
        return replace(one, named=tuple((role, new if person == old else person) for role, person in one.named))

    return replace(plan, cover=tuple(map(cover, plan.cover)))


def without_trainer(plan: Plan, trainer: str) -> Plan:
    """Return a plan in which a trainer stays at home."""
    return replace(
        plan,
        sessions=tuple(
            replace(s, leads=tuple(lead for lead in s.leads if lead.trainer != trainer)) for s in plan.sessions
        ),
        trips=tuple(
            replace(
                t, days=tuple(replace(d, aboard=tuple(a for a in d.aboard if a.trainer != trainer)) for d in t.days)
            )
            for t in plan.trips
        ),
    )


def later_leg(plan: Plan, minutes: int) -> Plan:
    """Return a plan in which the crew sets out later on its first date."""
    trip, *others = plan.trips
    day, *days = trip.days
    leg, *legs = day.legs
    moved = replace(leg.drive, depart=leg.drive.depart + 60 * minutes, arrive=leg.drive.arrive + 60 * minutes)
    first = replace(day, legs=(replace(leg, drive=moved), *legs))
    return dataclasses.replace(plan, trips=(replace(trip, days=(first, *days)), *others))
