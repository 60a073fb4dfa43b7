"""What a plan changes in an announced one: coverage lost, and penalty points for what people have been told.

Coverage lost. A facility loses what it had been announced and has no more: its first team counts its weight, its k-th
team the points that a k-th team adds, a person whom the manager named (``must``) one. What one facility gains never
makes up for what another loses. In one figure a point of first teams outweighs all people lost, a person all further
teams, as in the order of the tiers.

Points. Teams of a facility are told apart by what they were announced as: each team that the plan has is taken for one
announced team, so that the points of all are least (of equal ways the first in the order of codes). For a team kept:

* **person** 3 for each announced seat whose holder has no seat in that role of the team any more, and 3 for each seat
  more in a role than were announced;
* **day** 2 for each announced seat if the team attends other dates;
* **venue** 2 for each announced seat if it attends at another place;
* **crew or trainer** 1 for each crew of its announced session that does not hold the session it attends now, and 1
  for each trainer who was announced for all its dates there and is not there on all its dates now.

All points of a team count × 3 if it was announced for a date at most 7 days from today, else × 2 if at most 28; those
of a seat × 3 more if its holder had confirmed it and was released. A team that is lost has no points: it is counted as
lost. Times of day, standbys, cover, drives and who leads what are no points.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from roundplan.domain.least_cost import assigned
from roundplan.domain.plan import Plan, Team
from roundplan.domain.role import Include, Role
from roundplan.domain.training_round import TrainingRound

PERSON, DAY, VENUE, STAFF = 3, 2, 2, 1
"""Points of a change: another person, another day, another venue, another crew or trainer."""
SOON, LATER = 7, 28
"""Days from today up to which points count three times, and twice."""
RELEASED = 3
"""How many times the points of a seat count whose holder had confirmed it and was released."""


@dataclass(frozen=True, slots=True, order=True)
class SeatRef:
    """A seat of the announced plan."""

    team: str
    person: str
    role: Role


@dataclass(frozen=True, slots=True)
class LostTeam:
    """A team that a facility had been announced and has no more.

    Attributes
    ----------
    number : int
        Which team of the facility it is, counted from 1: with two of three left it is the third.
    points : int
        What it adds to its tier.
    """

    facility: str
    number: int
    points: int


@dataclass(frozen=True, slots=True)
class Moved:
    """What has changed for one team.

    Attributes
    ----------
    team, becomes : str
        Its code in the announced plan and in this one.
    left, joined : tuple of (Role, str)
        Who no longer sits in it, and who newly does.
    dates, venue : pair or None
        Before and now, where another.
    staff_left : tuple of str
        Codes of crews and trainers no longer there.
    points : int
        Penalty points, all factors in.
    """

    team: str
    becomes: str
    facility: str
    left: tuple[tuple[Role, str], ...] = ()
    joined: tuple[tuple[Role, str], ...] = ()
    dates: tuple[tuple[date, ...], tuple[date, ...]] | None = None
    venue: tuple[str, str] | None = None
    staff_left: tuple[str, ...] = ()
    points: int = 0


@dataclass(frozen=True, slots=True)
class Attended:
    """A team with what it attends: where, by which crews, with which trainers on all its dates."""

    team: Team
    venue: str
    crews: frozenset[str]
    trainers: frozenset[str]

    @property
    def seats(self) -> frozenset[tuple[Role, str]]:
        """Who sits where."""
        return frozenset((seat.role, seat.person) for seat in self.team.seats)


def attended(plan: Plan) -> dict[str, Attended]:
    """Return the teams of a plan by code."""
    sessions = {session.code: session for session in plan.sessions}
    aboard: dict[tuple[str, date], set[str]] = {}
    for trip in plan.trips:
        for day in trip.days:
            for code in day.sessions:
                aboard.setdefault((code, day.date), set()).update(entry.trainer for entry in day.aboard)
    found = {}
    for team in plan.teams:
        session = sessions[team.session]
        there = [aboard.get((session.code, day), set()) for day in team.dates]
        trainers = frozenset.intersection(*map(frozenset, there)) if there else frozenset()
        found[team.code] = Attended(team, session.venue, frozenset(session.crews), trainers)
    return found


def time_factor(team: Team, today: date) -> int:
    """Return how many times the points of an announced team count."""
    days = (team.dates[0] - today).days
    return 3 if days <= SOON else 2 if days <= LATER else 1


def seat_factor(ref: SeatRef, released: frozenset[SeatRef]) -> int:
    """Return how many times more the points of a seat count."""
    return RELEASED if ref in released else 1


# coverage ---------------------------------------------------------------------------------------------------------


def lost_teams(announced: Plan, plan: Plan, training_round: TrainingRound) -> tuple[LostTeam, ...]:
    """Return the teams that facilities lose, by facility; one that is no longer in the tables loses none."""
    before, now = (Counter(team.facility for team in p.teams) for p in (announced, plan))
    found = []
    for facility in training_round.facilities:
        for number in range(now[facility.code] + 1, before[facility.code] + 1):
            points = training_round.team_points(facility, number) if number > 1 else training_round.weight(facility)
            found.append(LostTeam(facility.code, number, points))
    return tuple(found)


def lost_people(announced: Plan, plan: Plan, training_round: TrainingRound) -> tuple[str, ...]:
    """Return the people named by the manager who had a seat and have none."""
    before, now = ({seat.person for team in p.teams for seat in team.seats} for p in (announced, plan))
    must = (p.code for p in training_round.people if p.include is Include.MUST)
    return tuple(code for code in must if code in before - now)


def coverage_lost(announced: Plan, plan: Plan, training_round: TrainingRound) -> int:
    """Return the coverage that a plan loses against the announced one, in one figure; 0 = none."""
    person, first = loss_scale(announced, training_round)
    teams = lost_teams(announced, plan, training_round)
    figure = sum(lost.points * (first if lost.number == 1 else 1) for lost in teams)
    return figure + person * len(lost_people(announced, plan, training_round))


def loss_scale(announced: Plan, training_round: TrainingRound) -> tuple[int, int]:
    """Return what a lost person, and a lost point of first teams, count in the one figure."""
    sent = Counter(team.facility for team in announced.teams)
    known = [f for f in training_round.facilities if f.code in sent]
    person = 1 + sum(training_round.team_points(f, k) for f in known for k in range(2, sent[f.code] + 1))
    seated = {seat.person for team in announced.teams for seat in team.seats}
    people = sum(p.include is Include.MUST and p.code in seated for p in training_round.people)
    return person, person * (people + 1)


# points -----------------------------------------------------------------------------------------------------------


def stability(announced: Plan, plan: Plan, today: date, released: frozenset[SeatRef] = frozenset()) -> int:
    """Return the penalty points of a plan against the announced one."""
    return sum(change.points for change in changes(announced, plan, today, released))


def changes(announced: Plan, plan: Plan, today: date, released: frozenset[SeatRef] = frozenset()) -> tuple[Moved, ...]:
    """Return what has changed for each team kept, in the order of the announced plan; one without points is left out.

    Parameters
    ----------
    today : date
        From which the days to each announced date are counted.
    released : frozenset of SeatRef
        Seats whose holders had confirmed them and were released.
    """
    before, now = attended(announced), attended(plan)
    pairs = same_teams(before, now, today, released)
    found = (_moved(before[code], now[pairs[code]], today, released) for code in before if code in pairs)
    return tuple(moved for moved in found if moved.points)


def same_teams(
    before: Mapping[str, Attended], now: Mapping[str, Attended], today: date, released: frozenset[SeatRef]
) -> dict[str, str]:
    """Return which team of a plan is taken for which announced one, so that the points are least."""
    pairs: dict[str, str] = {}
    for facility in dict.fromkeys(a.team.facility for a in before.values()):
        old = sorted(code for code, a in before.items() if a.team.facility == facility)
        new = sorted(code for code, a in now.items() if a.team.facility == facility)
        points = [[_moved(before[a], now[b], today, released).points for b in new] for a in old]
        pairs |= {old[row]: new[column] for row, column in assigned(points).items()}
    return pairs


def _moved(before: Attended, now: Attended, today: date, released: frozenset[SeatRef]) -> Moved:
    old, new = before.team, now.team
    order = {role: number for number, role in enumerate(Role)}
    left = sorted(before.seats - now.seats, key=lambda seat: (order[seat[0]], seat[1]))
    joined = sorted(now.seats - before.seats, key=lambda seat: (order[seat[0]], seat[1]))
    staff = tuple(sorted(before.crews - now.crews) + sorted(before.trainers - now.trainers))
    other_dates, other_venue = old.dates != new.dates, before.venue != now.venue
    points = STAFF * len(staff) + PERSON * sum(_more(before, now).values())
    for role, person in before.seats:
        each = PERSON * ((role, person) not in now.seats) + DAY * other_dates + VENUE * other_venue
        points += each * seat_factor(SeatRef(old.code, person, role), released)
    return Moved(
        team=old.code,
        becomes=new.code,
        facility=old.facility,
        left=tuple(left),
        joined=tuple(joined),
        dates=(old.dates, new.dates) if other_dates else None,
        venue=(before.venue, now.venue) if other_venue else None,
        staff_left=staff,
        points=points * time_factor(old, today),
    )


def _more(before: Attended, now: Attended) -> Counter[Role]:
    """Return the seats more in each role than were announced."""
    return Counter(role for role, _ in now.seats) - Counter(role for role, _ in before.seats)
