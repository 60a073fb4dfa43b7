"""Warnings on cover: dates without it whatever the plan does, facilities that can never release a team, rosters."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.domain.counts import counted
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.date_text import compact_dates
from roundplan.intake.finding import Finding
from roundplan.intake.house import House, houses
from roundplan.intake.release_reasons import lacking_in_run, lacking_on_a_day
from roundplan.intake.warning_places import WarningPlaces
from roundplan.travel.calendar import WorkingCalendar
from roundplan.travel.network import RoadNetwork


def cover_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield the warnings that need to know who is present when."""
    dates = WorkingCalendar(training_round).session_dates()
    network = RoadNetwork(training_round)
    for house in houses(training_round):
        yield from _short(house, training_round, places)
        if house.facility.teams_wanted and dates:
            yield from _no_roster(house, dates, places)
            yield from _never_releases(house, dates, training_round, network, places)


def _short(house: House, training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    window = list(training_round.settings.round.window)
    for shift in Shift:
        open_roles = {day: roles for day in window if (roles := house.unfilled(day, shift))}
        if not open_roles:
            continue
        lacking = ", ".join(dict.fromkeys(role for roles in open_roles.values() for role in roles))
        when = "on every date of the round" if len(open_roles) == len(window) else "on " + compact_dates(open_roles)
        words = (
            f"{house.facility.code} has no full keep-team by {shift} {when}, even with everybody at home: "
            f"nobody is left as {lacking}, so it releases nobody then"
        )
        column = "keep_team" if shift is Shift.DAY else "keep_team_night"
        remedy = "check roster and leave, lend staff, or correct the keep-team"
        yield places.at("no-cover", "facilities", house.facility.code, column, words, remedy)


def _no_roster(house: House, dates: tuple[date, ...], places: WarningPlaces) -> Iterator[Finding]:
    missing = {shift: [day for day in dates if not house.has_roster(day, shift)] for shift in Shift}
    parts = [
        f"by {shift} " + ("on any session date" if len(days) == len(dates) else "on " + compact_dates(days))
        for shift, days in missing.items()
        if days
    ]
    if parts:
        never = all(len(days) == len(dates) for days in missing.values())
        when = "on any session date" if never else " and ".join(parts)
        words = f"{house.facility.code} has no roster {when}: all its staff are taken to be there"
        remedy = "enter the roster in duties; until then its seats are provisional"
        yield places.at("no-roster", "facilities", house.facility.code, "facility", words, remedy)


def _never_releases(
    house: House,
    dates: tuple[date, ...],
    training_round: TrainingRound,
    network: RoadNetwork,
    places: WarningPlaces,
) -> Iterator[Finding]:
    facility = house.facility
    at_home = facility.stations > 0 and facility.on_site_cover is OnSiteCover.INTERRUPTIBLE
    minutes, most = facility.minutes_to_theatre, training_round.settings.cover.theatre_minutes
    counted_twice = at_home and minutes is not None and minutes <= most
    keep: tuple[Role, ...] = () if counted_twice else training_round.keep_team(facility, Shift.DAY)
    remedy = "a guest in the scarce seat, relief staff or a lighter keep-team would help"
    if not any(house.can_release(day, keep=keep) for day in dates):
        why = lacking_on_a_day(house, keep) or _by_dates(house, dates)
        words = f"{facility.code} can never release a team of its own: {why}"
        yield places.at("never-releases", "facilities", facility.code, "usual_team", words, remedy)
        return
    why = lacking_in_run(house, training_round, network, dates)
    if why:
        words = f"{facility.code} can never release a team of its own: {why}"
        yield places.at("never-releases", "facilities", facility.code, "cover_run", words, remedy)


def _by_dates(house: House, dates: tuple[date, ...]) -> str:
    missing = [role for role in MINIMUM_ROLES if not any(role in p.roles for p in house.staff)]
    if missing:
        return "nobody is authorised as " + ", ".join(missing)
    return (
        f"on none of the {counted(len(dates), 'session date')} do roster and leave allow a team and its cover at once"
    )
