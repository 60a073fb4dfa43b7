"""The scorecard's sentences follow from value and bound."""

from __future__ import annotations

import dataclasses

from html_sample import sample_plan, sample_round

from roundplan.domain.plan import Status, Tier
from roundplan.domain.rules import Aim
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.scores import Score, scorecard
from roundplan.handouts.words import HARD_SPACE, Money


def score(tier: Tier) -> Score:
    plan = dataclasses.replace(sample_plan(), tiers=(tier,))
    (found,) = scorecard(PlanIndex(plan, sample_round()), Money("MWK", 2))
    return found


def tier(aim: Aim, value: int, bound: int | None, status: Status = Status.FEASIBLE) -> Tier:
    return Tier(aim=aim, value=value, bound=bound, status=status)


def test_a_bound_in_points_becomes_a_number_of_teams() -> None:
    # one facility is left out, its weight 3 (priority 3, nobody overdue): 9 + 3 = 12
    assert score(tier(Aim.FIRST_TEAMS, 9, 12)).proven == (
        "No plan under these rules could train more than one further first team beside these."
    )
    assert "without leaving out one of these" in score(tier(Aim.FIRST_TEAMS, 9, 11)).proven


def test_further_teams_count_only_where_a_facility_wants_more() -> None:
    # only LUV has a first team and wants one more: 3 × 6 = 18 points
    assert "more than one further team beside these" in score(tier(Aim.FURTHER_TEAMS, 36, 54)).proven
    assert "train a team more beside these" in score(tier(Aim.FURTHER_TEAMS, 36, 53)).proven


def test_later_aims_are_given_the_earlier_ones() -> None:
    assert "that does as well on the aims above" in score(tier(Aim.FURTHER_TEAMS, 36, 54)).proven
    assert "aims above" not in score(tier(Aim.FIRST_TEAMS, 9, 12)).proven


def test_an_optimal_tier_is_proven() -> None:
    found = score(tier(Aim.MUST_PEOPLE, 3, 3, Status.OPTIMAL))
    assert found.reached == "Three of four people named as a must have a seat."
    assert found.proven.startswith("Proven: ")


def test_without_a_bound_no_bound_stands_there() -> None:
    found = score(tier(Aim.COST, 294_577_50, None, Status.NO_BOUND))
    assert found.proven.startswith("No bound")
    assert found.figures.replace(HARD_SPACE, " ") == "Value MWK 294,578; no bound"


def test_minimised_tiers_speak_of_less() -> None:
    burden = score(tier(Aim.BURDEN, 14_400, 12_000))  # 14,400 / 480 = 30 days; 12,000 / 480 = 25 days
    assert "about as much as 30 working days" in burden.reached
    assert burden.proven.endswith("take less than 25 working days.")
    assert burden.figures.replace(HARD_SPACE, " ") == "Value 14,400 minutes; bound 12,000; gap 17 %"
    assert score(tier(Aim.REALISM, 6, 2)).proven.endswith("come below two penalty points.")
