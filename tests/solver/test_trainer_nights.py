"""A trainer who leaves where they live spends no night away, although the crew sleeps on the road that night."""

from __future__ import annotations

from rounds import TRAINERS, day, facility, host, settings, staff, tiny_round, trainer

from roundplan.audit import audit_plan
from roundplan.domain.rules import Aim
from roundplan.solver import find_plan


def test_whoever_leaves_at_the_last_venue_is_neither_paid_nor_limited_for_the_night() -> None:
    # BETA alone trains, at home. With two hours at the wheel the crew drives BASE–BETA (1.5 h) and BETA–ALFA (0.5 h)
    # on one date, sleeps at ALFA, and drives ALFA–BASE (1 h) on the next. LOCAL1 and LOCAL2 live at BETA: aboard for
    # the first date only they cost 2 × 10; T1 and T2 from the base would cost 2 × (10 + 8) and two nights.
    local = (
        trainer("LOCAL1", "ds", lives_at="BETA", day_price=10),
        trainer("LOCAL2", "a", lives_at="BETA", day_price=10),
    )
    training_round = tiny_round(
        settings=settings(
            round={"last_day": day(1)},
            travel={"wheel_hours": 2.0, "day_limit": 0.0, "overnight_limit": 0.0},
            trainers={"nights_limit": 0},
            teams={"guests": 0},
        ),
        facilities=(facility("ALFA", 0.3, 0.3, teams_wanted=0, lodging_price=6), host("BETA", 0.3, 0.6)),
        people=staff("ALFA") + staff("BETA"),
        trainers=(*TRAINERS[:2], *local),
    )
    plan = find_plan(training_round, seconds=30, seed=1, workers=2)
    assert audit_plan(plan, training_round) == ()
    (trip,) = plan.trips
    assert [on.night for on in trip.days] == ["ALFA", None]
    assert [sorted(entry.trainer for entry in on.aboard) for on in trip.days] == [["LOCAL1", "LOCAL2"], []]
    assert not [entry for entry in plan.costs if "nights away" in entry.what]
    cost = next(tier for tier in plan.tiers if tier.aim is Aim.COST)
    assert cost.bound == cost.value
