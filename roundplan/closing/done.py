"""What was done, session by session, team by team, person by person, from what was planned and what was said.

A date of a session was held as its form says; where the form does not say, it was if somebody came. On a date that was
held whole, slots went as planned unless the form says otherwise; on one held in part, only what is said to have been
run was. Silence about a person is never taken for having come.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cached_property

from roundplan.domain.held import Came, Cause, Held, Hindrance, Result, Sat, SlotRun, session_keys, team_key
from roundplan.domain.plan import Plan, Session, Slot, SlotKind, Team
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.training_round import TrainingRound


class Standing(StrEnum):
    """What became of a session."""

    HELD = "held"
    PARTLY = "held in part"
    CANCELLED = "cancelled"
    NOT_REPORTED = "not reported"


@dataclass(frozen=True, slots=True)
class Run:
    """One slot that was run.

    Attributes
    ----------
    team : str or None
        Key of the team; None for a demonstration.
    wall : int or None
        Wall that was used, within its station.
    """

    slot: Slot
    team: str | None
    wall: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatDone:
    """One person and one seat.

    Attributes
    ----------
    facility : str
        The person's own; the team's for somebody whom no staff list has.
    authorised : bool or None
        Whether the staff list has the role for the person; None for somebody whom no list has.
    simulations : frozenset of int
        The team's simulations, in the order run from 1, in which they were seated.
    """

    session: str
    team: str
    facility: str
    role: Role
    person: str
    expected: bool
    authorised: bool | None
    simulations: frozenset[int]
    result: Result
    why: Hindrance | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamDone:
    """One team.

    Attributes
    ----------
    wanted, run, complete : int
        Simulations that were set, that it ran, and of these with its minimum complete.
    """

    key: str
    facility: str
    session: str
    wanted: int
    run: int
    complete: int

    @property
    def trained(self) -> bool:
        """Whether its minimum was complete in every set simulation."""
        return 0 < self.wanted <= self.complete


@dataclass(frozen=True)
class Done:
    """A plan beside what was said of how it went."""

    plan: Plan
    training_round: TrainingRound
    held: Held

    @cached_property
    def sessions(self) -> dict[str, Session]:
        """Sessions of the plan by key, in the order of their dates."""
        found = {self.keys[session.code]: session for session in self.plan.sessions}
        return dict(sorted(found.items(), key=lambda item: (item[1].dates, item[0])))

    @cached_property
    def keys(self) -> dict[str, str]:
        """Keys of the sessions by code."""
        return session_keys(self.plan)

    @cached_property
    def teams_of(self) -> dict[str, tuple[Team, ...]]:
        """Teams of the plan by key of the session."""
        return {
            key: tuple(team for team in self.plan.teams if team.session == session.code)
            for key, session in self.sessions.items()
        }

    def dates_held(self, key: str) -> dict[date, Came | None]:
        """Return for each date of a session whether it was held; None where nobody says."""
        said = {row.date: row.held for row in self.held.dates if row.session == key}
        came = {row.team for row in self.held.sat if row.session == key and row.came is not Came.NO}
        attended = {day for team in self.teams_of[key] if team_key(team) in came for day in team.dates}
        return {day: said.get(day, Came.YES if day in attended else None) for day in self.sessions[key].dates}

    def standing(self, key: str) -> Standing:
        """Return what became of a session."""
        held = set(self.dates_held(key).values())
        if held == {Came.YES}:
            return Standing.HELD
        if held == {Came.NO}:
            return Standing.CANCELLED
        return Standing.NOT_REPORTED if held <= {None} else Standing.PARTLY

    def causes(self, key: str) -> tuple[Cause | None, ...]:
        """Return the causes of its dates that were not held, or not whole; None where nobody says."""
        rows = (row for row in self.held.dates if row.session == key and row.held is not Came.YES)
        return tuple(dict.fromkeys(row.cause for row in sorted(rows, key=lambda row: row.date)))

    @cached_property
    def runs(self) -> dict[str, tuple[Run, ...]]:
        """Slots that were run, by key of the session, in order."""
        said = {(row.session, row.date, row.station, row.number): row for row in self.held.slots}
        found: dict[str, tuple[Run, ...]] = {}
        for key, session in self.sessions.items():
            held = self.dates_held(key)
            slots = sorted(session.slots, key=lambda slot: (slot.date, slot.start, slot.station))
            rows = ((slot, said.get((key, slot.date, slot.station, slot.number))) for slot in slots)
            found[key] = tuple(self._run(slot, row) for slot, row in rows if _was_run(slot, row, held[slot.date]))
        return found

    def _run(self, slot: Slot, said: SlotRun | None) -> Run:
        planned = next((team_key(team) for team in self.plan.teams if team.code == slot.team), None)
        if said is None:
            return Run(slot, planned, slot.wall)
        return Run(slot, said.team or planned, said.wall if said.wall is not None else slot.wall)

    def simulations(self, key: str) -> int:
        """Return the simulations that a session ran, demonstrations left out."""
        return sum(run.team is not None for run in self.runs[key])

    def walls(self, key: str) -> int:
        """Return the walls that a session used: each counts once a station, whatever was done at it."""
        return len({(run.slot.station, run.wall) for run in self.runs[key] if run.wall is not None})

    @cached_property
    def seats(self) -> tuple[SeatDone, ...]:
        """Everybody who was expected, or came, by session and team."""
        return tuple(seat for key in self.sessions for team in self.teams_of[key] for seat in self._seats(key, team))

    def _seats(self, key: str, team: Team) -> Iterator[SeatDone]:
        name = team_key(team)
        ran = frozenset(range(1, 1 + sum(run.team == name for run in self.runs[key])))
        wanted = wanted_of(self.sessions[key], team)
        said = [row for row in self.held.sat if row.session == key and row.team == name]
        by_seat = {(row.role, row.person): row for row in said if row.expected}
        cancelled = self.standing(key) is Standing.CANCELLED
        for seat in team.seats:
            row = by_seat.get((seat.role, seat.person))
            sat = _sat(row, ran)
            result = Result.NOT_HELD if cancelled else _result(row, sat, wanted)
            yield self._seat(key, team, seat.role, seat.person, sat, result, row)
            if row is not None and row.instead:
                yield self._seat(key, team, seat.role, row.instead, ran - sat, _full(ran - sat, wanted))
        for row in said:
            if not row.expected and row.came is not Came.NO:
                sat = _sat(row, ran)
                yield self._seat(key, team, row.role, row.person, sat, _full(sat, wanted))

    def _seat(
        self, key: str, team: Team, role: Role, person: str, sat: frozenset[int], result: Result, row: Sat | None = None
    ) -> SeatDone:
        known = next((p for p in self.training_round.people if p.code == person), None)
        return SeatDone(
            session=key,
            team=team_key(team),
            facility=known.facility if known else team.facility,
            role=role,
            person=person,
            expected=any(seat.person == person and seat.role is role for seat in team.seats),
            authorised=role in known.roles if known else None,
            simulations=sat,
            result=result,
            why=row.why if row else None,
        )

    @cached_property
    def teams(self) -> tuple[TeamDone, ...]:
        """Every team of the plan with what it ran, by session."""
        return tuple(self._team(key, team) for key in self.sessions for team in self.teams_of[key])

    def _team(self, key: str, team: Team) -> TeamDone:
        name = team_key(team)
        ran = sum(run.team == name for run in self.runs[key])
        filled: dict[int, set[Role]] = {number: set() for number in range(1, ran + 1)}
        for seat in self.seats:
            if (seat.session, seat.team) == (key, name) and seat.authorised is not False:
                for number in seat.simulations:
                    filled[number].add(seat.role)
        complete = sum(set(MINIMUM_ROLES) <= roles for roles in filled.values())
        wanted = wanted_of(self.sessions[key], team)
        return TeamDone(key=name, facility=team.facility, session=key, wanted=wanted, run=ran, complete=complete)


def wanted_of(session: Session, team: Team) -> int:
    """Return the simulations that are set for a team."""
    return sum(slot.team == team.code and slot.kind is SlotKind.SIMULATION for slot in session.slots)


def _was_run(slot: Slot, said: SlotRun | None, held: Came | None) -> bool:
    if said is not None and said.run is not None:
        return said.run and held is not Came.NO and (slot.kind is not SlotKind.RESERVE or said.team is not None)
    if slot.kind is SlotKind.RESERVE:
        return said is not None and said.team is not None and held not in (None, Came.NO)
    return held is Came.YES


def _sat(row: Sat | None, ran: frozenset[int]) -> frozenset[int]:
    if row is None or row.came is Came.NO:
        return frozenset()
    return ran if row.simulations is None else ran & row.simulations


def _result(row: Sat | None, sat: frozenset[int], wanted: int) -> Result:
    if row is None:
        return Result.NOT_SAID
    return Result.ABSENT if row.came is Came.NO else _full(sat, wanted)


def _full(sat: frozenset[int], wanted: int) -> Result:
    """Return what somebody who came was: trained when seated in every set simulation."""
    return Result.TRAINED if 0 < wanted <= len(sat) else Result.PARTLY if sat else Result.CAME
