"""Limits on what is announced together: rooms, beds, languages, trainers' nights and days, loads, the cap."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date

from roundplan.costs.pricing import price_plan, total
from roundplan.domain.plan import Session, Trip
from roundplan.domain.rules import Rule
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.repair.stored import Stored


def crowded_sessions(stored: Stored) -> Iterator[str]:
    """Yield the sessions whose room is too small, or whose trainers are too few or do not speak what they have to."""
    for session in stored.plan.sessions:
        if any(_crowded(stored, session, day) for day in session.dates) or not _spoken(stored, session):
            yield session.code


def _crowded(stored: Stored, session: Session, day: date) -> bool:
    facts, rules = stored.facts, stored.facts.settings.session
    if not facts.on(Rule.VENUE_CAPACITY):
        return False
    teams = [t for t in stored.plan.teams if t.session == session.code and day in t.dates]
    chairs, stations = sum(len(facts.round.facility(t.facility).usual_team) for t in teams), len(session.stations)
    site = facts.round.site(session.venue)
    room = site.room_limit if site.room_limit is not None else rules.room_limit * stations
    aboard = len(_aboard(stored, session, day))
    bodies = chairs + aboard + rules.volunteers_per_station * stations
    few = facts.on(Rule.CREW_STAFFED) and aboard < facts.settings.trainers.per_station * stations
    return chairs > rules.learners_per_station * stations or bodies > room or few


def _aboard(stored: Stored, session: Session, day: date) -> set[str]:
    return {
        entry.trainer
        for trip in stored.plan.trips
        for out in trip.days
        if out.date == day and session.code in out.sessions
        for entry in out.aboard
    }


def _spoken(stored: Stored, session: Session) -> bool:
    """Whether some trainer there on all dates speaks the working language of each facility."""
    facts = stored.facts
    if not facts.on(Rule.CREW_STAFFED):
        return True
    always = set.intersection(*(_aboard(stored, session, day) for day in session.dates))
    default = facts.settings.round.language
    spoken = {lang for t in facts.round.trainers if t.code in always for lang in (t.languages or (default,))}
    homes = {team.facility for team in stored.plan.teams if team.session == session.code}
    return all(facts.round.working_language(facts.round.facility(code)) in spoken for code in homes)


def overdone_trips(stored: Stored) -> Iterator[str]:
    """Yield the trips with too many nights or days in a row for a trainer, too much on board, or too few beds."""
    nights: dict[str, set[date]] = defaultdict(set)
    days: dict[str, set[date]] = defaultdict(set)
    for trip in stored.plan.trips:
        for code, night in stored.nights([trip]):
            nights[code].add(night)
        for out in trip.days:
            for entry in out.aboard if out.legs or out.sessions else ():
                days[entry.trainer].add(out.date)
    rules = stored.facts.settings.trainers
    tired: set[str] = set()
    for trainer in stored.facts.round.trainers if stored.facts.on(Rule.TRAINER_LIMITS) else ():
        limit = rules.nights_limit if trainer.nights_away_limit is None else trainer.nights_away_limit
        if _in_a_row(nights[trainer.code]) > limit or _in_a_row(days[trainer.code]) > rules.days_in_a_row:
            tired.add(trainer.code)
    short = set(_short_of_beds(stored))
    for trip in stored.plan.trips:
        aboard = {entry.trainer for out in trip.days for entry in out.aboard}
        slept = {(out.night, out.date) for out in trip.days}
        if aboard & tired or slept & short or _overloaded(stored, trip):
            yield trip.code


def without_beds(stored: Stored) -> Iterator[str]:
    """Yield the teams that lodge where there are too few beds."""
    short = set(_short_of_beds(stored))
    for team in stored.plan.teams:
        if any((site, night) in short for outing in team.outings for night, site in outing.nights):
            yield team.code


def _short_of_beds(stored: Stored) -> Iterator[tuple[str, date]]:
    for (site, night), people in stored.beds(stored.parts).items():
        beds = stored.facts.round.site(site).lodging_beds
        if beds is not None and people > beds:
            yield site, night


def _overloaded(stored: Stored, trip: Trip) -> bool:
    crew, reserve = stored.facts.round.crew(trip.crew), stored.facts.settings.travel.payload_reserve
    if not stored.facts.on(Rule.VEHICLE_LOAD):
        return False
    heavy = trip.weight_kg > crew.payload_kg * (1 - reserve)
    return heavy or (crew.space_l is not None and trip.volume_l > crew.space_l)


def _in_a_row(dates: set[date]) -> int:
    longest, run = 0, 0
    for day in sorted(dates):
        run = run + 1 if day - ONE_DAY in dates else 1
        longest = max(longest, run)
    return longest


def over_the_cap(stored: Stored) -> bool:
    """Whether the plan costs more than the cap, contingency included."""
    cap = stored.facts.settings.prices.cap
    return (
        cap is not None
        and stored.facts.on(Rule.BUDGET_CAP)
        and total(price_plan(stored.plan, stored.facts.round)) > cap
    )


def below_the_floor(stored: Stored) -> bool:
    """Whether a district has fewer teams than the least."""
    floor = stored.facts.settings.aims.floor_per_district
    districts = Counter({f.district: 0 for f in stored.facts.round.facilities})
    for team in stored.plan.teams:
        districts[stored.facts.round.facility(team.facility).district] += 1
    return floor > 0 and min(districts.values(), default=0) < floor
