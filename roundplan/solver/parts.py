"""The pieces that a model of a round is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any, TypeAlias

from ortools.sat.python import cp_model

from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Arc
from roundplan.solver.visiting import Visit as Visit

Var: TypeAlias = cp_model.IntVar
Linear: TypeAlias = Any
"""A linear expression of the model or a whole number."""


class Scope(Enum):
    """How much of the round a model holds.

    WHOLE: every rule. OUTER: a relaxation for proofs and for the shape of a first plan; guests come from nowhere, and
    clocks, nights, names of cover, loads and beds are left out, so that its optimum bounds every plan. STAFF: the
    people of facilities alone, as if crews were everywhere; guests come from nowhere.
    """

    WHOLE = "whole"
    OUTER = "outer"
    STAFF = "staff"


@dataclass(slots=True)
class ArcChoice:
    """An arc of a crew on a date and whether it is used."""

    arc: Arc
    used: Var


@dataclass(slots=True)
class Onward:
    """In the relaxation: whether a crew comes to a venue from another one, and goes on to another one.

    Attributes
    ----------
    wheel, seconds : int
        Time of the shortest drive to the venue, at the wheel and breaks included.
    """

    venue: str
    comes: Var
    goes: Var
    wheel: int
    seconds: int


@dataclass(frozen=True, slots=True)
class SessionClock:
    """When a session of one date starts and ends, in seconds after midnight, and how many slots it has."""

    start: Var
    slots: Var
    end: Var


@dataclass(slots=True)
class Sending:
    """Teams that a facility sends to one session in one mode."""

    facility: str
    venue: str
    first: date
    mode: Mode
    teams: Var
    used: Var
    people: Var
    on_site: bool


@dataclass(slots=True)
class Guesting:
    """Guests whom a facility lends to teams at one session, in one mode."""

    facility: str
    venue: str
    first: date
    mode: Mode
    count: Var
    used: Var


@dataclass(slots=True)
class StationDay:
    """One station on one date: how many teams, whether any, whether more than one, back-to-back pairs, slots needed."""

    teams: Linear
    busy: Linear
    several: Var
    pairs: Var
    need: Linear


@dataclass(frozen=True, slots=True)
class Counts:
    """What a session uses: expressions of the model, or whole numbers where the session stands outside it."""

    stations: Linear
    simulations: Linear
    walls: Linear
    participants: Linear
    held: Linear
