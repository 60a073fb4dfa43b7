"""One independent solve of a large search: some tours planned anew inside a frame, the rest of the plan left alone."""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any

from ortools.sat.python import cp_model

from roundplan.domain.rules import Aim, Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.aims import aim_expressions, cost_limit, coverage_expressions
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.frame import Frame
from roundplan.solver.limits import add_limits
from roundplan.solver.parts import Linear, Visit
from roundplan.solver.pieces.tours import Tour, tours_of
from roundplan.solver.solving import evaluate, new_solver
from roundplan.solver.solving import run as run_solver
from roundplan.solver.taken import Taken
from roundplan.solver.tiers import blend, scale
from roundplan.tasks import Shared, Task, stopping

DERIVED = ("away[", "touched[", "thin[", "total[", "team[", "packs[", "load[", "use[", "models[", "fed[", "walls[",
           "alone[", "somebody[", "unwatched[", "longer[", "works[", "must[", "kept[", "short[", "covers[")  # fmt: skip
"""Variables that follow from others, or that say more of the rest of the plan than of a tour."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What is to be planned anew, and how.

    Attributes
    ----------
    aim : Aim or None
        The tier to improve; None = coverage in one figure.
    limits : mapping of Aim to int
        What the piece must not fall behind in, of the later tiers and of must people.
    teams : mapping of facility to int
        Teams that it must send at least.
    locks : frozenset of int
        Positions of locks that it must keep.
    free : frozenset of date
        Dates on which anything may change, the others stay as hinted; none = all.
    liked : frozenset of Visit
        Visits preferred among equals.
    hint : mapping of str to int
        Values by variable name.
    seconds, work : float
        Time, or deterministic work where ``work`` is not 0.
    """

    frame: Frame
    taken: Taken
    aim: Aim | None = None
    limits: Mapping[Aim, int] | None = None
    teams: Mapping[str, int] | None = None
    locks: frozenset[int] = frozenset()
    free: frozenset[date] = frozenset()
    liked: frozenset[Visit] = frozenset()
    hint: Mapping[str, int] | None = None
    seed: int = 1
    seconds: float = 5.0
    work: float = 0.0


@dataclass(frozen=True, slots=True)
class Planned:
    """What a piece came to.

    Attributes
    ----------
    tours : tuple of Tour or None
        None if nothing was found.
    measures : dict of Aim to int
        What the piece comes to in each tier that was in its model.
    work : float
        Deterministic work spent.
    proven : bool
        Nothing better exists in the frame.
    """

    tours: tuple[Tour, ...] | None
    measures: dict[Aim, int] = field(default_factory=dict)
    work: float = 0.0
    proven: bool = False


def plan_piece(facts: Facts, piece: Piece, stopped: Callable[[], bool] = stopping) -> Planned:
    """Plan a piece within its time; ends early when stopped."""
    choices = Choices(facts, frame=piece.frame, taken=piece.taken)
    add_limits(choices)
    cap = facts.settings.prices.cap if facts.on(Rule.BUDGET_CAP) else None
    whole = piece.aim is not None or cap is not None
    aims = aim_expressions(choices) if whole else coverage_expressions(choices)
    if cap is not None:
        cost_limit(choices, aims[Aim.COST], cap - piece.taken.cost)
    coverage = _coverage(choices, facts, aims)
    _keep(choices, piece, aims)
    objective: Linear
    if piece.aim is None:
        liked = [s.teams for s in choices.sendings if (s.facility, s.venue, s.first) in piece.liked]
        most = sum(facts.round.facility(visit[0]).teams_wanted for visit in piece.liked) + 1
        objective = most * coverage + sum(liked)
        choices.model.maximize(objective)
    else:
        objective = aims[piece.aim]
        choices.model.minimize(objective)
    solver = _solver(piece)
    _hint(choices, piece)
    if piece.free:
        _fix(choices, piece)
    status = run_solver(solver, choices.model, stopped)
    work = solver.response_proto.deterministic_time
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Planned(None, {}, work, status == cp_model.INFEASIBLE)
    values = list(solver.response_proto.solution)
    measures = {aim: evaluate(expression, values) for aim, expression in aims.items()}
    return Planned(tours_of(choices, values, aims.get(Aim.COST, 0)), measures, work, status == cp_model.OPTIMAL)


def _coverage(choices: Choices, facts: Facts, aims: Mapping[Aim, Linear]) -> Linear:
    """Return coverage in one figure; locks that a piece can keep, and districts' least teams, come first."""
    terms = [blend(facts, aims)]
    most, people = scale(facts)
    weight = most * people * (sum(facts.round.weight(f) for f in facts.round.facilities) + 1)  # outweighs all coverage
    terms += [weight * kept for kept in choices.kept.values()]
    terms += [-weight * short for short in choices.shortfalls]
    return sum(terms)


def _keep(choices: Choices, piece: Piece, aims: Mapping[Aim, Linear]) -> None:
    """Hold what the tours have reached in the tiers before."""
    for aim, limit in (piece.limits or {}).items():
        if not isinstance(aims[aim], int):
            choices.model.add(aims[aim] >= limit if aim is Aim.MUST_PEOPLE else aims[aim] <= limit)
    for code, least in (piece.teams or {}).items():
        choices.model.add(sum(s.teams for s in choices.sendings if s.facility == code) >= least)
    for number in piece.locks & choices.kept.keys():
        choices.model.add(choices.kept[number] == 1)


def _fix(choices: Choices, piece: Piece) -> None:
    """Leave sessions, drives, people and trainers of all other dates as they are hinted."""
    hint, free = piece.hint or {}, piece.free
    fixed: list[cp_model.IntVar] = []
    for sending in choices.sendings:
        if free.isdisjoint(sending.mode.dates):
            fixed += [sending.teams, sending.people]
    for table in (choices.seat, choices.guest, choices.home_guest):
        fixed += [var for (_, first, _), var in table.items() if first not in free]
    fixed += [var for (_, first, _, _), var in choices.site_seat.items() if first not in free]
    fixed += [var for (_, _, start), var in (*choices.hold.items(), *choices.stations.items()) if start not in free]
    fixed += [var for (_, _, day), var in choices.aboard.items() if day not in free]
    for crew in choices.crews:
        for day in (day for day in choices.facts.dates if day not in free):
            arcs = choices.arcs_on(crew.code, day)
            if any(hint.get(choice.used.name) for choice in arcs):
                fixed += [choice.used for choice in arcs]
            else:
                choices.model.add(choices.out(crew, day) == 0)
    for var in fixed:
        choices.model.add(var == hint.get(var.name, 0))


def _solver(piece: Piece) -> cp_model.CpSolver:
    solver = new_solver(piece.seed, 1)
    # A piece is small: a lighter linear relaxation leaves more of its time for the search (half the time and less).
    solver.parameters.linearization_level = 1
    if piece.work:
        solver.parameters.max_deterministic_time = piece.work
    else:
        solver.parameters.max_time_in_seconds = piece.seconds
    return solver


def _hint(choices: Choices, piece: Piece) -> None:
    """Hint at what decides; what follows from it is left to the solver."""
    hint = piece.hint or {}
    hinted = choices.model.proto.solution_hint
    for index, (variable, value) in enumerate(
        zip(choices.model.proto.variables, choices.hint(dict(hint)), strict=True)
    ):
        if not hint or not variable.name.startswith(DERIVED):
            hinted.vars.append(index)
            hinted.values.append(value)


# tasks ------------------------------------------------------------------------------------------------------------


def task_of(piece: Piece, shared: Shared) -> Task:
    """Return the task that plans a piece of the shared round; equal pieces give equal bytes in every process."""
    buffer = io.BytesIO()
    pickler = pickle.Pickler(buffer, protocol=5)
    pickler.fast = True  # without memory of objects seen, so that bytes depend on content alone
    pickler.dump(_plain(piece))
    return Task("roundplan.solver.pieces.piece:run", buffer.getvalue(), shared)


def run(payload: bytes, shared: Shared) -> bytes:
    """Plan a piece in a worker."""
    piece = _piece(pickle.loads(payload))
    return pickle.dumps(plan_piece(shared_facts(shared), piece))


PREPARE = "roundplan.solver.pieces.piece:prepare"


def prepare(_: bytes, shared: Shared) -> bytes:
    """Make what every piece needs, in a worker that has just started."""
    return bytes(bool(shared_facts(shared).modes))


@lru_cache(maxsize=2)
def shared_facts(shared: Shared) -> Facts:
    """Return the round that all tasks of a search share, seen by the solver; a worker builds it once."""
    training_round, off = pickle.loads(shared.data)
    assert isinstance(training_round, TrainingRound)
    return Facts(training_round, off)


def _plain(piece: Piece) -> tuple[object, ...]:
    """Return a piece in ordered tuples."""
    frame, taken = piece.frame, piece.taken
    parts = [_ordered(getattr(taken, name)) for name in Taken.__slots__]
    return (
        _plain_frame(frame), tuple(parts), piece.aim, _ordered(piece.limits or {}), _ordered(piece.teams or {}),
        _ordered(piece.locks),
        _ordered(piece.free), _ordered(piece.liked), _ordered(piece.hint or {}), piece.seed, piece.seconds, piece.work,
    )  # fmt: skip


def _plain_frame(frame: Frame) -> tuple[object, ...]:
    trainers = None if frame.trainers is None else _ordered({t: _ordered(c) for t, c in frame.trainers.items()})
    moves = _ordered({key: _ordered(found) for key, found in frame.moves.items()})
    return _ordered(frame.visits), _ordered(frame.guests), _ordered(frame.holds), moves, trainers


def _ordered(value: Any) -> Any:
    if isinstance(value, Mapping):
        return ("map", tuple(sorted(value.items())))
    if isinstance(value, frozenset | set):
        return ("set", tuple(sorted(value)))
    return value


def _open(value: Any) -> Any:
    if isinstance(value, tuple) and len(value) == 2 and value[0] == "map":
        return {key: _open(entry) for key, entry in value[1]}
    if isinstance(value, tuple) and len(value) == 2 and value[0] == "set":
        return frozenset(value[1])
    return value


def _piece(plain: Any) -> Piece:
    frame, taken, aim, limits, teams, locks, free, *rest = plain
    liked, hint, seed, seconds, work = rest
    within = Frame(*(_open(part) for part in frame))
    apart = Taken(*(_open(part) for part in taken))
    return Piece(within, apart, aim, _open(limits), _open(teams),
                 _open(locks), _open(free), _open(liked), _open(hint), seed, seconds, work)  # fmt: skip
