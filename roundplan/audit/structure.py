"""Whether a plan hangs together: every code known, every date and time possible, nothing twice.

What does not hang together is reported under the nearest rule and left out, so that the rules can be
checked on the rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from roundplan.audit.breach import Breach
from roundplan.audit.structure_sessions import sound_cover, sound_sessions, sound_teams
from roundplan.audit.suspicion import Suspicion
from roundplan.domain.plan import CrewDay, Leg, Load, Plan, Session, Trip
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound


def sound_part(plan: Plan, training_round: TrainingRound) -> tuple[Plan, tuple[Breach, ...]]:
    """Return the part of a plan that hangs together, and a breach for all that does not."""
    suspicion = Suspicion(training_round)
    sessions = sound_sessions(plan, suspicion)
    teams = sound_teams(plan, sessions, suspicion)
    trips = _trips(plan, sessions, suspicion)
    cover = sound_cover(plan, teams, suspicion)
    kept = replace(plan, sessions=sessions, teams=teams, trips=trips, cover=cover)
    return kept, tuple(suspicion.found)


def _trips(plan: Plan, sessions: tuple[Session, ...], suspicion: Suspicion) -> tuple[Trip, ...]:
    rule = Rule.CREW_IN_ONE_PLACE
    by_code = {session.code: session for session in sessions}
    kept = []
    for trip in suspicion.once(plan.trips, lambda t: t.code, rule, "the plan, trips,"):
        if not suspicion.known(trip.crew, suspicion.crews, rule, "the crew", trip.code):
            continue
        days = [day for day in trip.days if suspicion.possible_date(day.date, rule, trip.code)]
        once = suspicion.once(days, lambda d: d.date, rule, trip.code)
        ordered = suspicion.in_order(once, lambda d: d.date, rule, trip.code)
        if not ordered:
            suspicion.say(rule, f"{trip.code} has no date")
            continue
        kept.append(
            replace(
                trip,
                days=tuple(_day(trip, day, by_code, suspicion) for day in ordered),
                loads=tuple(_loads(trip, suspicion)),
            )
        )
    return tuple(kept)


def _day(trip: Trip, day: CrewDay, sessions: dict[str, Session], suspicion: Suspicion) -> CrewDay:
    rule = Rule.CREW_IN_ONE_PLACE
    where = f"{trip.code} on {day.date.isoformat()}"
    taught = []
    for code in suspicion.once(day.sessions, lambda c: c, rule, where):
        session = sessions.get(code)
        if session is None or day.date not in session.dates or trip.crew not in session.crews:
            suspicion.say(rule, f"{where} teaches {code}, which is no session of that crew and date")
        else:
            taught.append(code)
    night = day.night
    if night is not None and not suspicion.known(night, suspicion.sites, rule, "the lodging", where):
        night = None
    aboard = []
    for entry in suspicion.once(day.aboard, lambda a: a.trainer, Rule.TRAINER_LIMITS, where):
        ends = (entry.joins_at, entry.leaves_at)
        if suspicion.known(entry.trainer, suspicion.trainers, Rule.TRAINER_LIMITS, "the trainer", where) and all(
            site is None or suspicion.known(site, suspicion.sites, Rule.TRAINER_LIMITS, "the place", where)
            for site in ends
        ):
            aboard.append(entry)
    legs = tuple(_legs(day, where, suspicion))
    return replace(day, legs=legs, sessions=tuple(taught), night=night, aboard=tuple(aboard))


def _legs(day: CrewDay, where: str, suspicion: Suspicion) -> Iterator[Leg]:
    rule = Rule.CREW_IN_ONE_PLACE
    for leg in day.legs:
        drive = suspicion.drive(leg.drive, rule, where)
        if drive is None:
            continue
        if drive.date != day.date:
            suspicion.say(rule, f"{where} has a leg dated {drive.date.isoformat()}", drive.start, day.date)
            drive = replace(drive, date=day.date)
        yield replace(leg, drive=drive)


def _loads(trip: Trip, suspicion: Suspicion) -> Iterator[Load]:
    rule = Rule.KIT_ENOUGH
    for load in trip.loads:
        where = f"{trip.code}, load of {load.item},"
        if not math.isfinite(load.quantity) or load.quantity < 0:
            suspicion.say(rule, f"{where} is {load.quantity} units")
        elif (
            suspicion.known(load.item, suspicion.items, rule, "the item", where)
            and suspicion.known(load.place, suspicion.sites, rule, "the place", where)
            and suspicion.possible_date(load.date, rule, where)
        ):
            yield load
