"""Who sits where: teams, seats, guests, once only."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from itertools import pairwise

from roundplan.domain.facility import Facility
from roundplan.domain.role import MINIMUM_ROLES, OnSiteCover, Role
from roundplan.domain.rules import Rule
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
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
        for role in roles_cases_need(choices, facility):
            model.add(filled[role] >= teams)
        if not enough_cases(choices, facility):
            model.add(teams == 0)


def enough_cases(choices: Choices, facility: Facility) -> bool:
    """Whether the usual team can run as many different cases as a team simulates."""
    cases = choices.facts.round.cases
    usual = set(facility.usual_team)
    fit = [case for case in cases if set(case.roles) <= usual]
    return not cases or len(fit) >= choices.facts.settings.session.simulations_per_team


def roles_cases_need(choices: Choices, facility: Facility) -> list[Role]:
    """Return usual roles that no team can leave empty, because too few cases would be left."""
    cases = choices.facts.round.cases
    usual = set(facility.usual_team)
    needed = []
    for role in dict.fromkeys(facility.usual_team):
        fit = [case for case in cases if set(case.roles) <= usual - {role}]
        if cases and role not in MINIMUM_ROLES and len(fit) < choices.facts.settings.session.simulations_per_team:
            needed.append(role)
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
    for venue in {s.venue for s in sendings}:
        there = [s for s in sendings if s.venue == venue]
        lent = [
            var
            for role in set(facility.usual_team)
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


def guests_fit(choices: Choices) -> None:
    """Match guests lent with guest seats, venue by venue and role by role, within the limit of a team."""
    model, facts = choices.model, choices.facts
    limit = choices.guest_limit()
    if choices.scope is Scope.OUTER:
        _lent_by_date(choices)
        _within_limit(choices, limit)
        return
    lent: dict[tuple[str, date, Role], list[Var]] = defaultdict(list)
    by_session: dict[tuple[str, date, Role], dict[str, Linear]] = defaultdict(dict)
    home: dict[tuple[str, date, Role], Var] = {}
    for (code, venue, first, role), count in choices.lent.items():
        if code == venue and facts.on_site_cover(facts.round.facility(code)) is not OnSiteCover.NO:
            home[code, first, role] = count
        else:
            lent[code, first, role].append(count)
        by_session[venue, first, role][code] = count
    for (code, first, role), counts in lent.items():
        model.add(sum(counts) == sum(_lendable(choices, code, first, role)))
    for (code, first, role), count in home.items():
        people = [choices.home_guest.get((p.code, first, role)) for p in facts.round.staff_of(code)]
        model.add(count == sum(var for var in people if var is not None))
    for (venue, first, role), lenders in by_session.items():
        hosts = {key[0]: sum(seats) for key, seats in choices.guest_seats.items() if key[1:] == (venue, first, role)}
        model.add(sum(hosts.values()) == sum(lenders.values()))
        for code, count in lenders.items():
            if code in hosts:
                model.add(sum(seats for host, seats in hosts.items() if host != code) >= count)
    _within_limit(choices, limit)


def _lendable(choices: Choices, facility: str, first: date, role: Role) -> list[Var]:
    keys = ((p.code, first, role) for p in choices.facts.round.staff_of(facility))
    return [choices.guest[key] for key in keys if key in choices.guest]


def _lent_by_date(choices: Choices) -> None:
    """In the relaxation guests of the minimum roles come from anywhere but home."""
    seats: dict[tuple[date, Role], dict[str, list[Var]]] = defaultdict(lambda: defaultdict(list))
    for (host, _, first, role), places in choices.guest_seats.items():
        if role in MINIMUM_ROLES:
            seats[first, role][host] += places
    lent: dict[tuple[date, Role], list[tuple[str, Var]]] = defaultdict(list)
    for table in (choices.guest, choices.home_guest):
        for (code, first, role), var in table.items():
            lent[first, role].append((choices.facts.round.person(code).facility, var))
    for key, hosts in seats.items():
        choices.model.add(sum(v for places in hosts.values() for v in places) <= sum(v for _, v in lent[key]))
        for host, places in hosts.items():
            choices.model.add(sum(places) <= sum(v for home, v in lent[key] if home != host))


def _within_limit(choices: Choices, limit: int) -> None:
    facts, model = choices.facts, choices.model
    if not facts.on(Rule.GUEST_LIMIT):
        return
    for sending in {(s.facility, s.venue, s.first): s for s in choices.sendings}.values():
        facility = facts.round.facility(sending.facility)
        seats = {
            role: choices.guest_seats.get((sending.facility, sending.venue, sending.first, role))
            for role in facts.usual_seats(facility)
        }
        most = min(limit, (len(facility.usual_team) - facts.settings.teams.empty_seats) // 2)
        most = max(most, min(limit, 1))
        if facts.settings.teams.guests_pooled:
            most = limit
        per_team = sending.on_site
        if per_team:
            for i, team in enumerate(choices.site_team[sending.facility, sending.first]):
                model.add(sum(v[i] for v in seats.values() if v) <= most * team)
        else:
            teams = sum(s.teams for s in choices.cohorts[sending.facility, sending.first] if s.venue == sending.venue)
            model.add(sum(var for v in seats.values() if v for var in v) <= most * teams)
            _own_majority(choices, seats, teams)


def _own_majority(choices: Choices, seats: dict[Role, list[Var] | None], teams: Linear) -> None:
    """In pooled teams the facility that is credited keeps two seats of the minimum."""
    if choices.facts.settings.teams.guests_pooled:
        minimum = [var for role in MINIMUM_ROLES for var in seats.get(role) or ()]
        choices.model.add(sum(minimum) <= teams)


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
        model.add(total == sum(s.teams for s in sendings))
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
        choices.model.add(sum(choices.total[c] for c in codes if c in choices.total) >= floor)


def seated(choices: Choices, person: str) -> list[Var]:
    """Return every seat variable of a person."""
    found = [v for (code, _, _), v in choices.seat.items() if code == person]
    found += [v for (code, _, _, _), v in choices.site_seat.items() if code == person]
    return found + [v for t in (choices.guest, choices.home_guest) for (code, _, _), v in t.items() if code == person]
