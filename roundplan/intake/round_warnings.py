"""Warnings on dates, rooms, cases, names and stock."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from math import ceil

from roundplan.domain.counts import counted
from roundplan.domain.role import SessionRoom
from roundplan.domain.training_round import TrainingRound
from roundplan.intake.date_text import compact_dates, day_text
from roundplan.intake.finding import Finding
from roundplan.intake.prices import can_host
from roundplan.intake.warning_places import WarningPlaces
from roundplan.travel.calendar import WorkingCalendar


def date_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on the calendar: estimated holidays, dates left after notice, time zone, country."""
    settings = training_round.settings
    calendar = WorkingCalendar(training_round)
    for day, name in calendar.estimated_holidays():
        words = f"the holiday {name} on {day_text(day)} is an estimate"
        remedy = "check the date nearer the time; closed_days can block the days around it"
        yield places.of_setting("estimated-holiday", "round.country", words, remedy)
    if not settings.round.country:
        words = "no country is given, so that no public holidays are known"
        yield places.of_setting("no-country", "round.country", words, "enter the country, or closed_days")
    if not places.entered("round.time_zone"):
        words = "no time zone is given: sunrise and sunset are worked out in UTC"
        yield places.of_setting("no-time-zone", "round.time_zone", words, "enter it, such as Africa/Lusaka")
    dates = calendar.session_dates()
    if not dates:
        words = "no date of the round can hold a session"
        yield places.of_setting("no-dates", "round.last_day", words, "check first_day, last_day and closed_days")
        return
    told = training_round.announce_date()
    for where, days in (("away from home", settings.teams.notice_off_site), ("at home", settings.teams.notice_on_site)):
        left = [day for day in dates if day >= told + timedelta(days=days)]
        words = f"told on {day_text(told)}, with {counted(days, 'day')} of notice: sessions {where} have "
        words += f"{len(left)} of {counted(len(dates), 'date')} left" + (f": {compact_dates(left)}" if left else "")
        remedy = "" if len(left) == len(dates) else "announce earlier, or move the round, if that is too few"
        column = "teams.notice_off_site" if where.startswith("away") else "teams.notice_on_site"
        yield places.of_setting("dates-after-notice", column, words, remedy)


def session_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on the teaching day: short sessions of several dates, and a day too short for one team."""
    session = training_round.settings.session
    if session.short_sessions and session.days > 1:
        words = f"short sessions change nothing: every session lasts {session.days} dates, and only sessions of one"
        yield places.of_setting("no-short-session", "session.short_sessions", f"{words} date share a crew's date",
                                "set days = 1, or short_sessions = false")  # fmt: skip
    slots = ceil(session.simulations_per_team / session.days_per_team) + session.demonstrations
    needed = 60 * (session.opening + session.closing) + slots * session.slot_seconds
    pauses = sum(max(min(b, session.teach_to) - max(a, session.teach_from), 0) for a, b in session.pause)
    given = session.teach_to - session.teach_from - pauses
    if needed > given:
        words = f"a day with one team takes {counted(ceil(needed / 60), 'minute')}, lunch left out; pauses left out,"
        words += f" teach_from to teach_to leaves {given // 60}: no session can be planned"
        remedy = "shorten the parts of the session, or teach longer"
        yield places.of_setting("day-too-short", "session.teach_to", words, remedy)


def room_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on venues: none at all, only a theatre, room or contact not given."""
    hosts = [site for site in training_round.sites() if can_host(site)]
    if not hosts:
        words = "no facility and no place can host a station"
        yield places.at("no-venue", "facilities", "", "stations", words, "enter stations for at least one")
    for site in hosts:
        table = "facilities" if training_round.is_facility(site.code) else "places"
        if not site.exposure_contact:
            words = f"{site.code} has no contact for needle-sticks, which the run sheet needs"
            yield places.at("no-contact", table, site.code, "exposure_contact", words, "enter whom to call there")
    for facility in training_round.facilities:
        if facility.stations and facility.session_room is SessionRoom.ONLY_THEATRE:
            words = f"{facility.code} would host in its only theatre, which must stay free: it hosts nothing"
            remedy = "name a spare room or second theatre, or enter 0 stations"
            yield places.at("only-theatre", "facilities", facility.code, "session_room", words, remedy)
        elif facility.stations and facility.session_room is None:
            words = f"{facility.code} would host, and its session_room is not given"
            yield places.at("room-unknown", "facilities", facility.code, "session_room", words, "enter which room")


def row_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on rows: cases without approval, names wanted, stock that expires, empty tables."""
    for case in training_round.cases:
        if not case.approved_by:
            words = f"case {case.code} is not approved for use here"
            remedy = "ask the clinical lead, then enter approved_by and approved_on"
            yield places.at("not-approved", "cases", case.code, "approved_by", words, remedy)
    last_day = training_round.settings.round.last_day
    for item in training_round.items:
        if item.expiry is not None and item.expiry < last_day:
            words = f"{item.code} expires on {day_text(item.expiry)}, before the round ends"
            yield places.at("expires", "supplies", item.code, "expiry", words, "do not count on it; order anew")
    for facility in training_round.facilities:
        wanted = [p for p in training_round.staff_of(facility.code) if p.placeholder]
        if wanted:
            words = f"{facility.code} has {counted(len(wanted), 'person')} without a name: the plan stays a draft"
            remedy = "enter their names in staff"
            yield places.at("names-wanted", "facilities", facility.code, "staff_counts", words, remedy)
        if facility.teams_wanted and not training_round.staff_of(facility.code):
            words = f"{facility.code} wants teams and has no staff"
            yield places.at("no-staff", "facilities", facility.code, "teams_wanted", words, "enter its staff")


def table_warnings(training_round: TrainingRound, places: WarningPlaces) -> Iterator[Finding]:
    """Yield warnings on whole tables: nothing in them, codes that stand in two of them."""
    for table in ("trainers", "crews", "cases"):
        if not getattr(training_round, table):
            words = "has no rows, so that no session can be planned"
            yield Finding(code="empty-table", file=table, words=words, remedy=f"enter the {table}")
    trainers = {trainer.code: trainer for trainer in training_round.trainers}
    for person in training_round.people:
        if person.code in trainers and trainers[person.code].person != person.code:
            words = f"{person.code} is a trainer's code too: absences of that code count for both"
            yield places.at("code-shared", "staff", person.code, "person", words, "use another code")
