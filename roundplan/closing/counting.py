"""The figures of a final report, counted from what was done and what is proposed for the next round."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any

from roundplan.closing.done import Done, SeatDone
from roundplan.closing.figures import Figures, GroupFigures, ItemFigures, LineFigures, SessionFigures
from roundplan.closing.next_round import Proposal
from roundplan.closing.quantities import Corrected
from roundplan.closing.use import planned_use, use_of
from roundplan.costs.budget import against_budget
from roundplan.domain.decision import CostLine
from roundplan.domain.held import Came, NoteKind, Result
from roundplan.domain.plan import SlotKind
from roundplan.domain.role import Role
from roundplan.domain.supply import ItemKind
from roundplan.domain.training_round import add_months


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
        sessions=tuple(_session(done, key) for key in done.sessions),
        roles=tuple(_role(seats, role) for role in Role if any(seat.role is role for seat in seats)),
        facilities=tuple(_facilities(done)),
        items=tuple(_items(done, {row.item: row for row in proposal.corrected})),
        lines=_lines(done),
        besides=sum(not row.expected and row.came is not Came.NO for row in done.held.sat),
        replaced=sum(bool(row.instead) for row in done.held.sat),
        next_name=coming.name,
        next_first=coming.first_day.isoformat(),
        next_last=coming.last_day.isoformat(),
        raised=tuple(r.name_of(code) for code in proposal.raised),
        left=len(done.held.left),
        lifted=len(proposal.lifted),
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
