"""The figures of a final report: planned beside done, counted by role and facility; nobody's name or code is in them.

They are kept in the record as they are, so that the report stays true when all that names people has been removed.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from roundplan.closing.done import Done, SeatDone, Standing
from roundplan.closing.next_round import Proposal
from roundplan.closing.quantities import Corrected
from roundplan.closing.use import planned_simulations, planned_use, use_of
from roundplan.costs.budget import against_budget
from roundplan.domain.decision import CostLine
from roundplan.domain.held import NoteKind, Result
from roundplan.domain.plan import SlotKind
from roundplan.domain.role import Role
from roundplan.domain.supply import ItemKind
from roundplan.domain.training_round import add_months


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFigures:
    """One session: teams, simulations and people as planned and as done."""

    venue: str
    dates: tuple[str, ...]
    standing: str
    causes: tuple[str, ...]
    teams: int
    teams_trained: int
    simulations: int
    run: int
    walls: int
    walls_used: int
    people: int
    trained: int
    partly: int
    absent: int
    not_said: int
    not_held: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupFigures:
    """People of one role, or one facility: seats planned, and of those who were expected or came, what they were."""

    name: str
    district: str = ""
    planned: int
    trained: int
    partly: int
    absent: int
    not_said: int
    not_held: int
    teams: int = 0
    teams_trained: int = 0
    actions: int = 0
    incidents: int = 0
    due: str = ""
    alarm: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFigures:
    """One consumable: units planned for the whole round, units that were counted, and its quantity before and after."""

    name: str
    unit: str
    per: str
    planned: int
    used: float
    sessions: int
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFigures:
    """One cost line in minor units."""

    line: str
    planned: int
    budgeted: int | None
    spent: int
    payments: int
    without_receipt: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """All figures of a round that was held.

    Attributes
    ----------
    next_first, next_last : str
        Dates that are proposed for the next round.
    raised : tuple of str
        Names of facilities that move up a priority.
    left : int
        People who have left.
    """

    round_name: str
    version: int
    currency: str
    digits: int
    planned_simulations: int
    sessions: tuple[SessionFigures, ...]
    roles: tuple[GroupFigures, ...]
    facilities: tuple[GroupFigures, ...]
    items: tuple[ItemFigures, ...]
    lines: tuple[LineFigures, ...]
    unexpected: int
    replaced: int
    next_name: str
    next_first: str
    next_last: str
    raised: tuple[str, ...]
    left: int
    programme_actions: int
    programme_incidents: int

    def as_plain(self) -> dict[str, Any]:
        """Return the figures as lists, mappings and plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def from_plain(cls, plain: dict[str, Any]) -> Figures:
        """Return the figures from what :meth:`as_plain` gave."""
        parts = {
            "sessions": SessionFigures,
            "roles": GroupFigures,
            "facilities": GroupFigures,
            "items": ItemFigures,
            "lines": LineFigures,
        }
        read = {name: tuple(kind(**_tuples(row)) for row in plain[name]) for name, kind in parts.items()}
        return cls(**_tuples(plain) | read)


def _tuples(row: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}


def figures_of(done: Done, proposal: Proposal) -> Figures:
    """Return the figures of a round and of the next one that is proposed."""
    r, coming = done.training_round, proposal.training_round.settings.round
    seats = done.seats
    programme = Counter(note.kind for note in done.held.noted if not note.facility)
    return Figures(
        round_name=done.plan.round_name,
        version=done.plan.version,
        currency=r.settings.round.currency,
        digits=r.settings.round.currency_digits,
        planned_simulations=planned_simulations(done),
        sessions=tuple(_session(done, key) for key in done.sessions),
        roles=tuple(_role(seats, role) for role in Role if any(seat.role is role for seat in seats)),
        facilities=tuple(_facilities(done)),
        items=tuple(_items(done, {row.item: row for row in proposal.corrected})),
        lines=_lines(done),
        unexpected=sum(not seat.expected and bool(seat.simulations) for seat in seats),
        replaced=sum(bool(row.instead) for row in done.held.sat),
        next_name=coming.name,
        next_first=coming.first_day.isoformat(),
        next_last=coming.last_day.isoformat(),
        raised=tuple(r.name_of(code) for code in proposal.raised),
        left=len(done.held.left),
        programme_actions=programme[NoteKind.ACTION],
        programme_incidents=programme[NoteKind.INCIDENT],
    )


def _counts(seats: tuple[SeatDone, ...]) -> dict[str, Any]:
    results = Counter(seat.result for seat in seats)
    return {
        "planned": sum(seat.expected for seat in seats),
        "trained": results[Result.TRAINED],
        "partly": results[Result.PARTLY] + results[Result.CAME],
        "absent": results[Result.ABSENT],
        "not_said": results[Result.NOT_SAID],
        "not_held": results[Result.NOT_HELD],
    }


def _session(done: Done, key: str) -> SessionFigures:
    session = done.sessions[key]
    counts = _counts(tuple(seat for seat in done.seats if seat.session == key))
    teams = [team for team in done.teams if team.session == key]
    planned = [slot for slot in session.slots if slot.kind is SlotKind.SIMULATION]
    return SessionFigures(
        venue=done.training_round.name_of(session.venue),
        dates=tuple(day.isoformat() for day in session.dates),
        standing=done.standing(key).value,
        causes=tuple(cause.value if cause else "" for cause in done.causes(key)),
        teams=len(teams),
        teams_trained=sum(team.trained for team in teams),
        simulations=len(planned),
        run=done.simulations(key),
        walls=len({(slot.station, slot.wall) for slot in session.slots if slot.wall is not None}),
        walls_used=done.walls(key),
        people=counts.pop("planned"),
        **counts,
    )


def _role(seats: tuple[SeatDone, ...], role: Role) -> GroupFigures:
    return GroupFigures(name=role.value, **_counts(tuple(seat for seat in seats if seat.role is role)))


def _facilities(done: Done) -> list[GroupFigures]:
    r, rows = done.training_round, []
    teams_settings = r.settings.teams
    for facility in r.facilities:
        seats = tuple(seat for seat in done.seats if seat.facility == facility.code)
        teams = [team for team in done.teams if team.facility == facility.code]
        notes = Counter(note.kind for note in done.held.noted if note.facility == facility.code)
        trained = [done.sessions[s.session].dates[-1] for s in seats if s.result is Result.TRAINED and s.authorised]
        first = min(trained, default=None)
        rows.append(
            GroupFigures(
                name=facility.name,
                district=facility.district,
                **_counts(seats),
                teams=len(teams),
                teams_trained=sum(team.trained for team in teams),
                actions=notes[NoteKind.ACTION],
                incidents=notes[NoteKind.INCIDENT],
                due=_iso(first, teams_settings.refresher_months),
                alarm=_iso(first, teams_settings.alarm_months),
            )
        )
    return rows


def _iso(day: date | None, months: int) -> str:
    return add_months(day, months).isoformat() if day is not None else ""


def _items(done: Done, corrected: dict[str, Corrected]) -> list[ItemFigures]:
    planned, use = planned_use(done), use_of(done).used
    rows = []
    for item in done.training_round.items:
        known = [units for (_, code), units in use.items() if code == item.code]
        if item.kind is not ItemKind.CONSUMABLE or not (planned.get(item.code) or known):
            continue
        rows.append(
            ItemFigures(
                name=item.name,
                unit=item.unit,
                per=item.per.value,
                planned=planned.get(item.code, 0),
                used=float(sum(known)),
                sessions=len(known),
                before=item.quantity,
                after=corrected[item.code].after if item.code in corrected else item.quantity,
            )
        )
    return rows


def _lines(done: Done) -> tuple[LineFigures, ...]:
    compared = {row.line: row for row in against_budget(done.plan.costs, done.training_round)}
    paid: dict[CostLine, list[int]] = {line: [] for line in CostLine}
    bare: Counter[CostLine] = Counter()
    for row in done.held.spent:
        paid[row.line].append(row.amount)
        bare[row.line] += not row.receipt
    return tuple(
        LineFigures(
            line=line.value,
            planned=compared[line].planned if line in compared else 0,
            budgeted=compared[line].budgeted if line in compared else None,
            spent=sum(paid[line]),
            payments=len(paid[line]),
            without_receipt=bare[line],
        )
        for line in CostLine
        if line in compared or paid[line]
    )


def took_place(figures: Figures) -> int:
    """Return the sessions that were held, whole or in part."""
    return sum(row.standing in (Standing.HELD.value, Standing.PARTLY.value) for row in figures.sessions)
