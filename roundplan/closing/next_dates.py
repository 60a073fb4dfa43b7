"""Dates of the next round, and what of dated tables and settings still speaks of it."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

from roundplan.domain.dates import DaySet
from roundplan.domain.settings import RoundSettings
from roundplan.domain.training_round import TrainingRound, add_months

_YEAR = 12  # months


def first_date(training_round: TrainingRound, last_held: date, today: date) -> date:
    """Return the first date of the next round: when everybody may train again, on the weekday of this one's first.

    Parameters
    ----------
    last_held : date
        Last date of this round's sessions.
    today : date
        A round that is closed late begins when there is time to announce the next one.
    """
    settings = training_round.settings
    notice = max(settings.teams.notice_off_site, settings.teams.notice_on_site)
    free = max(add_months(last_held, settings.teams.refresher_months), today + timedelta(days=notice))
    return free + timedelta(days=(settings.round.first_day.weekday() - free.weekday()) % 7)


def next_settings(settings: RoundSettings, first: date, today: date, name: str) -> RoundSettings:
    """Return ``[round]`` of the next round: as long as this one, announced and purged as far from its first date.

    Parameters
    ----------
    first : date
        First date of the next round.
    today : date
        The plan date is left to the day of planning; announcing is never before today.
    name : str
        Name of the next round.
    """
    moved = first - settings.first_day
    announce = max(settings.announce_on + moved, today) if settings.announce_on is not None else None
    wet_from, wet_to = settings.wet_from, settings.wet_to
    while wet_from is not None and wet_to is not None and wet_to < first:
        wet_from, wet_to = add_months(wet_from, _YEAR), add_months(wet_to, _YEAR)
    return dataclasses.replace(
        settings,
        name=name,
        first_day=first,
        last_day=settings.last_day + moved,
        plan_date=None,
        announce_on=announce,
        purge_on=settings.purge_on + moved if settings.purge_on is not None else None,
        closed_days=from_on(settings.closed_days, first),
        wet_from=wet_from,
        wet_to=wet_to,
    )


def from_on(days: DaySet, first: date) -> DaySet:
    """Return a set of dates without those before a date; weekdays stay."""
    return DaySet(
        days.weekdays,
        frozenset(day for day in days.dates if day >= first),
        tuple(stretch for stretch in days.stretches if stretch[1] >= first),
    )
