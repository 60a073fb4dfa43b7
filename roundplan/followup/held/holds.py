"""Statements that hold, as the types of the trade."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal

from roundplan.attendance.layout import ROUND, Part
from roundplan.domain.decision import CostLine
from roundplan.domain.held import (
    Came,
    Cause,
    Counted,
    DateHeld,
    Held,
    Hindrance,
    InStore,
    Noted,
    NoteKind,
    Sat,
    SlotRun,
    Spent,
)
from roundplan.domain.role import Role
from roundplan.followup.held.store import Kept

PROGRAMME = "programme"
"""What stands in a note for whoever runs the round."""


def held(statements: Iterable[Kept], digits: int) -> Held:
    """Return what is known of the round from the statements that hold.

    Parameters
    ----------
    digits : int
        Decimals of the round's currency.
    """
    by_part: dict[Part, list[tuple[str, list[str], Mapping[str, str]]]] = {part: [] for part in Part}
    for kept in statements:
        part, session, *subject = json.loads(kept.subject)
        by_part[Part(part)].append((session, subject, kept.content))
    return Held(
        dates=tuple(
            DateHeld(
                session=session,
                date=date.fromisoformat(subject[0]),
                held=Came(said["held"]),
                cause=Cause(said["cause"]) if "cause" in said else None,
            )
            for session, subject, said in by_part[Part.DATES]
            if "held" in said
        ),
        sat=tuple(_sat(*row) for row in by_part[Part.PEOPLE]),
        slots=tuple(_slot(*row) for row in by_part[Part.SLOTS]),
        counted=tuple(
            Counted(session=session, item=subject[0], used=_number(said, "used"), left=_number(said, "left"))
            for session, subject, said in by_part[Part.KIT]
        ),
        noted=tuple(_noted(session, said) for session, _, said in by_part[Part.NOTES]),
        spent=tuple(_spent(session, said, digits) for session, _, said in by_part[Part.SPENDING]),
        in_store=tuple(
            InStore(item=subject[0], place=subject[1], quantity=float(said["counted"]))
            for _, subject, said in by_part[Part.STORES]
            if "counted" in said
        ),
        left=_left(by_part),
    )


def _sat(session: str, subject: list[str], said: Mapping[str, str]) -> Sat:
    team, role, person, *besides = subject
    simulations = frozenset(int(number) for number in said.get("simulations", "").split(";") if number)
    return Sat(
        session=session,
        team=team,
        role=Role(role),
        person=person,
        expected=not besides,
        came=Came(said["came"]),
        simulations=simulations if said["came"] == Came.PARTLY else None,
        instead=said.get("instead", ""),
        why=Hindrance(said["why"]) if "why" in said else None,
    )


def _slot(session: str, subject: list[str], said: Mapping[str, str]) -> SlotRun:
    day, station, number = subject
    return SlotRun(
        session=session,
        date=date.fromisoformat(day),
        station=int(station),
        number=int(number),
        run={"yes": True, "no": False}.get(said.get("run", "")),
        team=said.get("team"),
        case=said.get("case"),
        wall=int(said["wall"]) if "wall" in said else None,
        wall_end=int(said["end"]) if "end" in said else None,
    )


def _noted(session: str, said: Mapping[str, str]) -> Noted:
    facility = said.get("facility", "")
    return Noted(
        session=session,
        kind=NoteKind(said["kind"]),
        facility="" if facility == PROGRAMME else facility,
        what=said["what"],
        owner=said.get("owner", ""),
        due=date.fromisoformat(said["due"]) if "due" in said else None,
    )


def _spent(session: str, said: Mapping[str, str], digits: int) -> Spent:
    return Spent(
        session="" if session == ROUND else session,
        line=CostLine(said["line"]),
        what=said.get("what", ""),
        amount=int(Decimal(said["amount"]) * 10**digits),
        receipt=said.get("receipt", ""),
        paid_on=date.fromisoformat(said["paid"]) if "paid" in said else None,
    )


def _left(by_part: Mapping[Part, list[tuple[str, list[str], Mapping[str, str]]]]) -> frozenset[str]:
    """Return who has left: by the form of a session, or by the programme manager's, which decides."""
    left = {subject[2] for _, subject, said in by_part[Part.PEOPLE] if said.get("why") == Hindrance.LEFT}
    for _, subject, said in by_part[Part.STAFF]:
        left = left | {subject[0]} if said["gone"] == "yes" else left - {subject[0]}
    return frozenset(left)


def _number(said: Mapping[str, str], key: str) -> float | None:
    return float(said[key]) if key in said else None
