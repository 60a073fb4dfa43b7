"""Who sits where: teams, seats, once only."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from itertools import pairwise

from roundplan.domain.facility import Facility
from roundplan.domain.role import Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.limits.complete import cases_of_one, complete, guests_of_one, one_complete
from roundplan.solver.limits.hands import lent_to, own_seats, seats_by_sending, seats_by_team
from roundplan.solver.parts import Linear, Scope, Var


def seats_filled(choices: Choices) -> None:
    """Fill the seats of teams away from home: minimum roles always, one usual role at most empty."""
    model = choices.model
    for (code, first), sendings in choices.cohorts.items():
        facility = choices.facts.round.facility(code)
        teams = sum(s.teams for s in sendings)
        own: dict[Role, Linear] = {}
        filled: dict[Role, Linear] = {}
        for role, seats in choices.facts.usual_seats(facility).items():
            own[role] = sum(own_seats(choices, facility, first, role))
            guests: list[Var] = []
            for venue in dict.fromkeys(s.venue for s in sendings):
                lent = choices.guest_seats.get((code, venue, first, role), [])
                guests += lent
                model.add(sum(lent) <= seats * sum(s.teams for s in sendings if s.venue == venue))
            filled[role] = own[role] + sum(guests)
            model.add(filled[role] <= seats * teams)
        complete(choices, facility, filled, teams)
        _people_at(choices, facility, first, sum(own.values()))
        if facility.teams_wanted == 1:
            _the_only_team(choices, facility, first, own)
        elif choices.scope is Scope.WHOLE and choices.facts.teams_differ:
            seats_by_team(choices, facility, first)
        elif choices.scope is Scope.WHOLE and len(sendings) > 1:
            seats_by_sending(choices, facility, first)


def _the_only_team(choices: Choices, facility: Facility, first: date, own: dict[Role, Linear]) -> None:
    """State at each venue what makes the team that may go there one; it goes to one of them at most."""
    sendings = choices.cohorts[facility.code, first]
    for venue in dict.fromkeys(s.venue for s in sendings):
        there = [s for s in sendings if s.venue == venue]
        lent, team = lent_to(choices, there[0]), sum(s.teams for s in there)
        guests_of_one(choices, facility, own, lent, team)
        if choices.facts.gaps_may_meet:
            filled = {role: seats + lent.seats.get(role, 0) for role, seats in own.items()}
            cases_of_one(choices, there[0].people.name, filled, team)


def _people_at(choices: Choices, facility: Facility, first: date, own_total: Linear) -> None:
    """Tie the head counts by venue and mode to the people seated."""
    sendings = choices.cohorts[facility.code, first]
    size = len(facility.usual_team)
    choices.model.add(sum(s.people for s in sendings) == own_total)
    least = 1
    if choices.facts.on(Rule.TEAM_MINIMUM) and choices.facts.on(Rule.TEAM_MIRRORS_HOME):
        least = max(3, size - choices.facts.settings.teams.empty_seats)
    for sending in sendings:
        choices.model.add(sending.people <= size * sending.teams)
        choices.model.add(sending.people >= sending.used)
    for venue in dict.fromkeys(s.venue for s in sendings):
        there = [s for s in sendings if s.venue == venue]
        lent = [
            var
            for role in dict.fromkeys(facility.usual_team)
            for var in choices.guest_seats.get((facility.code, venue, first, role), ())
        ]
        choices.model.add(sum(s.people for s in there) + sum(lent) >= least * sum(s.teams for s in there))


def seats_at_home(choices: Choices) -> None:
    """Fill the seats of teams that train at home, team by team."""
    model = choices.model
    for sending in choices.sendings:
        if not sending.on_site:
            continue
        facility = choices.facts.round.facility(sending.facility)
        key = (sending.facility, sending.first)
        staff = choices.facts.round.staff_of(facility.code)
        everyone: list[Linear] = []
        for i, team in enumerate(choices.site_team[key]):
            own: dict[Role, Linear] = {}
            for role in choices.facts.usual_seats(facility):
                seats = (choices.site_seat.get((p.code, sending.first, role, i)) for p in staff)
                own[role] = sum(seat for seat in seats if seat is not None)
            everyone += own.values()
            one_complete(choices, team.name, facility, own, lent_to(choices, sending, i), team)
        model.add(sending.people == sum(everyone))


def once_only(choices: Choices) -> None:
    """One seat a person and date; one team a round; a second seat only as a guest and only where allowed."""
    facts, model = choices.facts, choices.model
    own: dict[str, dict[date, list[Var]]] = defaultdict(lambda: defaultdict(list))
    guest: dict[str, dict[date, list[Var]]] = defaultdict(lambda: defaultdict(list))
    for (code, first, _), var in choices.seat.items():
        own[code][first].append(var)
    for (code, first, _, _), var in choices.site_seat.items():
        own[code][first].append(var)
    for (code, first, _), var in [*choices.guest.items(), *choices.home_guest.items()]:
        guest[code][first].append(var)
    for person in facts.round.people:
        firsts = sorted(own[person.code].keys() | guest[person.code].keys())
        everything = [v for f in firsts for v in own[person.code][f] + guest[person.code][f]]
        if not everything:
            continue
        if facts.on(Rule.ONCE_ONLY) and not person.second_seat:
            model.add_at_most_one(everything)
            continue
        if facts.on(Rule.ONCE_ONLY):
            model.add_at_most_one([v for f in firsts for v in own[person.code][f]])
            model.add(sum(everything) <= 2)
        both = {first: own[person.code][first] + guest[person.code][first] for first in firsts}
        _one_place(choices, person.facility, both)


def _one_place(choices: Choices, facility: str, seats: dict[date, list[Var]]) -> None:
    """Keep two seats of one person apart: on the session's dates, and on the eve and morrow spent on the road."""
    model, days = choices.model, choices.facts.settings.session.days_per_team
    for first, mine in seats.items():
        model.add_at_most_one(mine)
        for gap in range(1, days + 2):
            later = first + gap * ONE_DAY
            if later not in seats:
                continue
            morrow = choices.flags[facility, first].get("after")
            eve = choices.flags[facility, later].get("eve")
            for a in mine:
                for b in seats[later]:
                    if gap < days:
                        model.add_bool_or(~a, ~b)
                    elif gap == days:
                        for flag in (f for f in (morrow, eve) if f is not None):
                            model.add_bool_or(~a, ~b, ~flag)
                    elif morrow is not None and eve is not None:
                        model.add_bool_or(~a, ~b, ~morrow, ~eve)


def travel_dates_free(choices: Choices) -> None:
    """Nobody travels on the eve or morrow who is on leave, on night duty or lent then."""
    facts = choices.facts
    days = facts.settings.session.days_per_team
    for table in (choices.seat, choices.guest):
        for (code, first, _), var in table.items():
            person = facts.round.person(code)
            flags = choices.flags[person.facility, first]
            for name, day in (("eve", first - ONE_DAY), ("after", first + days * ONE_DAY)):
                if name in flags and facts.away_obstacle(person, day):
                    choices.model.add_implication(var, ~flags[name])


def must_and_teams(choices: Choices) -> None:
    """Count teams by facility and the people whom the manager named."""
    facts, model = choices.facts, choices.model
    for facility in facts.round.facilities:
        sendings = [s for s in choices.sendings if s.facility == facility.code]
        if not sendings:
            continue
        total = choices.count(facility.teams_wanted, f"total[{facility.code}]")
        model.add(total == sum(s.teams for s in sendings) + choices.taken.teams.get(facility.code, 0))
        steps = [choices.flag(f"team[{facility.code},{k + 1}]") for k in range(facility.teams_wanted)]
        model.add(total == sum(steps))
        for earlier, later in pairwise(steps):
            model.add(earlier >= later)
        choices.total[facility.code] = total
        choices.first_team[facility.code] = steps[0]
        choices.later_teams[facility.code] = steps[1:]
        for sending in sendings:
            model.add(sending.used <= steps[0])


def district_floor(choices: Choices) -> None:
    """Each district gets the least number of teams that the manager set."""
    floor = choices.facts.settings.aims.floor_per_district
    if floor <= 0:
        return
    for district in sorted({f.district for f in choices.facts.round.facilities}):
        codes = [f.code for f in choices.facts.round.facilities if f.district == district]
        outside = sum(choices.taken.teams.get(c, 0) for c in codes if c not in choices.total)
        teams = sum(choices.total[c] for c in codes if c in choices.total) + outside
        if choices.frame is None:
            choices.model.add(teams >= floor)
        else:  # one part of a plan cannot keep it alone
            short = choices.count(floor, f"short[{district}]")
            choices.model.add(short >= floor - teams)
            choices.shortfalls.append(short)


def seated(choices: Choices, person: str) -> list[Var]:
    """Return every seat variable of a person."""
    found = [v for (code, _, _), v in choices.seat.items() if code == person]
    found += [v for (code, _, _, _), v in choices.site_seat.items() if code == person]
    return found + [v for t in (choices.guest, choices.home_guest) for (code, _, _), v in t.items() if code == person]
