"""Teams dealt out of the people of one facility and date; sums by hand stand beside each cohort."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest
from ortools.sat.python import cp_model
from rounds import A, N, P, crew, day, facility, hall, host, place, road, settings, staff, tiny_round

import roundplan
from roundplan.audit import audit_plan
from roundplan.domain.plan import Search
from roundplan.domain.role import MINIMUM_ROLES, Role
from roundplan.domain.rules import AIMS, Rule
from roundplan.domain.supply import Case
from roundplan.domain.training_round import TrainingRound
from roundplan.intake import read_round
from roundplan.solver.assembly import assemble
from roundplan.solver.choices import Choices
from roundplan.solver.dealing import Cohort, Hand, Share, TeamsNotDealt, deal
from roundplan.solver.facts import Facts
from roundplan.solver.limits import add_limits
from roundplan.solver.outline import OutlineSeat
from roundplan.solver.read_off import read_off

DEMO = Path(roundplan.__file__).parents[1] / "inputs_demo"
S, C = Role.SCRUB, Role.CIRCULATING
FIVE = (P, A, N, S, C)
LETTERS = dict(zip("PANSC", FIVE, strict=True))


def facts_of(usual: tuple[Role, ...] = FIVE, *off: Rule, cases: tuple[Case, ...] = (), **teams: object) -> Facts:
    """Return a round in which BETA, with that usual team, wants three teams and ALFA can lend guests."""
    home = facility("BETA", 0.3, 0.6, usual_team=usual, teams_wanted=3)
    people = staff("ALFA", "PPPAAANNNSSSCCC") + staff("BETA", "PPPPAAAANNNNSSSSCCCC")
    return Facts(
        tiny_round(
            facilities=(host("ALFA", 0.3, 0.3), home), people=people, cases=cases, settings=settings(teams=teams)
        ),
        frozenset(off),
    )


def cohort(own: str, *shares: tuple[str, int, int], **guests: str) -> Cohort:
    """Return BETA's people of Monday by letter, its shares (venue, teams, own people), and guests by venue."""
    mode = Facts(tiny_round()).modes["BETA", "ALFA", day(0)][0]
    counts = Counter(own)
    seats = {role: tuple(f"BETA-{x}{n + 1}" for n in range(counts[x])) for x, role in LETTERS.items()}
    lent = {
        venue: tuple(OutlineSeat(f"ALFA-{x}{n + 1}", LETTERS[x], mode) for n, x in enumerate(letters))
        for venue, letters in guests.items()
    }
    return Cohort("BETA", day(0), tuple(Share(*share) for share in shares), seats, lent)


def case(code: str, *more: Role) -> Case:
    """Return a case that needs some roles beyond the minimum."""
    return Case(code=code, name=code, stop_rule="on the stop word", roles=(*MINIMUM_ROLES, *more))


def letters(hand: Hand) -> str:
    """Return a team by letter, guests small."""
    names = {role: letter for letter, role in LETTERS.items()}
    return "".join(names[s.role].lower() if s.guest_mode else names[s.role] for s in hand)


def test_seats_are_dealt_so_that_each_team_is_one() -> None:
    # 2 P, 2 A, 1 + 1 guest N, 1 S: seven seats make two teams of a usual four, one of them with a seat empty.
    facts = facts_of((P, A, N, S))
    ((first, second),) = deal(cohort("PPAANS", ("HALL", 2, 6), HALL="N"), facts)
    assert sorted((len(first), len(second))) == [3, 4]
    assert all(set(MINIMUM_ROLES) <= {seat.role for seat in hand} for hand in (first, second))
    # Without the guest there is one N for two teams.
    with pytest.raises(TeamsNotDealt, match="BETA from 2026-06-01"):
        deal(cohort("PPAANS", ("HALL", 2, 6)), facts)


def test_head_counts_by_session_hold_whatever_their_order() -> None:
    # 2 each of P, A, N, S and one C: nine people, five to one place and four to the other; the C goes with the five.
    facts = facts_of()
    for people in ((5, 4), (4, 5)):
        (one,), (other,) = deal(cohort("PPAANNSSC", ("HERE", 1, people[0]), ("THERE", 1, people[1])), facts)
        assert (letters(one), letters(other)) == (("PANSC", "PANS") if people == (5, 4) else ("PANS", "PANSC"))
    # Six people at one place are more than the usual five.
    with pytest.raises(TeamsNotDealt):
        deal(cohort("PPAANNSSC", ("HERE", 1, 6), ("THERE", 1, 3)), facts)


def test_no_team_is_left_short_because_another_was_filled_first() -> None:
    # Three teams want 15 seats; 3 P, 3 A, 3 N, 2 S, 1 C fill 12: one seat empty a team, never two in one.
    dealt = deal(cohort("PPPAAANNNSSC", ("HERE", 1, 4), ("THERE", 2, 8)), facts_of())
    assert sorted(letters(hand) for hands in dealt for hand in hands) == ["PANC", "PANS", "PANS"]


def test_guests_of_one_venue_are_spread_over_its_modes_within_the_limit() -> None:
    # Two ways to the same hall: one team with 4 own people, two teams with 9. Guests N and S: one a team at most, so
    # the team with 4 takes one (5 seats in all) and of the others one has 5 own people, one 4 and a guest.
    dealt = deal(cohort("PPPAAANNSSCCC", ("HALL", 1, 4), ("HALL", 2, 9), HALL="NS"), facts_of())
    assert [sum(seat.guest_mode is None for hand in hands for seat in hand) for hands in dealt] == [4, 9]
    guests = [sum(seat.guest_mode is not None for seat in hand) for hands in dealt for hand in hands]
    assert sorted(guests) == [0, 1, 1]
    assert guests[0] == 1


def test_guests_stay_at_the_venue_they_were_lent_to() -> None:
    # An S lent to HERE fills its seat, so the only S of BETA goes to the other place.
    (here,), (there,) = deal(cohort("PPAANNSC", ("HERE", 1, 4), ("THERE", 1, 4), HERE="S"), facts_of())
    assert (letters(here), letters(there)) == ("PANsC", "PANS")
    # The same with nobody but a second C at BETA: HERE has P, A, N, C and its guest, five at THERE need an S.
    with pytest.raises(TeamsNotDealt):
        deal(cohort("PPAANNCC", ("HERE", 1, 3), ("THERE", 1, 5), HERE="S"), facts_of())


def test_two_guests_are_at_most_half_of_a_team() -> None:
    # Usual four, one may be empty. Two guests and two own people are half; two guests and one are more.
    usual = (P, A, N, S)
    ((hand,), (other,)) = deal(cohort("PPAANS", ("HERE", 1, 2), ("THERE", 1, 4), HERE="NS"), facts_of(usual, guests=2))
    assert (letters(hand), letters(other)) == ("PAns", "PANS")
    with pytest.raises(TeamsNotDealt):
        deal(cohort("PPAN", ("HERE", 1, 1), ("THERE", 1, 3), HERE="AN"), facts_of(usual, guests=2))


def test_pooled_teams_keep_more_minimum_seats_than_any_lender() -> None:
    # Guests N, A, S and C at two teams: the two of the minimum sit apart, each team keeping two of its three.
    pooled = facts_of(FIVE, guests_pooled=True)
    ((one, two),) = deal(cohort("PPANSC", ("HALL", 2, 6), HALL="ANSC"), pooled)
    for hand in (one, two):
        assert sum(seat.guest_mode is not None and seat.role in MINIMUM_ROLES for seat in hand) == 1
    with pytest.raises(TeamsNotDealt):
        deal(cohort("PPANNSSCC", ("HERE", 1, 3), ("THERE", 1, 6), HERE="AN"), pooled)


def test_a_role_written_twice_is_two_seats() -> None:
    # Usual P, A, N, C, C: ten seats in two teams; three C leave one of four C seats empty, so the teams hold 5 and 4.
    twice = facts_of((P, A, N, C, C))
    (one,), (two,) = deal(cohort("PPAANNCCC", ("HERE", 1, 4), ("THERE", 1, 5)), twice)
    assert (letters(one), letters(two)) == ("PANC", "PANCC")
    with pytest.raises(TeamsNotDealt):
        deal(cohort("PPAANNCC", ("HERE", 1, 3), ("THERE", 1, 5)), twice)


def test_each_team_can_run_as_many_cases_as_it_simulates() -> None:
    # Two simulations and two cases, one of which needs an S: no team is without one, though a seat may be empty.
    cases = (case("PLAIN"), case("MORE", S))
    people = cohort("PPAANNSCC", ("HALL", 2, 9))
    assert deal(people, facts_of())
    with pytest.raises(TeamsNotDealt):
        deal(people, facts_of(cases=cases))
    assert deal(people, facts_of(FIVE, Rule.SIMULATIONS_PER_TEAM, cases=cases))


def test_what_a_switched_off_rule_leaves_short_is_as_little_as_can_be() -> None:
    # One N for two teams: with the minimum off one team goes without; nobody else is moved to make it two.
    ((one, two),) = deal(cohort("PPAANSSCC", ("HALL", 2, 9)), facts_of(FIVE, Rule.TEAM_MINIMUM))
    assert sorted((letters(one), letters(two))) == ["PANSC", "PASC"]
    # P, A, N twice and one C: three seats of ten are empty where two may be.
    ((one, two),) = deal(cohort("PPAANNC", ("HALL", 2, 7)), facts_of(FIVE, Rule.TEAM_MIRRORS_HOME))
    assert sorted((letters(one), letters(two))) == ["PAN", "PANC"]


def test_the_same_people_are_dealt_the_same_way_twice() -> None:
    many = cohort("PPPAAANNSSCCC", ("HALL", 1, 4), ("HALL", 2, 9), HALL="NS")
    assert deal(many, facts_of()) == deal(many, facts_of())


# what the model lets through ------------------------------------------------------------------------------------------


def two_halls(usual: tuple[Role, ...] = FIVE, cases: tuple[Case, ...] = ()) -> Facts:
    """Return a round in which BETA can send a team to each of two halls; GAMA lends guests."""
    training_round = tiny_round(
        facilities=(
            facility("BETA", 0.3, 0.6, usual_team=usual, teams_wanted=2),
            facility("GAMA", 0.3, 0.9, teams_wanted=0),
        ),
        people=staff("BETA", "PPPPAAAANNNNSSSSCCCC") + staff("GAMA", "PPPPAAAANNNNSSSSCCCC"),
        places=(place("BASE", 0.0, 0.0), hall("HERE", 0.3, 0.3), hall("THERE", 0.0, 0.3)),
        roads=tuple(
            road(start, end, 0.5, 30) for start in ("BASE", "BETA", "GAMA") for end in ("HERE", "THERE")
        ),
        crews=(crew("CREW1"), crew("CREW2")),
        cases=cases,
    )  # fmt: skip
    return Facts(training_round)


def hands_possible(own: dict[Role, int], people: tuple[int, int], guests: tuple[str, str]) -> bool:
    """Try every way to seat S and C of two teams; the minimum is complete, whoever is no guest being BETA's."""
    for here in product((0, 1), repeat=4):
        seated = {S: (here[0], here[1]), C: (here[2], here[3])}
        if any(sum(seated[role]) != own[role] for role in (S, C)):
            continue
        fine = []
        for team, lent in enumerate(guests):
            optional = sum(seated[role][team] for role in (S, C))
            clash = any(seated[LETTERS[x]][team] for x in lent if x in "SC")
            minimum = sum(x not in lent for x in "PAN")
            fine.append(not clash and minimum + optional == people[team] and 4 <= people[team] + len(lent) <= 5)
        if all(fine):
            return True
    return False


def situations() -> Iterator[tuple[dict[Role, int], tuple[int, int], tuple[str, str]]]:
    """Yield own people by role, heads by team, guests by team such that the totals of the date agree."""
    for lent_here, lent_there in (("", ""), ("S", ""), ("S", "C"), ("N", "S")):
        minimum = 6 - sum(x in "PAN" for x in lent_here + lent_there)
        for scrub, circulating in product((0, 1, 2), repeat=2):
            for heads in (3, 4, 5):
                people = (heads, minimum + scrub + circulating - heads)
                if 2 <= people[1] <= 5:
                    yield {S: scrub, C: circulating}, people, (lent_here, lent_there)


def test_the_model_admits_what_can_be_dealt_and_nothing_else() -> None:
    facts = two_halls()
    choices = Choices(facts, only=frozenset(("BETA", venue, day(0)) for venue in ("HERE", "THERE")))
    add_limits(choices)
    counted = Counter[bool]()
    for own, people, guests in situations():
        possible = hands_possible(own, people, guests)
        counted[possible] += 1
        assert admitted(choices, own, people, guests) == possible, (own, people, guests)
        letters_own = "".join(x * (2 - "".join(guests).count(x)) for x in "PAN") + "S" * own[S] + "C" * own[C]
        asked = cohort(letters_own, ("HERE", 1, people[0]), ("THERE", 1, people[1]), HERE=guests[0], THERE=guests[1])
        if possible:
            assert [len(hands) for hands in deal(asked, facts)] == [1, 1]
        else:
            with pytest.raises(TeamsNotDealt):
                deal(asked, facts)
    assert min(counted[True], counted[False]) >= 20


@pytest.mark.parametrize(("more", "fewest"), [((C,), 4), ((C, C), 5)])
def test_a_case_that_needs_two_of_a_role_leaves_neither_seat_empty(more: tuple[Role, ...], fewest: int) -> None:
    # Usual P, A, N, C, C, two simulations, two cases: with one C of two the case for one can still be run.
    facts = two_halls((P, A, N, C, C), (case("PLAIN"), case("MORE", *more)))
    choices = Choices(facts, only=frozenset({("BETA", "HERE", day(0)), ("BETA", "THERE", day(0))}))
    add_limits(choices)
    possible = [n for n in (4, 5) if admitted(choices, {C: n - 3 + 2}, (n, 5), ("", ""))]
    assert min(possible) == fewest


def admitted(choices: Choices, own: dict[Role, int], people: tuple[int, int], guests: tuple[str, str]) -> bool:
    """Whether the model has a solution in which just these people come."""
    model = choices.model.clone()
    for sending in choices.sendings:
        team = ("HERE", "THERE").index(sending.venue)
        model.add(sending.teams == 1)
        model.add(sending.people == people[team])
    for (_, venue, _, role), (count,) in choices.guest_seats.items():
        model.add(count == sum(LETTERS[x] is role for x in guests[("HERE", "THERE").index(venue)]))
    for role, amount in own.items():
        model.add(sum(var for (_, _, r), var in choices.seat.items() if r is role) == amount)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.cp_model_probing_level = 0
    return solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)


# unpolished solutions of a round of common size -----------------------------------------------------------------------


class _Few(cp_model.CpSolverSolutionCallback):
    """Keeps solutions as they come and ends the search after so many."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self.most, self.kept = most, list[list[int]]()

    def on_solution_callback(self) -> None:
        """Keep one."""
        self.kept.append(list(self.response_proto.solution))
        if len(self.kept) >= self.most:
            self.stop_search()


@pytest.fixture(scope="module")
def demo() -> TrainingRound:
    """Return the round of the demonstration inputs."""
    return read_round(DEMO).training_round


@pytest.mark.parametrize(("home", "seed"), [("MAL", 1), ("LIS", 2)])
def test_early_solutions_with_a_parted_cohort_are_plans_without_a_breach(
    demo: TrainingRound, home: str, seed: int
) -> None:
    """The first solutions as they come, nothing polished; heads of one session few, of the next many."""
    facts = Facts(demo)
    first = sorted({first for code, _, first in facts.modes if code == home})[1]
    choices = Choices(facts, only=frozenset(v for v in facts.modes if v[0] == home and v[2] == first))
    add_limits(choices)
    choices.model.add(sum(s.used for s in choices.cohorts[home, first]) >= 2)
    choices.model.maximize(sum((-1) ** n * s.people for n, s in enumerate(choices.sendings)))
    solver, few = cp_model.CpSolver(), _Few(2)
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.cp_model_probing_level = 0
    solver.solve(choices.model, few)
    assert few.kept
    for values in few.kept:
        plan = assemble(read_off(choices, lambda var, values=values: values[var.index]), facts, (), Search())
        # the outline has no tiers, which the audit says once an aim
        assert len(audit_plan(plan, demo)) == len(AIMS)
