"""Codes live on: what a new plan has in common with the one before it keeps the code that readers know it by."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterator, Mapping, Sequence
from dataclasses import replace

from roundplan.domain.plan import CrewDay, Plan, Session, Team, Trip

Coded = Session | Team | Trip


def with_codes_of(before: Plan, after: Plan, taken: Collection[str] = ()) -> Plan:
    """Return a plan in which sessions, teams and trips that were planned before have the codes that they had.

    Parameters
    ----------
    before : Plan
        The plan that readers were told last.
    after : Plan
        The new one; nothing but codes, and the numbers of a facility's teams among one another, is changed in it.
    taken : collection of str
        Codes that stood in plans before that one, which nothing else is given.

    Notes
    -----
    A session goes by venue and dates, then by one of the two and its code or crews; a team by its facility and most of
    the same people; a trip by crew and dates, then by crew and its first or last date or its code.
    """
    gone = {*taken, *codes_of(before)}
    sessions = _renamed(before.sessions, after.sessions, gone, _SESSION_KEYS)
    trips = _renamed(before.trips, after.trips, gone, _TRIP_KEYS)
    numbers = _numbered(before.teams, after.teams)
    numbered = tuple(replace(team, number=numbers[team.code]) for team in after.teams)
    teams = _renamed(before.teams, numbered, gone, _TEAM_KEYS)
    return _coded(replace(after, teams=numbered), sessions, teams, trips)


def codes_of(plan: Plan) -> Iterator[str]:
    """Yield the codes of a plan's sessions, teams and trips."""
    rows: tuple[Coded, ...] = (*plan.sessions, *plan.teams, *plan.trips)
    yield from (row.code for row in rows)


_SESSION_KEYS: Sequence[Callable[..., Hashable]] = (
    lambda s: (s.venue, s.dates, s.crews, s.days[0].start),
    lambda s: (s.venue, s.dates, s.crews),
    lambda s: (s.venue, s.dates),
    lambda s: (s.code, s.venue),
    lambda s: (s.code, s.dates),
    lambda s: (s.venue, s.crews),
    lambda s: (s.dates, s.crews),
)
_TEAM_KEYS: Sequence[Callable[..., Hashable]] = (lambda t: (t.facility, t.number),)
_TRIP_KEYS: Sequence[Callable[..., Hashable]] = (
    lambda t: (t.crew, tuple(day.date for day in t.days)),
    lambda t: (t.crew, t.days[0].date),
    lambda t: (t.crew, t.days[-1].date),
    lambda t: (t.crew, t.code),
)
"""What tells the same thing in two plans, the surest first."""


def _renamed(
    before: Sequence[Coded], after: Sequence[Coded], gone: Collection[str], keys: Sequence[Callable[..., Hashable]]
) -> dict[str, str]:
    """Return each code of the new plan with the one that it gets."""
    found: dict[str, str] = {}
    left = list(before)
    for key in keys:
        for row in after:
            same = None if row.code in found else next((old for old in left if key(old) == key(row)), None)
            if same is not None:
                found[row.code] = same.code
                left.remove(same)
    used = {*gone, *found.values()}
    for row in after:
        if row.code not in found:
            found[row.code] = row.code if row.code not in used else _next(row.code, used)
            used.add(found[row.code])
    return found


def _next(code: str, used: Collection[str]) -> str:
    """Return the first code of the same kind, letters and a number, beyond all that were ever given."""
    letters = code.rstrip("0123456789")
    numbers = (other.removeprefix(letters) for other in used if other.startswith(letters))
    last = max((int(number) for number in numbers if number.isdecimal()), default=0)
    return f"{letters}{last + 1:0{len(code) - len(letters)}d}"


def _numbered(before: Sequence[Team], after: Sequence[Team]) -> dict[str, int]:
    """Return the numbers of teams: those that a facility's new teams have, given so that they stay with the people."""
    numbers: dict[str, int] = {}
    for facility in dict.fromkeys(team.facility for team in after):
        now = sorted((team for team in after if team.facility == facility), key=lambda team: team.number)
        free = [team.number for team in now]
        pairs = [(_in_common(old, new), old, new) for old in before if old.facility == facility for new in now]
        for common, old, new in sorted(pairs, key=lambda pair: (-pair[0], pair[1].number, pair[2].number)):
            if common and new.code not in numbers and old.number in free:
                numbers[new.code] = old.number
                free.remove(old.number)
        rest = (team for team in now if team.code not in numbers)
        numbers |= {team.code: number for team, number in zip(rest, free, strict=True)}
    return numbers


def _in_common(old: Team, new: Team) -> int:
    """Return how many people two teams have in common; the session's dates break a tie."""
    people = {seat.person for seat in old.seats} & {seat.person for seat in new.seats}
    return 2 * len(people) + (old.dates == new.dates)


def _coded(plan: Plan, sessions: Mapping[str, str], teams: Mapping[str, str], trips: Mapping[str, str]) -> Plan:
    """Return a plan with other codes, wherever they stand in it."""

    def team_of(code: str | None) -> str | None:
        return None if code is None else teams.get(code, code)

    return replace(
        plan,
        sessions=tuple(
            replace(s, code=sessions[s.code], slots=tuple(replace(slot, team=team_of(slot.team)) for slot in s.slots))
            for s in plan.sessions
        ),
        teams=tuple(replace(t, code=teams[t.code], session=sessions[t.session]) for t in plan.teams),
        trips=tuple(replace(t, code=trips[t.code], days=_days(t, sessions)) for t in plan.trips),
        cover=tuple(replace(cover, team=team_of(cover.team)) for cover in plan.cover),
        costs=tuple(
            replace(
                cost,
                session=None if cost.session is None else sessions.get(cost.session, cost.session),
                trip=None if cost.trip is None else trips.get(cost.trip, cost.trip),
            )
            for cost in plan.costs
        ),
    )


def _days(trip: Trip, sessions: Mapping[str, str]) -> tuple[CrewDay, ...]:
    return tuple(replace(day, sessions=tuple(sessions.get(code, code) for code in day.sessions)) for day in trip.days)
