"""Every hard rule with the function that checks it, in the order of the rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach
from roundplan.audit.cover import cover_kept, cover_run, roster_known
from roundplan.audit.cover_elsewhere import cover_on_site, cover_referral
from roundplan.audit.crews import crew_in_one_place
from roundplan.audit.figures import figures
from roundplan.audit.kit import kit_enough
from roundplan.audit.legs import leg_feasible
from roundplan.audit.load import vehicle_load
from roundplan.audit.locks import locks
from roundplan.audit.money import budget_cap
from roundplan.audit.outings import participant_travel
from roundplan.audit.people import include, notice, once_only, staff_available
from roundplan.audit.roads import daylight, road_open
from roundplan.audit.sessions import theatre_free, venue_capacity, venue_open
from roundplan.audit.slots import simulations_per_team, slot_order
from roundplan.audit.staffing import crew_staffed
from roundplan.audit.structure import sound_part
from roundplan.audit.teams import guest_limit, seat_authorised, team_minimum, team_mirrors_home
from roundplan.audit.timetable import day_fits
from roundplan.audit.trainers import trainer_limits
from roundplan.domain.plan import Plan
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound

CHECKS: dict[Rule, Callable[[Book], Iterator[Breach]]] = {
    Rule.TEAM_MINIMUM: team_minimum,
    Rule.SEAT_AUTHORISED: seat_authorised,
    Rule.TEAM_MIRRORS_HOME: team_mirrors_home,
    Rule.GUEST_LIMIT: guest_limit,
    Rule.ONCE_ONLY: once_only,
    Rule.INCLUDE: include,
    Rule.STAFF_AVAILABLE: staff_available,
    Rule.NOTICE: notice,
    Rule.COVER_KEPT: cover_kept,
    Rule.COVER_ON_SITE: cover_on_site,
    Rule.COVER_RUN: cover_run,
    Rule.COVER_REFERRAL: cover_referral,
    Rule.ROSTER_KNOWN: roster_known,
    Rule.VENUE_CAPACITY: venue_capacity,
    Rule.VENUE_OPEN: venue_open,
    Rule.THEATRE_FREE: theatre_free,
    Rule.DAY_FITS: day_fits,
    Rule.SLOT_ORDER: slot_order,
    Rule.SIMULATIONS_PER_TEAM: simulations_per_team,
    Rule.CREW_STAFFED: crew_staffed,
    Rule.DAYLIGHT: daylight,
    Rule.PARTICIPANT_TRAVEL: participant_travel,
    Rule.CREW_IN_ONE_PLACE: crew_in_one_place,
    Rule.LEG_FEASIBLE: leg_feasible,
    Rule.ROAD_OPEN: road_open,
    Rule.TRAINER_LIMITS: trainer_limits,
    Rule.VEHICLE_LOAD: vehicle_load,
    Rule.KIT_ENOUGH: kit_enough,
    Rule.BUDGET_CAP: budget_cap,
    Rule.LOCKS: locks,
}
"""One function a rule; the order is that of the rules."""


def audit_plan(plan: Plan, training_round: TrainingRound) -> tuple[Breach, ...]:
    """Re-check every hard rule and every listed figure from the plan and its inputs alone.

    Returns
    -------
    tuple of Breach
        What does not hang together first, then by rule, then figures; empty for a plan that is sound.
    """
    kept, found = sound_part(plan, training_round)
    book = Book(kept, training_round)
    breaches = [*found, *(breach for check in CHECKS.values() for breach in check(book)), *figures(book)]
    return tuple(dict.fromkeys(breaches))
