"""Why a facility can never release a team: too few people of a role, on one day or over a run of shifts."""

from __future__ import annotations

import math
from datetime import date

from roundplan.domain.role import MINIMUM_ROLES, Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.house import House
from roundplan.intake.prices import can_host
from roundplan.travel.network import RoadNetwork


def _holders(house: House, role: Role) -> int:
    return sum(role in person.roles or role in person.cover_roles for person in house.staff)


def _heads(count: int, role: str) -> str:
    return f"{count or 'no'} {role}" + ("" if count == 1 or role.endswith(("scrub", "care", "ing")) else "s")


def lacking_on_a_day(house: House, keep: tuple[Role, ...]) -> str:
    """Return which minimum role has too few people for a seat and the keep-team by day; empty if none has."""
    for role in MINIMUM_ROLES:
        needed, there = 1 + keep.count(role), _holders(house, role)
        if there < needed:
            return f"it has {_heads(there, role)}, and a team and its cover need {needed}"
    return ""


def lacking_in_run(house: House, training_round: TrainingRound, network: RoadNetwork, dates: tuple[date, ...]) -> str:
    """Return which minimum role has too few people for the shifts in a row that its nearest venue means.

    In any ``limit + 1`` shifts in a row each person is named at most ``limit`` times, so that k people fill at
    most k × limit places of the keep-team. Empty if no role is short or a venue is within the day limit.
    """
    venue, hours = _nearest_venue(house, training_round, network, dates[0])
    travel = training_round.settings.travel
    if venue is None or hours <= travel.day_limit:
        return ""
    if hours > travel.overnight_limit:
        return (
            f"its nearest venue, {venue}, is {hours:.1f} h away, past the limit of {travel.overnight_limit:g} h one way"
        )
    run, limit = 2 * training_round.settings.session.days_per_team + 3, training_round.cover_run(house.facility)
    if run <= limit:
        return ""
    by_day = training_round.keep_team(house.facility, Shift.DAY)
    by_night = training_round.keep_team(house.facility, Shift.NIGHT)
    for role in MINIMUM_ROLES:
        days, nights = math.ceil((limit + 1) / 2), (limit + 1) // 2
        cover = math.ceil((days * by_day.count(role) + nights * by_night.count(role)) / limit)
        there = _holders(house, role)
        if there < 1 + cover:
            return (
                f"its nearest venue, {venue}, is {hours:.1f} h away, so that an outing touches {run} shifts in a row, "
                f"and nobody covers more than {limit} in a row: it has {_heads(there, role)}, where one who goes "
                f"and {cover} who cover are needed"
            )
    return ""


def _nearest_venue(
    house: House, training_round: TrainingRound, network: RoadNetwork, day: date
) -> tuple[str | None, float]:
    """Return the venue that is quickest to reach and the hours one way; its own room counts."""
    hosts = [site.code for site in training_round.sites() if can_host(site)]
    ways = [(way.seconds, host) for host in hosts for way in network.ways(house.facility.code, host, day)[:1]]
    if not ways:
        return None, 0.0
    seconds, host = min(ways)
    return host, seconds / 3600
