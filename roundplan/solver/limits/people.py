"""Who sits where: teams, seats, once only."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from itertools import pairwise

from roundplan.domain.facility import Facility
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.limits.guests import guests_within, lent_by_sending
from roundplan.solver.parts import Linear, Scope, Sending, Var


def seats_filled(choices: Choices) -> None:
    """Fill the seats of teams away from home: minimum roles always, one usual role at most empty."""
    model = choices.model
    for (code, first), sendings in choices.cohorts.items():
        facility = choices.facts.round.facility(code)
        teams = sum(s.teams for s in sendings)
        filled: dict[Role, Linear] = {}
        everyone: list[Var] = []
        for role, seats in choices.facts.usual_seats(facility).items():
            own = _own(choices, facility, first, role)
            everyone += own
            guests: list[Var] = []
            for sending in _one_a_venue(sendings):
                lent = choices.guest_seats.get((code, sending.venue, first, role), [])
                guests += lent
                there = sum(s.teams for s in sendings if s.venue == sending.venue)
                model.add(sum(lent) <= seats * there)
            filled[role] = sum(own) + sum(guests)
            model.add(filled[role] <= seats * teams)
        _complete(choices, facility, filled, teams)
        _people_at(choices, facility, first, sum(everyone))
        if choices.scope is Scope.WHOLE and facility.teams_wanted > 1 and len(sendings) > 1:
            _by_sending(choices, facility, first)


def _one_a_venue(sendings: list[Sending]) -> list[Sending]:
    return list({s.venue: s for s in sendings}.values())


def _own(choices: Choices, facility: Facility, first: date, role: Role) -> list[Var]:
    keys = ((p.code, first, role) for p in choices.facts.round.staff_of(facility.code))
    return [choices.seat[key] for key in keys if key in choices.seat]


def _complete(choices: Choices, facility: Facility, filled: dict[Role, Linear], teams: Linear) -> None:
    """State team-minimum, team-mirrors-home and the roles that the cases need."""
    facts, model = choices.facts, choices.model
    for role in MINIMUM_ROLES:
        if facts.on(Rule.TEAM_MINIMUM) and role in filled:
            model.add(filled[role] >= teams)
    empty = sum(seats * teams - filled[role] for role, seats in facts.usual_seats(facility).items())
    if facts.on(Rule.TEAM_MIRRORS_HOME):
        model.add(empty <= facts.settings.teams.empty_seats * teams)
    model.add(sum(filled.values()) >= teams)
    if facts.on(Rule.SIMULATIONS_PER_TEAM):
        usual = facts.usual_seats(facility)
        for role, seats in seats_cases_need(choices, usual).items():
            if seats:
                model.add(filled[role] >= seats * teams)
        if not enough_cases(choices, usual):
            model.add(teams == 0)


def enough_cases(choices: Choices, team: Mapping[Role, int]) -> bool:
    """Whether a team of so many people by role can run as many different cases as it simulates."""
    cases = choices.facts.round.cases
    fit = [case for case in cases if all(team.get(r, 0) >= n for r, n in _beyond_minimum(case.roles).items())]
    return not cases or len(fit) >= choices.facts.settings.session.simulations_per_team


def _beyond_minimum(roles: Iterable[Role]) -> Counter[Role]:
    return Counter(role for role in roles if role not in MINIMUM_ROLES)


def seats_cases_need(choices: Choices, usual: Mapping[Role, int]) -> dict[Role, int]:
    """Return how many seats of a role no team can leave empty, because too few cases would be left."""
    needed = {}
    for role in _beyond_minimum(usual):
        enough = (n for n in range(usual[role]) if enough_cases(choices, {**usual, role: n}))
        needed[role] = next(enough, usual[role])
    return needed


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


def _by_sending(choices: Choices, facility: Facility, first: date) -> None:
    """Fill the seats of each sending by itself, where people of one date may part.

    What holds for all teams of a date together could leave one team short of what another has too much of. Within
    one sending it cannot: seats of any totals that keep the limits of so many teams can be dealt evenly (an even
    colouring of the edges between roles and own, guest or empty, with a colour a team).
    """
    model, wanted = choices.model, facility.teams_wanted
    sendings = choices.cohorts[facility.code, first]
    fixed = MINIMUM_ROLES if choices.facts.on(Rule.TEAM_MINIMUM) else ()
    parts: dict[Role, list[Linear]] = defaultdict(list)
    for sending, lent in zip(sendings, lent_by_sending(choices, sendings), strict=True):
        own: dict[Role, Linear] = {}
        for role, seats in choices.facts.usual_seats(facility).items():
            guests = lent.get(role, 0)
            if seats == 1 and role in fixed:
                own[role] = sending.teams - guests
                model.add(own[role] >= 0)
            else:
                own[role] = choices.count(seats * wanted, f"own[{sending.people.name},{role}]")
                model.add(own[role] + guests <= seats * sending.teams)
            parts[role].append(own[role])
        _complete(choices, facility, {role: seats + lent.get(role, 0) for role, seats in own.items()}, sending.teams)
        model.add(sending.people == sum(own.values()))
        guests_within(choices, facility, lent, sending.teams)
    for role, shares in parts.items():
        model.add(sum(shares) == sum(_own(choices, facility, first, role)))


def seats_at_home(choices: Choices) -> None:
    """Fill the seats of teams that train at home, team by team."""
    model = choices.model
    for sending in choices.sendings:
        if not sending.on_site:
            continue
        facility = choices.facts.round.facility(sending.facility)
        key = (sending.facility, sending.first)
        staff = choices.facts.round.staff_of(facility.code)
        own_total: list[Var] = []
        for i, team in enumerate(choices.site_team[key]):
            filled: dict[Role, Linear] = {}
            for role, seats in choices.facts.usual_seats(facility).items():
                own = [v for p in staff if (v := choices.site_seat.get((p.code, sending.first, role, i))) is not None]
                own_total += own
                lent = choices.guest_seats.get((facility.code, sending.venue, sending.first, role))
                filled[role] = sum(own) + (lent[i] if lent else 0)
                model.add(filled[role] <= seats * team)
            _complete(choices, facility, filled, team)
        model.add(sending.people == sum(own_total))


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
