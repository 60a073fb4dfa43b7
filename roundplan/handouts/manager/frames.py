"""A plan as pandas data frames, for analysts; round.xlsx is written from these."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pandas as pd

from roundplan.domain.clock import MINUTE, clock_text
from roundplan.domain.counts import plural
from roundplan.domain.plan import Drive, Plan
from roundplan.domain.rules import AIMS, RULE_SENTENCES, Aim
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.retelling import reason_words
from roundplan.handouts.terms import pause_word
from roundplan.handouts.words import arrival, clock
from roundplan.supplies.orders import order_lines

Row = dict[str, Any]

DATE_COLUMNS = frozenset({"date", "first_date", "last_date", "needed_by", "latest_order_date", "arrive_by"})
"""Columns that hold dates (``datetime64``); times of day are text, ``HH:MM``."""


def plan_frames(plan: Plan, training_round: TrainingRound) -> dict[str, pd.DataFrame]:
    """Return the plan's tables.

    Parameters
    ----------
    plan : Plan
        A plan.
    training_round : TrainingRound
        What it was made from.

    Returns
    -------
    dict of str to DataFrame
        ``sessions`` (a row a session and date), ``seats`` (a seat), ``slots``, ``cover`` (a named person and shift),
        ``legs`` (a crew's drive), ``journeys`` (a participants' drive), ``trainer_days``, ``supplies`` (an item),
        ``costs`` (a priced line), ``tiers``, ``left_out`` (a reason). Money is in units of the currency, lengths in
        km, durations in minutes. A frame without rows has its columns all the same.
    """
    index = PlanIndex(plan, training_round)
    return {name: _frame(columns, list(rows(index))) for name, (columns, rows) in _FRAMES.items()}


def _frame(columns: tuple[str, ...], rows: list[Row]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=list(columns))
    for column in DATE_COLUMNS & set(columns):
        frame[column] = pd.to_datetime(frame[column])
    return frame


def _sessions(index: PlanIndex) -> Iterator[Row]:
    for session in index.sessions_in_order:
        for day in session.days:
            teams = index.teams_of_session(session.code, day.date)
            yield {
                "session": session.code,
                "date": day.date,
                "venue": session.venue,
                "venue_name": index.name(session.venue),
                "start": clock_text(day.start),
                "end": clock_text(day.end),
                "pauses": "; ".join(
                    f"{pause_word(p.kind)} {clock_text(p.start)}–{clock_text(p.end)}" for p in day.pauses
                ),
                "stations": len(session.stations),
                "crews": "; ".join(session.crews),
                "teams": "; ".join(team.code for team in teams),
                "facilities": "; ".join(index.name(team.facility) for team in teams),
                "participants": sum(len(team.seats) for team in teams),
            }


def _seats(index: PlanIndex) -> Iterator[Row]:
    swaps = {(swap.person, swap.date): swap.shift.value for swap in index.plan.swaps}
    for team in index.teams_in_order:
        for seat in team.seats:
            swapped = [day for day in team.dates if (seat.person, day) in swaps]
            yield {
                "team": team.code,
                "facility": team.facility,
                "facility_name": index.name(team.facility),
                "district": index.training_round.facility(team.facility).district,
                "team_number": team.number,
                "session": team.session,
                "venue_name": index.venue_name(team),
                "station": team.station,
                "first_date": team.dates[0],
                "last_date": team.dates[-1],
                "role": seat.role.value,
                "person": seat.person,
                "name": index.name(seat.person),
                "home": index.home(seat.person),
                "guest": seat.guest,
                "on_site": index.on_site(team, seat.person),
                "standby": seat.standby,
                "standby_name": index.name(seat.standby) if seat.standby else None,
                "duties_to_swap": "; ".join(day.isoformat() for day in swapped),
                "provisional": seat.provisional,
            }


def _slots(index: PlanIndex) -> Iterator[Row]:
    for session in index.sessions_in_order:
        for slot in sorted(session.slots, key=lambda s: (s.date, s.station, s.start)):
            yield {
                "session": session.code,
                "date": slot.date,
                "station": slot.station,
                "slot": slot.number,
                "start": clock_text(slot.start),
                "end": clock_text(slot.end),
                "kind": slot.kind.value,
                "team": slot.team,
                "facility_name": index.name(index.teams[slot.team].facility) if slot.team else None,
                "case": slot.case,
                "case_name": index.name(slot.case) if slot.case else None,
                "director": index.name(slot.director) if slot.director else None,
                "observers": "; ".join(index.name(code) for code in slot.observers),
                "wall": slot.wall,
                "wall_end": slot.wall_end,
            }


def _cover(index: PlanIndex) -> Iterator[Row]:
    for facility in index.training_round.facilities:
        for cover in index.cover_at(facility.code):
            for role, person in cover.named:
                yield {
                    "facility": facility.code,
                    "facility_name": facility.name,
                    "date": cover.date,
                    "shift": cover.shift.value,
                    "kind": cover.kind.value,
                    "role": role.value,
                    "person": person,
                    "name": index.name(person),
                    "for_facility": cover.for_facility,
                    "while_team": cover.team,
                }


def _drive(index: PlanIndex, drive: Drive) -> Row:
    return {
        "date": drive.date,
        "start": drive.start,
        "start_name": index.name(drive.start),
        "end": drive.end,
        "end_name": index.name(drive.end),
        "depart": clock(drive.depart),
        "arrive": arrival(drive.arrive),
        "wheel_minutes": drive.drive_seconds / MINUTE,
        "break_minutes": drive.break_seconds / MINUTE,
        "km": drive.km,
        "source": drive.source,
        "factor": drive.factor,
        "via": "; ".join(drive.via),
    }


def _legs(index: PlanIndex) -> Iterator[Row]:
    for crew in index.crews_used():
        for trip in index.trips_of(crew):
            for day in trip.days:
                for leg in day.legs:
                    yield {"trip": trip.code, "crew": crew, "driver": leg.driver, **_drive(index, leg.drive)}


def _journeys(index: PlanIndex) -> Iterator[Row]:
    for team in index.teams_in_order:
        for outing in team.outings:
            for drive in outing.drives:
                people = "; ".join(index.name(person) for person in outing.people)
                yield {"team": team.code, "facility": outing.facility, **_drive(index, drive), "people": people}


def _trainer_days(index: PlanIndex) -> Iterator[Row]:
    for trainer in index.trainers_used():
        for trip, day, aboard in index.days_aboard(trainer):
            several = len(day.sessions) > 1
            leads = [
                f"{code}: {lead}" if several else lead
                for code in day.sessions
                for lead in index.leads_of(index.sessions[code], trainer)
            ]
            yield {
                "trainer": trainer,
                "name": index.name(trainer),
                "date": day.date,
                "crew": trip.crew,
                "trip": trip.code,
                "sessions": "; ".join(day.sessions),
                "leads": "; ".join(leads),
                "joins_at": index.name(aboard.joins_at) if aboard.joins_at else None,
                "leaves_at": index.name(aboard.leaves_at) if aboard.leaves_at else None,
                "night_at": index.name(day.night) if day.night and not aboard.leaves_at else None,
            }


def _supplies(index: PlanIndex) -> Iterator[Row]:
    for line in order_lines(index.plan, index.training_round):
        item = index.training_round.item(line.item)
        yield {
            "item": line.item,
            "name": item.name,
            "kind": item.kind.value,
            "unit": item.unit,
            "need": line.need,
            "spare": line.spare,
            "in_stock": line.in_stock,
            "due": line.due,
            "short": line.short,
            "packs": line.packs,
            "pack_size": line.pack_size,
            "amount": _money(index, line.amount),
            "supplier": line.supplier,
            "needed_by": line.needed_by,
            "latest_order_date": line.latest_order_date,
            "arrive_by": line.arrive_by,
            "too_late": line.too_late,
        }


def _costs(index: PlanIndex) -> Iterator[Row]:
    for entry in index.plan.costs:
        yield {
            "line": entry.line,
            "what": entry.what,
            "quantity": entry.quantity,
            "unit": entry.unit,
            "price": _money(index, entry.price),
            "amount": _money(index, entry.amount),
            "currency": index.training_round.settings.round.currency,
            "session": entry.session,
            "trip": entry.trip,
        }


def _money(index: PlanIndex, amount: int) -> float:
    return float(amount / 10**index.training_round.settings.round.currency_digits)


def _tiers(index: PlanIndex) -> Iterator[Row]:
    definitions = {definition.aim: definition for definition in AIMS}
    for order, tier in enumerate(index.plan.tiers, 1):
        definition, cost = definitions[tier.aim], tier.aim is Aim.COST
        value, bound = (_money(index, v) if cost and v is not None else v for v in (tier.value, tier.bound))
        yield {
            "tier": order,
            "aim": tier.aim.value,
            "sentence": definition.sentence,
            "better_is": "more" if definition.maximise else "less",
            "value": value,
            "bound": bound,
            "gap": tier.gap,
            "status": tier.status.value,
            "unit": index.training_round.settings.round.currency if cost else plural(definition.unit),
        }


def _left_out(index: PlanIndex) -> Iterator[Row]:
    for reason in index.plan.reasons:
        yield {
            "who": reason.who,
            "name": index.name(reason.who),
            "team_number": reason.team_number,
            "rule": reason.rule.value if reason.rule else None,
            "why": reason_words(reason),
            "what_the_rule_says": RULE_SENTENCES[reason.rule] if reason.rule else None,
        }


_DRIVE = (
    "date", "start", "start_name", "end", "end_name", "depart", "arrive", "wheel_minutes", "break_minutes", "km",
    "source", "factor", "via",
)  # fmt: skip

_FRAMES: dict[str, tuple[tuple[str, ...], Callable[[PlanIndex], Iterator[Row]]]] = {
    "sessions": (
        ("session", "date", "venue", "venue_name", "start", "end", "pauses", "stations", "crews", "teams",
         "facilities", "participants"),
        _sessions,
    ),
    "seats": (
        ("team", "facility", "facility_name", "district", "team_number", "session", "venue_name", "station",
         "first_date", "last_date", "role", "person", "name", "home", "guest", "on_site", "standby", "standby_name",
         "duties_to_swap", "provisional"),
        _seats,
    ),
    "slots": (
        ("session", "date", "station", "slot", "start", "end", "kind", "team", "facility_name", "case", "case_name",
         "director", "observers", "wall", "wall_end"),
        _slots,
    ),
    "cover": (
        ("facility", "facility_name", "date", "shift", "kind", "role", "person", "name", "for_facility",
         "while_team"),
        _cover,
    ),
    "legs": (("trip", "crew", "driver", *_DRIVE), _legs),
    "journeys": (("team", "facility", *_DRIVE, "people"), _journeys),
    "trainer_days": (
        ("trainer", "name", "date", "crew", "trip", "sessions", "leads", "joins_at", "leaves_at", "night_at"),
        _trainer_days,
    ),
    "supplies": (
        ("item", "name", "kind", "unit", "need", "spare", "in_stock", "due", "short", "packs", "pack_size", "amount",
         "supplier", "latest_order_date", "arrive_by", "needed_by", "too_late"),
        _supplies,
    ),
    "costs": (
        ("line", "what", "quantity", "unit", "price", "amount", "currency", "session", "trip"),
        _costs,
    ),
    "tiers": (
        ("tier", "aim", "sentence", "better_is", "value", "bound", "gap", "status", "unit"),
        _tiers,
    ),
    "left_out": (("who", "name", "team_number", "rule", "why", "what_the_rule_says"), _left_out),
}  # fmt: skip
