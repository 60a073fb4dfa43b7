"""Warnings on cover: dates without it whatever the plan does, facilities that can never release a team, rosters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role, Shift
from roundplan.domain.saying import Dates, Saying, phrase, saying
from roundplan.domain.training_round import TrainingRound
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
        lacking = list(dict.fromkeys(role for roles in open_roles.values() for role in roles))
        when = phrase("every date of the round") if len(open_roles) == len(window) else Dates(open_roles)
        facts = {"who": house.facility.code, "dates": when, "roles": lacking}
        if shift is Shift.DAY:
            said = saying(
                "{who} has no full keep-team by day on {dates}, even with everybody at home: nobody is left as "
                "{roles}, so it releases nobody then",
                **facts,
            )
        else:
            said = saying(
                "{who} has no full keep-team by night on {dates}, even with everybody at home: nobody is left as "
                "{roles}, so it releases nobody then",
                **facts,
            )
        column = "keep_team" if shift is Shift.DAY else "keep_team_night"
        remedy = saying("check roster and leave, lend staff, or correct the keep-team")
        yield places.at("no-cover", "facilities", house.facility.code, column, said, remedy)


def _no_roster(house: House, dates: tuple[date, ...], places: WarningPlaces) -> Iterator[Finding]:
    missing = {shift: [day for day in dates if not house.has_roster(day, shift)] for shift in Shift}
    if any(missing.values()):
        remedy = saying("enter the roster in duties; until then its seats are provisional")
        said = _roster_words(house.facility.code, missing[Shift.DAY], missing[Shift.NIGHT], len(dates))
        yield places.at("no-roster", "facilities", house.facility.code, "facility", said, remedy)


def _roster_words(who: str, days: Sequence[date], nights: Sequence[date], dates: int) -> Saying:
    """Say for which session dates no roster is known."""
    if len(days) == len(nights) == dates:
        return saying("{who} has no roster on any session date: all its staff are taken to be there", who=who)
    by_day = phrase("any session date") if len(days) == dates else Dates(days)
    by_night = phrase("any session date") if len(nights) == dates else Dates(nights)
    if not nights:
        return saying("{who} has no roster by day on {days}: all its staff are taken to be there", who=who, days=by_day)
    if not days:
        return saying(
            "{who} has no roster by night on {nights}: all its staff are taken to be there", who=who, nights=by_night
        )
    return saying(
        "{who} has no roster by day on {days} and by night on {nights}: all its staff are taken to be there",
        who=who, days=by_day, nights=by_night,
    )  # fmt: skip


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
    remedy = saying("a guest in the scarce seat, relief staff or a lighter keep-team would help")
    if not any(house.can_release(day, keep=keep) for day in dates):
        said = lacking_on_a_day(house, keep) or _by_dates(house, dates)
        yield places.at("never-releases", "facilities", facility.code, "usual_team", said, remedy)
        return
    in_run = lacking_in_run(house, training_round, network, dates)
    if in_run is not None:
        yield places.at("never-releases", "facilities", facility.code, "cover_run", in_run, remedy)


def _by_dates(house: House, dates: tuple[date, ...]) -> Saying:
    missing = [role for role in MINIMUM_ROLES if not any(role in p.roles for p in house.staff)]
    who = house.facility.code
    if missing:
        return saying(
            "{who} can never release a team of its own: nobody is authorised as {roles}", who=who, roles=missing
        )
    return saying(
        "{who} can never release a team of its own: on none of the {number} session dates do roster and leave allow a "
        "team and its cover at once",
        who=who, number=len(dates),
    )  # fmt: skip
