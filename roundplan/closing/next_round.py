"""The next round's tables, proposed from what was done: who is due, priorities, quantities, stock, people who left."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from roundplan.closing.done import Done, Standing
from roundplan.closing.next_dates import first_date, from_on, next_settings
from roundplan.closing.quantities import Corrected, corrected_quantities
from roundplan.closing.stock import expired, stock_after
from roundplan.closing.use import use_of
from roundplan.domain.facility import Facility
from roundplan.domain.held import Result
from roundplan.domain.person import LedgerEntry
from roundplan.domain.place import Place
from roundplan.domain.role import Include
from roundplan.domain.training_round import TrainingRound

HIGHEST_PRIORITY = 5
_IN_LEDGER = (Result.TRAINED, Result.PARTLY, Result.ABSENT)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The next round, and what changed on the way to it.

    Attributes
    ----------
    raised : tuple of str
        Facilities whose priority was raised, by code.
    lifted : tuple of str
        Trainers and crews whose dates were over and were left open, by code.
    """

    training_round: TrainingRound
    corrected: tuple[Corrected, ...]
    raised: tuple[str, ...]
    lifted: tuple[str, ...]


def next_round(done: Done, today: date, name: str) -> Proposal:
    """Return the proposed tables of the next round.

    The ledger gets a line for each person who was expected or came: trained, partly or absent; nobody is entered for a
    session that was cancelled or not reported, nor in a role that the staff list does not have for them. Whoever left
    goes from all tables. A facility that was to have a team and got none trained moves up one priority, to 5 at most
    (common practice, no source); that training is overdue triples a facility's weight by the ledger alone. People
    marked ``must`` who were trained become ``may``. What is dated before the next round is left out.

    Parameters
    ----------
    today : date
        The date on which the round is closed.
    name : str
        Name of the next round.
    """
    r, use = done.training_round, use_of(done)
    last = max((day for s in done.plan.sessions for day in s.dates), default=r.settings.round.last_day)
    first = first_date(r, last, today)
    corrected = corrected_quantities(done, use)
    after = {row.item: row.after for row in corrected}
    facilities = tuple(_facility(done, facility, first) for facility in r.facilities)
    lifted: list[str] = []
    made = dataclasses.replace(
        r,
        settings=dataclasses.replace(r.settings, round=next_settings(r.settings.round, first, today, name)),
        facilities=facilities,
        **_people(done, first),
        trainers=_still_available((_without_person(t, done.held.left) for t in r.trainers), first, lifted),
        places=tuple(_place(place, first) for place in r.places),
        crews=_still_available(r.crews, first, lifted),
        roads=tuple(
            dataclasses.replace(road, closures=tuple(c for c in road.closures if c[1] >= first)) for road in r.roads
        ),
        items=tuple(
            dataclasses.replace(
                item,
                quantity=after.get(item.code, item.quantity),
                expiry=None if expired(item, first) else item.expiry,
            )
            for item in r.items
        ),
        stock=stock_after(done, use, first),
        locks=tuple(
            lock for lock in r.locks if (lock.date is None or lock.date >= first) and lock.who not in done.held.left
        ),
    )
    raised = tuple(f.code for f, old in zip(facilities, r.facilities, strict=True) if f.priority > old.priority)
    return Proposal(made, corrected, raised, tuple(lifted))


def _people(done: Done, first: date) -> dict[str, Any]:
    """Return the tables of people, without those who left and without dates that are over."""
    r, left = done.training_round, done.held.left
    trained = {seat.person for seat in done.seats if seat.result is Result.TRAINED and seat.authorised}
    staff = (p for p in r.people if p.code not in left)
    return {
        "people": tuple(
            dataclasses.replace(p, include=Include.MAY) if p.include is Include.MUST and p.code in trained else p
            for p in staff
        ),
        "duties": tuple(d for d in r.duties if d.person not in left and d.date >= first),
        "absences": tuple(a for a in r.absences if a.who not in left and a.last >= first),
        "relief": tuple(row for row in r.relief if row.person not in left and row.last >= first),
        "ledger": tuple(row for row in (*r.ledger, *ledger_of(done)) if row.person not in left),
    }


def ledger_of(done: Done) -> tuple[LedgerEntry, ...]:
    """Return what the round adds to the ledger: the best result of each person, role and date."""
    order = {result: place for place, result in enumerate(_IN_LEDGER)}
    best: dict[tuple[str, date], tuple[int, LedgerEntry]] = {}
    for seat in done.seats:
        if not seat.authorised or seat.result not in order or done.standing(seat.session) not in _TOOK_PLACE:
            continue
        day = done.sessions[seat.session].dates[0]
        entry = LedgerEntry(
            person=seat.person, role=seat.role, date=day, round=done.plan.round_name, result=seat.result.value
        )
        rank = order[seat.result]
        if (seat.person, day) not in best or rank < best[seat.person, day][0]:
            best[seat.person, day] = (rank, entry)
    return tuple(entry for _, entry in sorted(best.values(), key=lambda item: (item[1].date, item[1].person)))


_TOOK_PLACE = (Standing.HELD, Standing.PARTLY)


def _facility(done: Done, facility: Facility, first: date) -> Facility:
    """Return a facility for the next round; it moves up where a team was planned, or wanted, and none was trained."""
    none_trained = facility.teams_wanted and not any(t.trained for t in done.teams if t.facility == facility.code)
    return dataclasses.replace(
        facility,
        priority=min(HIGHEST_PRIORITY, facility.priority + bool(none_trained)),
        closed_days=from_on(facility.closed_days, first),
        course_days=from_on(facility.course_days, first),
    )


def _place(place: Place, first: date) -> Place:
    return dataclasses.replace(place, closed_days=from_on(place.closed_days, first))


def _without_person(trainer: Any, left: frozenset[str]) -> Any:
    """Return a trainer; one who has left the facility still trains, but is no staff any more."""
    return dataclasses.replace(trainer, person=None) if trainer.person in left else trainer


def _still_available(rows: Iterable[Any], first: date, lifted: list[str]) -> tuple[Any, ...]:
    """Return trainers or crews; dates of availability that are over are left open, and noted."""
    found = []
    for row in rows:
        if row.available_to is not None and row.available_to < first:
            lifted.append(row.code)
            row = dataclasses.replace(row, available_from=None, available_to=None)
        elif row.available_from is not None and row.available_from < first:
            row = dataclasses.replace(row, available_from=None)
        found.append(row)
    return tuple(found)
