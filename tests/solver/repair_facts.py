"""What befalls an announced plan of a small round: somebody declines, is away, a road closes, a trainer is ill …"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date, timedelta
from random import Random

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.person import Absence, Duty
from roundplan.domain.plan import Plan
from roundplan.domain.repair import RepairTask, SeatRef
from roundplan.domain.role import DutyKind
from roundplan.domain.training_round import TrainingRound

Happening = Callable[[Random, Plan, TrainingRound], TrainingRound]


def absent(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """Somebody seated is on leave, on the team's first date or throughout."""
    team = rng.choice(plan.teams)
    person = rng.choice(team.seats).person
    window = round_.settings.round
    first, last = rng.choice(((team.dates[0], team.dates[0]), (window.first_day, window.last_day)))
    return round_.replace(absences=(*round_.absences, Absence(who=person, first=first, last=last)))


def declined(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """Somebody does not come: the seat is forbidden, or any seat."""
    team = rng.choice(plan.teams)
    seat = rng.choice(team.seats)
    one = Lock(do=Do.FORBID, kind=LockKind.SEAT, who=seat.person, role=seat.role, date=team.dates[0])
    lock = rng.choice((one, Lock(do=Do.FORBID, kind=LockKind.PERSON, who=seat.person)))
    return round_.replace(locks=(*round_.locks, lock))


def on_night_duty(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """Somebody seated, or at home meanwhile, has the night before."""
    team = rng.choice(plan.teams)
    staff = [person.code for person in round_.staff_of(team.facility)]
    duty = Duty(person=rng.choice(staff), date=team.dates[0] - timedelta(days=1), kind=DutyKind.NIGHT)
    return round_.replace(duties=(*round_.duties, duty))


def road_closed(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """A road is closed for a day or throughout."""
    if not round_.roads:
        return absent(rng, plan, round_)
    number, team = rng.randrange(len(round_.roads)), rng.choice(plan.teams)
    window = round_.settings.round
    closure = rng.choice(((team.dates[0], team.dates[0]), (window.first_day, window.last_day)))
    roads = list(round_.roads)
    roads[number] = dataclasses.replace(roads[number], closures=(*roads[number].closures, closure))
    return round_.replace(roads=tuple(roads))


def trainer_ill(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """A trainer who is announced cannot come on a date."""
    days = [(day.date, entry.trainer) for trip in plan.trips for day in trip.days for entry in day.aboard]
    on, code = rng.choice(days)
    return round_.replace(absences=(*round_.absences, Absence(who=code, first=on, last=on)))


def venue_closed(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """A venue is not to be had on a session's date."""
    session = rng.choice(plan.sessions)

    def closed(days: date) -> Lock:
        return Lock(do=Do.FORBID, kind=LockKind.SESSION, place=session.venue, date=days)

    return round_.replace(locks=(*round_.locks, closed(rng.choice(session.dates))))


def crew_late(rng: Random, plan: Plan, round_: TrainingRound) -> TrainingRound:
    """A crew is to be had a day later than its first trip."""
    trip = rng.choice(plan.trips)
    crews = tuple(
        dataclasses.replace(crew, available_from=trip.days[0].date + timedelta(days=1))
        if crew.code == trip.crew
        else crew
        for crew in round_.crews
    )
    return round_.replace(crews=crews)


HAPPENINGS: tuple[Happening, ...] = (
    absent, absent, declined, declined, on_night_duty, road_closed, trainer_ill, venue_closed, crew_late,
)  # fmt: skip


def befallen(seed: int, plan: Plan, training_round: TrainingRound) -> RepairTask:
    """Return what is to be repaired: one thing has happened, some seats are confirmed, one perhaps released."""
    rng = Random(f"repair {seed}")
    first = training_round.settings.round.first_day
    changed = rng.choice(HAPPENINGS)(rng, plan, training_round)
    seats = [SeatRef(team.code, seat.person, seat.role) for team in plan.teams for seat in team.seats]
    confirmed = frozenset(ref for ref in seats if rng.random() < 0.15)
    released = frozenset(ref for ref in seats if ref not in confirmed and rng.random() < 0.15)
    sessions = {s.code: s for s in plan.sessions}
    teams = {team.code: team for team in plan.teams}
    locks = [
        Lock(do=Do.KEEP, kind=LockKind.SEAT, who=ref.person, role=ref.role, date=teams[ref.team].dates[0],
             place=sessions[teams[ref.team].session].venue, why="confirmed")
        for ref in sorted(confirmed)
    ]  # fmt: skip
    changed = changed.replace(locks=(*changed.locks, *locks))
    today = first - timedelta(days=rng.choice((3, 20, 60)))
    return RepairTask(plan, changed, today, confirmed, released)
