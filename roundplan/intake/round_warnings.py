"""Warnings on dates, rooms, cases, names and stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from math import ceil

from roundplan.domain.role import SessionRoom
from roundplan.domain.saying import Dates, Saying, phrase, saying
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.finding import Finding, warning
from roundplan.intake.prices import can_host
from roundplan.intake.warning_places import WarningPlaces
from roundplan.travel.calendar import WorkingCalendar


def date_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on the calendar: estimated holidays, dates left after notice, time zone, country."""
    settings = training_round.settings
    calendar = WorkingCalendar(training_round)
    for day, name in calendar.estimated_holidays():
        said = saying("the holiday {holiday} on {date} is an estimate", holiday=name, date=day)
        remedy = saying("check the date nearer the time; closed_days can block the days around it")
        yield places.of_setting("estimated-holiday", "round.country", said, remedy)
    if not settings.round.country:
        said = saying("no country is given, so that no public holidays are known")
        yield places.of_setting("no-country", "round.country", said, saying("enter the country, or closed_days"))
    if not places.entered("round.time_zone"):
        said = saying("no time zone is given: sunrise and sunset are worked out in UTC")
        yield places.of_setting("no-time-zone", "round.time_zone", said, saying("enter it, such as Africa/Lusaka"))
    dates = calendar.session_dates()
    if not dates:
        said = saying("no date of the round can hold a session")
        yield places.of_setting("no-dates", "round.last_day", said, saying("check first_day, last_day and closed_days"))
        return
    for away in (True, False):
        notice = settings.teams.notice_off_site if away else settings.teams.notice_on_site
        left = [day for day in dates if day >= training_round.announce_date() + timedelta(days=notice)]
        said = _notice_words(training_round.announce_date(), notice, left, len(dates), away=away)
        few = saying("announce earlier, or move the round, if that is too few")
        column = "teams.notice_off_site" if away else "teams.notice_on_site"
        yield places.of_setting("dates-after-notice", column, said, None if len(left) == len(dates) else few)


def _notice_words(told: date, notice: int, left: Sequence[date], dates: int, *, away: bool) -> Saying:
    """Say how many session dates the notice leaves, away from home or at home, and which."""
    which = Dates(left) if left else phrase("none")
    facts = {"date": told, "days": notice, "left": len(left), "number": dates, "dates": which}
    if away:
        return saying(
            "told on {date}; days of notice: {days}; dates left for sessions away from home: {left} of {number} "
            "({dates})",
            **facts,
        )
    return saying(
        "told on {date}; days of notice: {days}; dates left for sessions at home: {left} of {number} ({dates})", **facts
    )


def session_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on the teaching day: short sessions of several dates, and a day too short for one team."""
    session = training_round.settings.session
    if session.short_sessions and session.days > 1:
        said = saying(
            "short sessions change nothing: every session lasts {days} dates, and only sessions of one date share a "
            "crew's date",
            days=session.days,
        )
        remedy = saying("set days = 1, or short_sessions = false")
        yield places.of_setting("no-short-session", "session.short_sessions", said, remedy)
    slots = ceil(session.simulations_per_team / session.days_per_team) + session.demonstrations
    needed = 60 * (session.opening + session.closing) + slots * session.slot_seconds
    pauses = sum(max(min(b, session.teach_to) - max(a, session.teach_from), 0) for a, b in session.pause)
    given = session.teach_to - session.teach_from - pauses
    if needed > given:
        said = saying(
            "a day with one team takes {needed} minutes, lunch left out; pauses left out, teach_from to teach_to "
            "leaves {given}: no session can be planned",
            needed=ceil(needed / 60), given=given // 60,
        )  # fmt: skip
        remedy = saying("shorten the parts of the session, or teach longer")
        yield places.of_setting("day-too-short", "session.teach_to", said, remedy)


def room_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on venues: none at all, only a theatre, room or contact not given."""
    hosts = [site for site in training_round.sites() if can_host(site)]
    if not hosts:
        said = saying("no facility and no place can host a station")
        yield places.at("no-venue", "facilities", "", "stations", said, saying("enter stations for at least one"))
    for site in hosts:
        table = "facilities" if training_round.is_facility(site.code) else "places"
        if not site.exposure_contact:
            said = saying("{who} has no contact for needle-sticks, which the run sheet needs", who=site.code)
            remedy = saying("enter whom to call there")
            yield places.at("no-contact", table, site.code, "exposure_contact", said, remedy)
    for facility in training_round.facilities:
        if facility.stations and facility.session_room is SessionRoom.ONLY_THEATRE:
            said = saying(
                "{who} would host in its only theatre, which must stay free: it hosts nothing", who=facility.code
            )
            remedy = saying("name a spare room or second theatre, or enter 0 stations")
            yield places.at("only-theatre", "facilities", facility.code, "session_room", said, remedy)
        elif facility.stations and facility.session_room is None:
            said = saying("{who} would host, and its session_room is not given", who=facility.code)
            remedy = saying("enter which room")
            yield places.at("room-unknown", "facilities", facility.code, "session_room", said, remedy)


def row_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on rows: cases without approval, names wanted, stock that expires, empty tables."""
    for case in training_round.cases:
        if not case.approved_by:
            said = saying("case {who} is not approved for use here", who=case.code)
            remedy = saying("ask the clinical lead, then enter approved_by and approved_on")
            yield places.at("not-approved", "cases", case.code, "approved_by", said, remedy)
    last_day = training_round.settings.round.last_day
    for item in training_round.items:
        if item.expiry is not None and item.expiry < last_day:
            said = saying("{who} expires on {date}, before the round ends", who=item.code, date=item.expiry)
            remedy = saying("do not count on it; order anew")
            yield places.at("expires", "supplies", item.code, "expiry", said, remedy)
    for facility in training_round.facilities:
        wanted = [p for p in training_round.staff_of(facility.code) if p.placeholder]
        if wanted:
            said = saying(
                "{who} has people without a name ({number}): the plan stays a draft",
                who=facility.code, number=len(wanted),
            )  # fmt: skip
            remedy = saying("enter their names in staff")
            yield places.at("names-wanted", "facilities", facility.code, "staff_counts", said, remedy)
        if facility.teams_wanted and not training_round.staff_of(facility.code):
            said = saying("{who} wants teams and has no staff", who=facility.code)
            yield places.at("no-staff", "facilities", facility.code, "teams_wanted", said, saying("enter its staff"))


def table_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on whole tables: nothing in them, codes that stand in two of them."""
    for table in ("trainers", "crews", "cases"):
        if not getattr(training_round, table):
            said = saying("has no rows, so that no session can be planned")
            yield warning("empty-table", table, None, "", said, saying("enter rows in the table"))
    trainers = {trainer.code: trainer for trainer in training_round.trainers}
    for person in training_round.people:
        if person.code in trainers and trainers[person.code].person != person.code:
            said = saying("{who} is a trainer's code too: absences of that code count for both", who=person.code)
            yield places.at("code-shared", "staff", person.code, "person", said, saying("use another code"))
