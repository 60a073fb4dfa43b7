"""What became of each session, a line each, for whoever takes the forms in."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from roundplan.closing.done import Done, Standing
from roundplan.domain.counts import counted
from roundplan.domain.held import Came, Result


def told(done: Done, today: date, asked: Collection[str] = ()) -> Iterator[str]:
    """Yield a line a session, and below it what is not said or not as planned.

    Parameters
    ----------
    asked : collection of str
        Keys of the sessions to tell of, beside those of which no form came back; none = all.
    """
    for key, session in done.sessions.items():
        if (
            asked
            and key not in asked
            and (done.standing(key) is not Standing.NOT_REPORTED or session.dates[-1] >= today)
        ):
            continue
        name = f"{done.training_round.name_of(session.venue)} {session.dates[0].isoformat()}"
        standing = done.standing(key)
        if standing is Standing.NOT_REPORTED:
            yield f"{name}: {'no form came back' if session.dates[-1] < today else 'to come'}"
            continue
        causes = ", ".join(cause.value if cause else "cause not said" for cause in done.causes(key))
        yield f"{name}: {standing.value}{f' ({causes})' if causes else ''}; {_numbers(done, key)}"
        yield from (f"  {line}" for line in _remarkable(done, key))


def _numbers(done: Done, key: str) -> str:
    teams = [team for team in done.teams if team.session == key]
    trained = sum(team.trained for team in teams)
    people = sum(seat.result is Result.TRAINED for seat in done.seats if seat.session == key)
    wanted = sum(team.wanted for team in teams)
    ran = f"{done.simulations(key)} of {counted(wanted, 'simulation')} run"
    return f"{ran}, {trained} of {counted(len(teams), 'team')} and {counted(people, 'person')} trained"


def _remarkable(done: Done, key: str) -> Iterator[str]:
    r = done.training_round
    if done.standing(key) is Standing.CANCELLED:
        return
    for day, held in done.dates_held(key).items():
        if held is Came.PARTLY and not any(run.slot.date == day for run in done.runs[key]):
            yield f"{day.isoformat()} was held in part, but no simulation is said to have been run"
    for team in done.teams:
        if team.session == key and not team.trained:
            yield f"team {team.key}: {team.run} of {team.wanted} run, {team.complete} with the minimum complete"
    for seat in done.seats:
        if seat.session == key and seat.result is not Result.TRAINED:
            why = f" ({seat.why.value})" if seat.why else ""
            yield f"{r.name_of(seat.person)}, {seat.role.value}: {seat.result.value}{why}"
        elif seat.session == key and not seat.expected:
            yield f"{r.name_of(seat.person)}, {seat.role.value}: trained, came though not expected"
