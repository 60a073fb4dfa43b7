"""Trainers aboard a trip, and where each joins and leaves it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from roundplan.domain.crew import Crew
from roundplan.domain.plan import Aboard
from roundplan.solver.facts import ONE_DAY, Facts
from roundplan.solver.outline import CrewDayOutline


def aboard_by_date(days: Sequence[CrewDayOutline], crew: Crew, facts: Facts) -> dict[date, tuple[Aboard, ...]]:
    """Return who is aboard on each date of a trip; each stretch of dates begins and ends at a place."""
    return {day.date: tuple(_entry(code, day, days, crew, facts) for code in sorted(day.aboard)) for day in days}


def _entry(trainer: str, day: CrewDayOutline, days: Sequence[CrewDayOutline], crew: Crew, facts: Facts) -> Aboard:
    with_crew = {d.date for d in days if trainer in d.aboard}
    at_home = {d.date for d in days if trainer in d.home_for_the_night}
    before, after = day.date - ONE_DAY, day.date + ONE_DAY
    morning = next((d.night for d in days if d.date == before), crew.base)
    venues = [venue for venue, _ in day.sessions]
    joins = _meeting_point(trainer, (morning, *venues[:1]), crew, facts)
    leaves = _meeting_point(trainer, (*venues[-1:], day.night), crew, facts)
    return Aboard(
        trainer=trainer,
        joins_at=joins if before not in with_crew or before in at_home else None,
        leaves_at=leaves if after not in with_crew or day.date in at_home else None,
    )


def _meeting_point(trainer: str, passed: Sequence[str], crew: Crew, facts: Facts) -> str:
    """Return where the trainer lives if the crew passes near it; else the base."""
    lives_at = facts.round.trainer(trainer).lives_at
    return lives_at if any(facts.near_sites(lives_at, site) for site in passed) else crew.base
