"""Which changes made side by side may break a rule together, one cause at a time."""

from __future__ import annotations

from datetime import timedelta

import pytest
from rounds import day, facility, host, settings, staff, tiny_round

from roundplan.domain.role import Shift
from roundplan.solver.facts import Facts
from roundplan.solver.pieces.clashes import Clashes
from roundplan.solver.taken import Taken

FAR = timedelta(days=20)
BETA_GOES = Taken(
    seated=frozenset({"BETA-P1"}),
    away=frozenset({("BETA-P1", (day(0), Shift.DAY))}),
    touched=frozenset({("BETA", (day(0), Shift.DAY))}),
    teams={"BETA": 1},
    sessions=frozenset({("ALFA", day(0))}),
    aboard=frozenset({("T-D", day(0))}),
    beds={("ALFA", day(0)): 2},
    out=frozenset({("CREW", day(0))}),
)


def clashes(**sections: dict[str, object]) -> Clashes:
    """Return the judge of a round in which BETA's emergencies go to GAMMA, which sends no team."""
    facilities = (host("ALFA", 0.3, 0.3), facility("BETA", 0.3, 0.6, refers_to="GAMMA"), facility("GAMMA", 0.3, 0.9))
    people = staff("ALFA") + staff("BETA") + staff("GAMMA")
    changes = {"settings": settings(**sections)} if sections else {}
    facts = Facts(tiny_round(facilities=facilities, people=people, **changes))
    return Clashes(facts, {"ALFA": 2, "BETA": 2, "GAMMA": 1})


@pytest.mark.parametrize(
    ("other", "clash"),
    [
        (Taken(), False),
        (Taken(seated=frozenset({"BETA-P1"})), True),
        (Taken(seated=frozenset({"BETA-P2"})), False),
        (Taken(sessions=frozenset({("ALFA", day(0))})), True),
        (Taken(sessions=frozenset({("ALFA", day(1))})), False),
        (Taken(aboard=frozenset({("T-D", day(3))})), True),  # nights in a row
        (Taken(aboard=frozenset({("T-D", day(0) + FAR)})), False),
        (Taken(aboard=frozenset({("T-A", day(3))})), False),
        (Taken(out=frozenset({("CREW", day(0))})), True),
        (Taken(out=frozenset({("CREW", day(1))})), False),
        (Taken(beds={("ALFA", day(0)): 1}), True),
        (Taken(beds={("ALFA", day(1)): 1}), False),
        (Taken(touched=frozenset({("BETA", (day(2), Shift.NIGHT))})), True),  # runs of cover
        (Taken(touched=frozenset({("BETA", (day(0) + FAR, Shift.DAY))})), False),
        (Taken(touched=frozenset({("ALFA", (day(0), Shift.DAY))})), False),
        (Taken(touched=frozenset({("GAMMA", (day(0), Shift.DAY))})), True),  # it takes BETA's emergencies
    ],
)
def test_one_cause_at_a_time(other: Taken, clash: bool) -> None:
    judge = clashes()
    assert judge.between(BETA_GOES, other) is clash
    assert judge.between(other, BETA_GOES) is clash


def test_under_a_cap_every_two_changes_clash() -> None:
    assert clashes(prices={"cap": 10**6}).between(Taken(), Taken())


def test_more_teams_than_wanted_are_too_many() -> None:
    judge = clashes()
    assert not judge.too_many(Taken(teams={"BETA": 2, "GAMMA": 1}))
    assert judge.too_many(Taken(teams={"BETA": 3}))
