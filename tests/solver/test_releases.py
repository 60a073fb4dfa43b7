"""What facilities can release, against every choice of people: never below it, equal to it without guests.

Teams are matched to seats and those who stay to the keep-team with networkx; runs of cover by trying every name.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache
from itertools import combinations, permutations
from random import Random

import networkx as nx
import pytest
from rounds import ROADS, A, N, P, day, facility, host, person, road, settings, staff, tiny_round

from roundplan.domain.facility import Facility
from roundplan.domain.person import Absence, Duty, Person, Relief
from roundplan.domain.presence import present, seat_obstacle
from roundplan.domain.role import MINIMUM_ROLES, DutyKind, Include, OnSiteCover, Role, Shift
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.attendance import Mode
from roundplan.solver.facts import Facts
from roundplan.solver.skeleton.releases import Releases

SEEDS = range(60)
ONE_DAY = timedelta(days=1)
ShiftKey = tuple[date, Shift]
USUAL = ((P, A, N), (P, A, N), (P, A, N, Role.NEWBORN_CARE), (P, A, A, N))
ROLES = (P, A, N, Role.NEWBORN_CARE)


def random_round(seed: int) -> TrainingRound:
    """Return a round in which BETA has six to nine people and goes to ALFA, on the day or with nights there."""
    rng = Random(f"releases {seed}")
    people = [_person(rng, number) for number in range(rng.randint(6, 9))]
    usual, codes = rng.choice(USUAL), [p.code for p in people]
    kept = rng.choice((None, None, (P, N), (N,)))
    beta = facility(
        "BETA", 0.3, 0.6, usual_team=usual, teams_wanted=rng.randint(1, 3), keep_team=kept,
        keep_team_night=rng.choice((None, (N,), (A, N))), cover_run=rng.choice((None, 1, 2, 3, 4)),
        stations=1, session_room="spare room", minutes_to_theatre=3, on_site_cover=rng.choice(tuple(OnSiteCover)),
    )  # fmt: skip
    days = rng.choice((1, 1, 2))
    rules = settings(
        round={"last_day": day(3)},
        session={"days": days, "days_per_team": days},
        teams={"guests": rng.choice((0, 0, 1, 2)), "empty_seats": rng.choice((0, 1))},
    )
    leave = tuple(
        Absence(who=code, first=(on := day(rng.randint(-1, 4))), last=on + rng.randint(0, 1) * ONE_DAY)
        for code in rng.sample(codes, 2)
    )
    kinds = (DutyKind.DAY, DutyKind.ON_CALL, DutyKind.NIGHT, DutyKind.OFF)
    duties = tuple(
        Duty(person=code, date=day(n), kind=rng.choices(kinds, (4, 4, 1, 1))[0])
        for code in codes for n in range(-1, 5) if rng.random() < 0.8
    ) if rng.random() < 0.4 else ()  # fmt: skip
    relief = (Relief(person="ALFA-N2", facility="BETA", first=day(1), last=day(2)),) if rng.random() < 0.2 else ()
    return tiny_round(
        settings=rules, people=(*staff("ALFA"), *people), absences=leave, duties=duties, relief=relief,
        facilities=(host("ALFA", 0.3, 0.3, lodging_price=6), beta),
        roads=(*ROADS[:2], road("ALFA", "BETA", rng.choice((0.5, 2.5)), 30)),
    )  # fmt: skip


def _person(rng: Random, number: int) -> Person:
    first = (P, A, N)[number % 3] if number < 6 else rng.choice(ROLES)
    roles = tuple(dict.fromkeys((first, *rng.sample(ROLES, rng.choice((0, 0, 0, 1, 2))))))
    more = {"include": Include.NO} if rng.random() < 0.08 else {}
    found = person(f"BETA-{number}", "BETA", *roles, **more)
    return dataclasses.replace(found, cover_roles=()) if rng.random() < 0.06 else found


# who can be seated ------------------------------------------------------------------------------------------------


def seats_filled(beta: Facility, teams: int, people: tuple[Person, ...], guests: int, empty: int) -> bool:
    """Whether these people, all of them, and so many guests at most a team make so many teams."""
    usual = beta.usual_team
    lent = min(guests, len(usual) // 2) * teams
    free = min(lent, len(usual) * teams - len(people))
    if free < 0 or len(people) + free < (len(usual) - empty) * teams:
        return False
    seats = [((role, k), n) for n in range(teams) for k, role in enumerate(usual)]
    codes = {p.code for p in people}
    graph = nx.Graph([(seat, p.code) for seat in seats for p in people if seat[0][0] in p.roles])
    if not codes <= graph.nodes or not codes <= nx.bipartite.maximum_matching(graph, top_nodes=codes).keys():
        return False
    least = _one_of_each(beta, teams)
    needed = graph.subgraph(codes.union(least))
    missing = len(least) - len(nx.bipartite.maximum_matching(needed, top_nodes=codes)) // 2
    return missing <= free


def _one_of_each(beta: Facility, teams: int) -> list[tuple[tuple[Role, int], int]]:
    """Return one seat of each minimum role and team."""
    return [((role, beta.usual_team.index(role)), n) for n in range(teams) for role in MINIMUM_ROLES]


# who covers -------------------------------------------------------------------------------------------------------


def covered(training_round: TrainingRound, beta: Facility, gone: frozenset[str], shifts: tuple[ShiftKey, ...]) -> bool:
    """Whether those who stay can be named for each shift, nobody for too many on end; every choice is tried."""
    limit = training_round.cover_run(beta)
    teams = [training_round.keep_team(beta, shift) for _, shift in shifts]
    there = [
        tuple((p.code, frozenset(p.cover_roles)) for p in present(training_round, "BETA", *key) if p.code not in gone)
        for key in shifts
    ]
    orders = [2 * on.toordinal() + (shift is Shift.NIGHT) for on, shift in shifts]

    @cache
    def onward(step: int, runs: frozenset[tuple[str, int]]) -> bool:
        if step == len(shifts):
            return True
        before = dict(runs) if step and orders[step] - orders[step - 1] == 1 else {}
        for named in names(teams[step], there[step]):
            after = frozenset((code, before.get(code, 0) + 1) for code in named)
            if all(run <= limit for _, run in after) and onward(step + 1, after):
                return True
        return False

    return onward(0, frozenset())


@cache
def names(team: tuple[Role, ...], people: tuple[tuple[str, frozenset[Role]], ...]) -> tuple[frozenset[str], ...]:
    """Return every set of people who can fill the roles at once."""
    found = {
        frozenset(code for code, _ in chosen)
        for chosen in permutations(people, len(team))
        if all(role in covers for role, (_, covers) in zip(team, chosen, strict=True))
    }
    return tuple(found)


# what can be released ---------------------------------------------------------------------------------------------


def touched(mode: Mode) -> tuple[ShiftKey, ...]:
    """Return the shifts that an attendance is sure to touch."""
    first, last = mode.dates[0], mode.dates[-1]
    found = [(on, Shift.DAY) for on in mode.dates]
    if mode.before or mode.after:
        found += [(on, Shift.NIGHT) for on in mode.dates[:-1]]
    if mode.before:
        found += [(first - ONE_DAY, Shift.DAY), (first - ONE_DAY, Shift.NIGHT)]
    if mode.after:
        found.append((last, Shift.NIGHT))
    return tuple(sorted(found, key=lambda key: (key[0], key[1] is Shift.NIGHT)))


def able(training_round: TrainingRound, mode: Mode) -> list[Person]:
    """Return who can attend: free on the session's dates, and not on leave, night duty or lent on the way."""
    soft = {None, "does not work on that weekday", "marked 'no'", "trained too recently"}
    way = ([mode.dates[0] - ONE_DAY] if mode.before else []) + ([mode.dates[-1] + ONE_DAY] if mode.after else [])
    return [
        p for p in training_round.staff_of("BETA")
        if all(seat_obstacle(training_round, p, on) is None for on in mode.dates)
        and all(seat_obstacle(training_round, p, on) in soft for on in way)
    ]  # fmt: skip


def groups(people: list[Person]) -> Iterator[tuple[Person, ...]]:
    """Yield every choice of people, the empty one included."""
    for size in range(len(people) + 1):
        yield from combinations(people, size)


@cache
def rounds_of(seed: int) -> tuple[TrainingRound, Facts]:
    """Return a random round, and what the solver knows of it."""
    training_round = random_round(seed)
    return training_round, Facts(training_round)


@cache
def away_of(seed: int) -> tuple[tuple[Mode, int], ...]:
    """Return two ways of BETA to attend at ALFA, on the first and on the last date, with the most teams."""
    training_round, facts = rounds_of(seed)
    modes = [found for (code, venue, _), found in facts.modes.items() if (code, venue) == ("BETA", "ALFA")]
    return tuple((mode, most_away(training_round, mode)) for mode in (modes[0][0], modes[-1][-1]))


def most_away(training_round: TrainingRound, mode: Mode) -> int:
    """Return the most teams that can attend in a way, by trying every choice of people."""
    beta, teams = training_round.facility("BETA"), training_round.settings.teams
    best = 0
    for chosen in groups(able(training_round, mode)):
        for k in range(best + 1, beta.teams_wanted + 1):
            if not chosen or not seats_filled(beta, k, chosen, teams.guests, teams.empty_seats):
                continue
            if covered(training_round, beta, frozenset(p.code for p in chosen), touched(mode)):
                best = k
    return best


def most_at_home(training_round: TrainingRound, mode: Mode) -> int:
    """Return whether one team can be seated at home, or how many where the session stops for a patient."""
    beta, teams = training_round.facility("BETA"), training_round.settings.teams
    watching = beta.on_site_cover is OnSiteCover.OBSERVERS
    best = 0
    for chosen in groups(able(training_round, mode)):
        for k in range(best + 1, (1 if watching else beta.teams_wanted) + 1):
            if chosen and seats_filled(beta, k, chosen, teams.guests, teams.empty_seats):
                gone = frozenset(p.code for p in chosen if watching)
                best = k if not watching or covered(training_round, beta, gone, touched(mode)) else best
    return best


@pytest.mark.parametrize("seed", SEEDS)
def test_releases_away_from_home(seed: int) -> None:
    training_round, facts = rounds_of(seed)
    releases, beta = Releases(facts), training_round.facility("BETA")
    for mode, exact in away_of(seed):
        most = releases.by_modes(beta, [mode])
        assert most >= exact
        if training_round.settings.teams.guests == 0:
            assert most == exact


@pytest.mark.parametrize("seed", SEEDS)
def test_releases_at_home(seed: int) -> None:
    training_round, facts = rounds_of(seed)
    releases, beta = Releases(facts), training_round.facility("BETA")
    mode = next(found[0] for (code, venue, _), found in facts.modes.items() if code == venue == "BETA")
    most = releases.by_modes(beta, [mode])
    if beta.on_site_cover is OnSiteCover.NO:
        exact = most_away(training_round, mode)
    else:
        exact = most_at_home(training_round, mode)
    assert most >= exact
    if training_round.settings.teams.guests == 0:
        assert bool(most) == bool(exact)


def test_the_facilities_are_worth_the_comparison() -> None:
    found = {(mode.before, len(mode.dates), most) for seed in SEEDS for mode, most in away_of(seed)}
    assert {(False, 1, 0), (False, 1, 1), (False, 1, 2), (True, 1, 0), (True, 1, 1), (False, 2, 1)} <= found


def test_teams_that_attend_in_different_ways_draw_on_more_people() -> None:
    # Two of each role may go; the first of each are on leave on the morrow, the second on the eve. By either way alone
    # one team can go; one by each way makes two.
    stay = tuple(dataclasses.replace(p, include=Include.NO) for p in staff("BETA"))
    goers = [person(f"BETA-{role}{k}", "BETA", role) for k in (1, 2) for role in MINIMUM_ROLES]
    leave = tuple(Absence(who=p.code, first=on, last=on) for p in goers for on in [day(0 if p.code[-1] == "2" else 2)])
    training_round = tiny_round(
        facilities=(host("ALFA", 0.3, 0.3, lodging_price=6), facility("BETA", 0.3, 0.6, teams_wanted=3, cover_run=9)),
        people=(*staff("ALFA"), *stay, *goers), absences=leave, settings=settings(teams={"guests": 0}),
    )  # fmt: skip
    releases, beta = Releases(Facts(training_round)), training_round.facility("BETA")
    plain = Mode("BETA", "ALFA", (day(1),), False, False, False, False, (), (), "ALFA", (), 0, 0, 0)
    eve = dataclasses.replace(plain, before=True, nights=(day(0),))
    morrow = dataclasses.replace(plain, after=True, nights=(day(1),))
    assert [releases.by_modes(beta, [mode]) for mode in (plain, eve, morrow)] == [2, 1, 1]
    assert releases.by_modes(beta, [eve, morrow]) == 2
    assert releases.by_modes(beta, [eve, morrow, plain]) == 2


def test_in_all_and_on_a_date() -> None:
    training_round = tiny_round(facilities=(host("ALFA", 0.3, 0.3), facility("BETA", 0.3, 0.6, teams_wanted=5)))
    releases, beta = Releases(Facts(training_round)), training_round.facility("BETA")
    assert training_round.settings.teams.guests == 1
    # Each team may leave one seat to a guest: six own people and three guests make three teams. On one date one of each
    # role stays: three own people and two guests do not make two teams.
    assert releases.in_all(beta) == 3
    assert releases.on_date(beta, day(1)) == 1
    alone = training_round.replace(settings=settings(teams={"guests": 0}))
    assert Releases(Facts(alone)).in_all(beta) == 2
    leave = alone.replace(absences=(Absence(who="BETA-N1", first=day(-1), last=day(9)),))
    assert Releases(Facts(leave)).in_all(beta) == 1
    assert Releases(Facts(leave)).on_date(beta, day(1)) == 0
