"""What could undo the plan: scarce roles, little daylight, what rests on one person, rosters and supplies to come."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Drive
from roundplan.domain.role import MINIMUM_ROLES
from roundplan.handouts.daylight_left import margin
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.single_trainers import single_trainers
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import arrival, capital, clock, duration, full_date, list_words, short_date
from roundplan.supplies.orders import OrderLine

SCARCE = 3
"""Fewer people than this in a role: not one to train, one to stay by day and one by night (common practice)."""


@dataclass(frozen=True, slots=True)
class Risk:
    """One kind of risk.

    Attributes
    ----------
    heading : str
        What it is.
    words : str
        How much of it the plan has, as a sentence.
    count : int
        How often it occurs; 0 = not at all.
    table : Table
        Each case; no rows where there is none.
    """

    heading: str
    words: str
    count: int
    table: Table


def risks(index: PlanIndex, orders: Sequence[OrderLine]) -> tuple[Risk, ...]:
    """Return all kinds of risk, also those that the plan has none of."""
    return (
        _scarce(index),
        _daylight(index),
        _no_standby(index),
        _one_trainer(index),
        _provisional(index),
        _late(index, orders),
    )


def _scarce(index: PlanIndex) -> Risk:
    """Minimum roles held by fewer than three people, at facilities that send a team."""
    r = index.training_round
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    sending = {team.facility for team in index.plan.teams}
    rows: list[tuple[Cell, ...]] = []
    for role in MINIMUM_ROLES:
        for facility in r.facilities:
            holders = [p for p in r.staff_of(facility.code) if role in p.cover_roles and not p.learner]
            if facility.code in sending and len(holders) < SCARCE:
                going = list_words(p.name for p in holders if p.code in seated) or say("nobody")
                names = list_words(person.name for person in holders) or say("nobody")
                rows.append((facility.name, role_word(role), str(len(holders)), names, going))
    heads = (say("Facility"), say("Role"), say("People"), say("Who can fill it"), say("Of these seated in the plan"))
    words = several(
        "{numeral} minimum role at a facility that sends a team is held by fewer than three people.",
        "{numeral} minimum roles at facilities that send a team are held by fewer than three people.",
        len(rows),
    )
    table = Table(say("Roles held by fewer than three people"), heads, rows, numbers=frozenset({2}))
    return Risk(say("Scarce roles"), capital(words), len(rows), table)


def _daylight(index: PlanIndex) -> Risk:
    """Drives with less than half an hour of daylight left on arrival, or of delay before the rule is broken."""
    found = []
    for who, drive, crew in _drives(index):
        light = margin(index, drive, crew=crew)
        if light.tight:
            found.append((light.left, drive.date, who, drive, light))
    rows: list[tuple[Cell, ...]] = [
        (
            (short_date(day), who),
            say("{start} to {end}", start=index.name(drive.start), end=index.name(drive.end)),
            arrival(drive.arrive),
            clock(light.sunset),
            _whole(left) if left >= 0 else say("arrives after dark"),
            say("not limited") if light.to_spare is None else _whole(max(light.to_spare, 0)),
        )
        for left, day, who, drive, light in sorted(found, key=lambda row: (row[0], row[1], row[2], row[3].start))
    ]
    heads = (say("Date and who"), say("From and to"), say("Arrives"), say("Sunset"), say("Daylight left"),
             say("Delay it bears"))  # fmt: skip
    words = several(
        "{numeral} drive has less than half an hour of daylight left, or of delay to spare.",
        "{numeral} drives have less than half an hour of daylight left, or of delay to spare.",
        len(rows),
    )
    caption = say("Drives with less than half an hour of daylight left, or of delay before the margin is used up")
    table = Table(caption, heads, rows, numbers=frozenset({2, 3}))
    return Risk(say("Little daylight"), capital(words), len(rows), table)


def _whole(seconds: int) -> str:
    """Write what is left in whole minutes, rounded down."""
    return duration(seconds - seconds % MINUTE)


def _drives(index: PlanIndex) -> Iterator[tuple[str, Drive, bool]]:
    for crew in index.crews_used():
        for trip in index.trips_of(crew):
            for day in trip.days:
                for leg in day.legs:
                    yield say("crew {crew}", crew=crew), leg.drive, True
    for team in index.teams_in_order:
        for outing in team.outings:
            for drive in outing.drives:
                yield say("people of {facility}", facility=index.name(outing.facility)), drive, False


def _no_standby(index: PlanIndex) -> Risk:
    """Seats of minimum roles that nobody could take over: without its holder the team is none."""
    rows: list[tuple[Cell, ...]] = []
    for team in index.teams_in_order:
        for seat in team.seats:
            if seat.role in MINIMUM_ROLES and seat.standby is None:
                who = say("{facility}, team {number}", facility=index.name(team.facility), number=team.number)
                rows.append((who, full_date(team.dates[0]), role_word(seat.role), index.name(seat.person)))
    heads = (say("Team"), say("Date"), say("Role"), say("Person"))
    words = several(
        "{numeral} team cannot run if any one of the people below does not come: they have no standby.",
        "{numeral} teams cannot run if any one of the people below does not come: they have no standby.",
        len({row[:2] for row in rows}),
    )
    table = Table(say("Seats without which there is no team, and nobody could take them over"), heads, rows)
    return Risk(say("Teams that rest on one person"), capital(words), len(rows), table)


def _one_trainer(index: PlanIndex) -> Risk:
    """Leads and languages of sessions that only one trainer can hold, and nobody free could take over."""
    rows: list[tuple[Cell, ...]] = [
        ((found.session, found.crew), found.what, found.trainer) for found in single_trainers(index)
    ]
    heads = (say("Session and crew"), say("What"), say("Trainer"))
    words = several(
        "{numeral} part of a session rests on one trainer whom nobody free could stand in for.",
        "{numeral} parts of sessions rest on one trainer whom nobody free could stand in for.",
        len(rows),
    )
    table = Table(say("What only one trainer can do, with nobody free who could"), heads, rows)
    return Risk(say("Sessions that rest on one trainer"), capital(words), len(rows), table)


def _provisional(index: PlanIndex) -> Risk:
    """Seats planned before the roster was seen, by facility."""
    seats: dict[str, int] = defaultdict(int)
    dates: dict[str, set[date]] = defaultdict(set)
    for team in index.plan.teams:
        for seat in team.seats:
            if seat.provisional:
                seats[index.home(seat.person)] += 1
                dates[index.home(seat.person)] |= set(team.dates)
    rows: list[tuple[Cell, ...]] = [
        (facility.name, str(seats[facility.code]), ", ".join(short_date(day) for day in sorted(dates[facility.code])))
        for facility in index.training_round.facilities
        if facility.code in seats
    ]
    heads = (say("Facility"), say("Provisional seats"), say("Session dates"))
    words = several(
        "{numeral} facility has not given the roster for its seats.",
        "{numeral} facilities have not given the roster for their seats.",
        len(rows),
    )
    table = Table(say("Seats that wait for a roster"), heads, rows, numbers=frozenset({1}))
    return Risk(say("Provisional rosters"), capital(words), len(rows), table)


def _late(index: PlanIndex, orders: Sequence[OrderLine]) -> Risk:
    """Supplies that run out and cannot be bought in time."""
    rows: list[tuple[Cell, ...]] = [
        (
            index.name(line.item),
            full_date(line.needed_by),
            full_date(line.latest_order_date) if line.latest_order_date else say("cannot be bought"),
        )
        for line in orders
        if line.too_late
    ]
    heads = (say("Item"), say("Trip starts on"), say("Should have been ordered by"))
    words = several(
        "{numeral} item runs out and cannot arrive in time.",
        "{numeral} items run out and cannot arrive in time.",
        len(rows),
    )
    return Risk(say("Supplies too late"), capital(words), len(rows), Table(say("Supplies that run out"), heads, rows))
