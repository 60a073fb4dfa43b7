"""The six tiers of a plan, measured from the plan and its inputs alone."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from roundplan.audit.book import Book
from roundplan.audit.structure import sound_part
from roundplan.costs.pricing import price_plan, total
from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Plan, Team
from roundplan.domain.role import MINIMUM_ROLES, Include
from roundplan.domain.rules import Aim
from roundplan.domain.training_round import TrainingRound

USUAL_SEAT_EMPTY, GUEST, NOT_MAIN_ROLE, UNOBSERVED, BACK_TO_BACK = 4, 2, 1, 2, 1
"""Penalty points of the realism tier."""

DAY_AWAY, DAY_OFF_USED, THIN_SHIFT = 480, 960, 960
"""Minutes of the burden tier for a person-date away, a person-date off used, a thin facility-shift."""


def measure(plan: Plan, training_round: TrainingRound) -> dict[Aim, int]:
    """Return the value of every tier, in the tiers' units (points, people, minutes, minor units)."""
    kept, _ = sound_part(plan, training_round)
    return measure_book(Book(kept, training_round))


def measure_book(book: Book) -> dict[Aim, int]:
    """Return the value of every tier of an opened plan."""
    teams = Counter(team.facility for team in book.plan.teams)
    facilities = {code: book.round.facility(code) for code in teams}
    further = 0
    for code, facility in facilities.items():
        most = min(teams[code], facility.teams_wanted)
        further += sum(book.round.team_points(facility, number) for number in range(2, most + 1))
    return {
        Aim.FIRST_TEAMS: sum(book.round.weight(facility) for facility in facilities.values()),
        Aim.MUST_PEOPLE: len({a.person.code for a in book.attendees if a.person.include is Include.MUST}),
        Aim.FURTHER_TEAMS: further,
        Aim.REALISM: sum(_realism(book, team) for team in book.plan.teams),
        Aim.BURDEN: _people_burden(book) + THIN_SHIFT * _thin_shifts(book),
        Aim.COST: total(price_plan(book.plan, book.round)),
    }


def _realism(book: Book, team: Team) -> int:
    usual = Counter(book.round.facility(team.facility).usual_team)
    filled = Counter(seat.role for seat in team.seats)
    empty = (usual - filled).total()
    people = [(seat, book.round.person(seat.person)) for seat in team.seats]
    guests = sum(person.facility != team.facility for _, person in people)
    aside = sum(person.roles[:1] != (seat.role,) for seat, person in people)
    own = book.simulations(team)
    members = {seat.person for seat in team.seats}
    others = {
        seat.person for other in book.teams_at(book.sessions[team.session]) if other is not team for seat in other.seats
    } - members
    unobserved = not any(set(slot.observers) & others for slot in own)
    pairs = sum(a.date == b.date and b.number == a.number + 1 for a, b in pairwise(own))
    return (
        USUAL_SEAT_EMPTY * empty
        + GUEST * guests
        + NOT_MAIN_ROLE * aside
        + UNOBSERVED * unobserved
        + BACK_TO_BACK * pairs
    )


def _people_burden(book: Book) -> int:
    minutes = 0
    for attendee in book.attendees:
        away = {day for stretch in book.out_of_reach(attendee) for day in stretch.dates()}
        minutes += DAY_AWAY * len(away)
        works = attendee.person.works_days
        off = [
            day
            for day in book.touched_dates(attendee)
            if book.calendar.is_rest_day(day) or (works is not None and day.weekday() not in works)
        ]
        minutes += DAY_OFF_USED * len(off)
        drives = attendee.outing.drives if attendee.outing else ()
        minutes += sum(drive.arrive - drive.depart for drive in drives) // MINUTE
    return minutes


def _thin_shifts(book: Book) -> int:
    thin = 0
    for facility, shifts in book.touched.items():
        for key in shifts:
            people = [person for person in book.at_hand(facility, key) if not person.learner]
            left = (sum(role in person.cover_roles for person in people) for role in MINIMUM_ROLES)
            thin += min(left) < 2
    return thin
