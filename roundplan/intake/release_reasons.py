"""Why a facility can never release a team: too few people of a role, on one day or over a run of shifts."""

from __future__ import annotations

import math
from datetime import date

from roundplan.domain.role import MINIMUM_ROLES, Role, Shift
from roundplan.domain.saying import Saying, saying
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.house import House
from roundplan.intake.prices import can_host
from roundplan.travel.network import RoadNetwork


def _holders(house: House, role: Role) -> int:
    return sum(role in person.roles or role in person.cover_roles for person in house.staff)


def lacking_on_a_day(house: House, keep: tuple[Role, ...]) -> Saying | None:
    """Say which minimum role has too few people for a seat and the keep-team by day; None if none has."""
    for role in MINIMUM_ROLES:
        needed, there = 1 + keep.count(role), _holders(house, role)
        if there < needed:
            return saying(
                "{who} can never release a team of its own: as {role} it has {there}, and a team and its cover need "
                "{needed}",
                who=house.facility.code, role=role, there=there, needed=needed,
            )  # fmt: skip
    return None


def lacking_in_run(
    house: House, training_round: TrainingRound, network: RoadNetwork, dates: tuple[date, ...]
) -> Saying | None:
    """Say which minimum role has too few people for the shifts in a row that its nearest venue means.

    In any ``limit + 1`` shifts in a row each person is named at most ``limit`` times, so that k people fill at
    most k × limit places of the keep-team. None if no role is short or a venue is within the day limit.
    """
    venue, hours = _nearest_venue(house, training_round, network, dates[0])
    travel = training_round.settings.travel
    who, away = house.facility.code, round(hours, 1)
    if venue is None or hours <= travel.day_limit:
        return None
    if hours > travel.overnight_limit:
        return saying(
            "{who} can never release a team of its own: its nearest venue, {venue}, is {hours} h away, past the limit "
            "of {limit} h one way",
            who=who, venue=venue, hours=away, limit=travel.overnight_limit,
        )  # fmt: skip
    run, limit = 2 * training_round.settings.session.days_per_team + 3, training_round.cover_run(house.facility)
    if run <= limit:
        return None
    by_day = training_round.keep_team(house.facility, Shift.DAY)
    by_night = training_round.keep_team(house.facility, Shift.NIGHT)
    for role in MINIMUM_ROLES:
        days, nights = math.ceil((limit + 1) / 2), (limit + 1) // 2
        cover = math.ceil((days * by_day.count(role) + nights * by_night.count(role)) / limit)
        there = _holders(house, role)
        if there < 1 + cover:
            return saying(
                "{who} can never release a team of its own: its nearest venue, {venue}, is {hours} h away, so that an "
                "outing touches {run} shifts in a row, and nobody covers more than {limit} in a row: as {role} it has "
                "{there}, where one who goes and {cover} who cover are needed",
                who=who, venue=venue, hours=away, run=run, limit=limit, role=role, there=there, cover=cover,
            )  # fmt: skip
    return None


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
