"""What the sheets of a session share: its title and who takes part."""

from __future__ import annotations

from collections.abc import Iterator

from roundplan.domain.plan import Seat, Session, Team
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import say
from roundplan.handouts.words import dates_words

SPARE_ROWS = 3
"""Empty rows for people who come in place of others (common practice, no source)."""


def title_of(index: PlanIndex, session: Session) -> str:
    """Say a session: venue and dates."""
    return say("{place}, {dates}", place=index.name(session.venue), dates=dates_words(session.dates))


def seats_of(index: PlanIndex, session: Session) -> Iterator[tuple[Team, Seat]]:
    """Yield the seats of a session's teams, by station and team."""
    for team in index.teams_of_session(session.code):
        for seat in team.seats:
            yield team, seat


def team_said(index: PlanIndex, team: Team) -> str:
    """Say a team by facility and number."""
    return say("{facility}, team {team}", facility=index.name(team.facility), team=team.number)


def trainers_of(index: PlanIndex, session: Session) -> tuple[str, ...]:
    """Return the trainers aboard the crews that teach a session, in the order of first coming."""
    return tuple(
        dict.fromkeys(
            aboard.trainer
            for trip in index.plan.trips
            for day in trip.days
            if session.code in day.sessions
            for aboard in day.aboard
        )
    )
