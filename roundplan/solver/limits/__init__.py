"""The hard rules as constraints, one function each, called in one order."""

from __future__ import annotations

from collections.abc import Callable

from roundplan.solver.choices import Choices
from roundplan.solver.limits import (
    away,
    cover,
    cover_run,
    guests,
    kit,
    locks,
    people,
    roads,
    sessions,
    shared_days,
    trainers,
)
from roundplan.solver.parts import Scope

LIMITS: tuple[Callable[[Choices], None], ...] = (
    away.make_flags,
    sessions.venue_sessions,
    sessions.teaching_day,
    shared_days.session_clocks,
    sessions.teams_need_session,
    sessions.station_days,
    sessions.room_limits,
    sessions.people_arrive_and_leave,
    people.seats_filled,
    people.seats_at_home,
    guests.guests_fit,
    people.once_only,
    people.must_and_teams,
    people.district_floor,
    away.away_and_touched,
    people.travel_dates_free,
    cover.cover_kept,
    cover.cover_on_site,
    cover.guests_at_home,
    cover.cover_referral,
    cover_run.cover_run,
    cover_run.runs_need_people,
    cover.thin_services,
    roads.unbroken_path,
    shared_days.route,
    roads.wheel_hours,
    shared_days.wheel_hours,
    roads.clock_of_the_day,
    shared_days.clock_of_the_day,
    shared_days.time_of_the_day,
    sessions.teams_by_roads,
    roads.weekends,
    roads.vehicle_seats,
    trainers.one_crew_at_a_time,
    trainers.leads_held,
    shared_days.leads_held,
    trainers.languages_spoken,
    trainers.join_and_leave,
    trainers.nights_and_days_in_a_row,
    roads.beds,
    kit.count_sessions,
    kit.vehicle_load,
    kit.stock_suffices,
    locks.locks,
)


OUTER_LIMITS = frozenset(
    {
        away.make_flags,
        sessions.venue_sessions,
        sessions.teams_need_session,
        sessions.station_days,
        people.seats_filled,
        people.seats_at_home,
        guests.guests_fit,
        people.once_only,
        people.must_and_teams,
        people.district_floor,
        away.away_and_touched,
        cover.cover_kept,
        cover.cover_on_site,
        cover.guests_at_home,
        cover.cover_referral,
        cover_run.runs_need_people,
        sessions.teams_by_roads,
        sessions.room_limits,
        people.travel_dates_free,
        trainers.join_and_leave,
        roads.unbroken_path,
        shared_days.route,
        roads.wheel_hours,
        shared_days.wheel_hours,
        shared_days.time_of_the_day,
        trainers.one_crew_at_a_time,
        trainers.leads_held,
        shared_days.leads_held,
        trainers.languages_spoken,
        locks.locks,
    }
)
"""The limits of the relaxation; any subset gives a valid bound."""

STAFF_LIMITS = frozenset(
    {
        away.make_flags,
        people.seats_filled,
        people.seats_at_home,
        guests.guests_fit,
        people.once_only,
        away.away_and_touched,
        people.travel_dates_free,
        cover.cover_kept,
        cover.cover_referral,
        cover_run.cover_run,
        cover_run.runs_need_people,
    }
)
"""The limits that say what facilities can release, whatever crews do."""


SOME_LIMITS = {Scope.OUTER: OUTER_LIMITS, Scope.STAFF: STAFF_LIMITS}


def add_limits(choices: Choices) -> None:
    """Add every hard rule that is in force, or those of the relaxation."""
    for limit in LIMITS:
        if choices.scope is Scope.WHOLE or limit in SOME_LIMITS[choices.scope]:
            limit(choices)
