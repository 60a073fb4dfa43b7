"""Why there is no plan: what is said within the work that is given, and what of it was not tried."""

from __future__ import annotations

import dataclasses

from rounds import crew, day, settings, tiny_round

from roundplan.domain.decision import Do, Lock, LockKind
from roundplan.domain.rules import Rule
from roundplan.domain.training_round import TrainingRound
from roundplan.solver.contradiction import NOT_TRIED, STRUCTURE, contradiction, no_team

NOTHING_OFF: frozenset[Rule] = frozenset()
LOCKS = tuple(Lock(do=do, kind=LockKind.VISIT, who="BETA", date=day(0)) for do in (Do.KEEP, Do.FORBID))


def without_models() -> TrainingRound:
    """Return a round whose crew has no box model, with a lock that has nothing to do with it."""
    forbidden = Lock(do=Do.FORBID, kind=LockKind.PERSON, who="BETA-P1")
    return tiny_round(crews=(crew(box_models=0),), locks=(forbidden,))


def test_with_time_enough_the_one_rule_is_named() -> None:
    (reason,) = no_team(without_models(), NOTHING_OFF, given=60)
    assert reason.rule is Rule.KIT_ENOUGH


def test_without_time_no_rule_is_blamed_and_all_are_listed() -> None:
    lock, demands, rules = no_team(without_models(), NOTHING_OFF, given=0)
    assert (lock.who, lock.rule) == ("BETA-P1", Rule.LOCKS)
    assert (demands.who, demands.rule, rules.who, rules.rule) == (NOT_TRIED, None, NOT_TRIED, None)
    assert "one of those above may not be needed" in demands.words
    listed = rules.words.partition(": ")[2].split(", ")
    assert set(listed) == {rule.value for rule in set(Rule) - STRUCTURE}


def test_suspects_are_tried_first() -> None:
    """A little work goes to the rules that the facilities' reasons name; the rest is told as not tried."""
    found = no_team(without_models().replace(locks=()), NOTHING_OFF, given=1.3, suspects=(Rule.KIT_ENOUGH,))
    assert [reason.rule for reason in found] == [Rule.KIT_ENOUGH, None]
    assert "kit-enough" not in found[1].words


def test_locks_that_were_not_tried_one_by_one_are_told_as_such() -> None:
    training_round = tiny_round(locks=LOCKS, settings=settings(round={"last_day": day(0)}))
    assert [reason.rule for reason in contradiction(training_round)] == [Rule.LOCKS, Rule.LOCKS]
    little = dataclasses.replace(training_round.settings.search, reproducible=True, work_limit=0.001)
    hurried = training_round.replace(settings=dataclasses.replace(training_round.settings, search=little))
    found = contradiction(hurried)
    assert [reason.who for reason in found] == ["BETA", "BETA", NOT_TRIED, NOT_TRIED]
    assert found == contradiction(hurried)
