"""Who serves at a facility on a date: own staff, staff lent there and away, leave."""

from __future__ import annotations

from rounds import MONDAY, staff, tiny_round

from roundplan.domain.person import Absence, Relief
from roundplan.domain.presence import serving_at
from roundplan.domain.training_round import TrainingRound


def lending_round() -> TrainingRound:
    plain = tiny_round()
    people = [person.code for person in plain.people]
    beta = [code for code in people if plain.person(code).facility == "BETA"]
    alfa = [code for code in people if plain.person(code).facility == "ALFA"]
    return plain.replace(
        relief=(Relief(person=beta[1], facility="ALFA", first=MONDAY, last=MONDAY),),
        absences=(Absence(who=alfa[0], first=MONDAY, last=MONDAY),),
    )


def test_serving_is_found_among_own_and_lent_staff_in_the_order_of_the_table() -> None:
    """As a walk through the whole table finds it."""
    training_round = lending_round()
    for facility in ("ALFA", "BETA"):
        for day in (MONDAY, MONDAY.replace(day=MONDAY.day + 1)):
            whole = tuple(
                person
                for person in training_round.people
                if training_round.located_at(person.code, day) == facility
                and not training_round.on_leave(person.code, day)
            )
            assert serving_at(training_round, facility, day) == whole
            assert set(whole) <= set(training_round.ever_at(facility))
    assert training_round.relief[0].person in {p.code for p in serving_at(training_round, "ALFA", MONDAY)}
    assert training_round.relief[0].person not in {p.code for p in serving_at(training_round, "BETA", MONDAY)}


def test_without_relief_nobody_else_may_serve() -> None:
    plain = tiny_round(people=staff("ALFA") + staff("BETA"))
    assert plain.ever_at("ALFA") == plain.staff_of("ALFA")
