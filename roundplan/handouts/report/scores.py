"""The scorecard: what each aim reached and how much better any plan could be, in plain words."""

from __future__ import annotations

from dataclasses import dataclass

from roundplan.domain.plan import Status, Tier
from roundplan.domain.rules import AIMS, Aim
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.score_words import WORDS
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import aim_sentence
from roundplan.handouts.words import Money, capital, number, percent


@dataclass(frozen=True, slots=True)
class Score:
    """One line of the scorecard.

    Attributes
    ----------
    aim : str
        What the tier is about.
    reached : str
        What the plan reaches, as a sentence.
    proven : str
        How much better any plan could be, as a sentence.
    figures : str
        Value, bound and gap as figures.
    """

    aim: str
    reached: str
    proven: str
    figures: str


def scorecard(index: PlanIndex, money: Money) -> tuple[Score, ...]:
    """Return the lines of the scorecard in the order of the aims; aims without a tier are left out."""
    tiers = {tier.aim: tier for tier in index.plan.tiers}
    return tuple(_score(index, tiers[d.aim], money) for d in AIMS if d.aim in tiers)


def _score(index: PlanIndex, tier: Tier, money: Money) -> Score:
    reached, _ = WORDS[tier.aim]
    return Score(_aim_words(index, tier.aim), reached(index, tier, money), proven_words(index, tier, money),
                 _figures(tier, money))  # fmt: skip


def _figures(tier: Tier, money: Money) -> str:
    """Write value, bound and gap."""
    value = _value_words(tier, money)
    if tier.bound is None or tier.gap is None:
        return say("Value {value}; no bound", value=value)
    bound = money(tier.bound) if tier.aim is Aim.COST else number(tier.bound)
    return say("Value {value}; bound {bound}; gap {gap}", value=value, bound=bound, gap=percent(tier.gap))


def _value_words(tier: Tier, money: Money) -> str:
    """Write a value with its unit, where the sentence above it does not say it."""
    if tier.aim is Aim.COST:
        return money(tier.value)
    if tier.aim is Aim.MUST_PEOPLE:
        return number(tier.value)
    if tier.aim is Aim.REALISM:
        return several("{number} penalty point", "{number} penalty points", tier.value)
    if tier.aim is Aim.BURDEN:
        return several("{number} minute", "{number} minutes", tier.value)
    return several("{number} point", "{number} points", tier.value)


def proven_words(index: PlanIndex, tier: Tier, money: Money) -> str:
    """Say how much better any plan under these rules could be, given the earlier aims; or that nothing is proven."""
    if tier.bound is None:
        return say("No bound: how much better another plan could do has not been proven in the time given.")
    first = tier.aim is Aim.FIRST_TEAMS
    if tier.status is Status.OPTIMAL or tier.bound == tier.value:
        if first:
            return say("Proven: no plan under these rules could do better.")
        return say("Proven: no plan under these rules that does as well on the aims above could do better.")
    _, room = WORDS[tier.aim]
    return room(index, tier, money)


def _aim_words(index: PlanIndex, aim: Aim) -> str:
    sentence = capital(aim_sentence(next(d.sentence for d in AIMS if d.aim is aim)))
    share = index.training_round.settings.aims.give_up.get(aim.value, 0.0)
    if not share:
        return sentence
    return say("{aim} (up to {share} may be given up for later aims)", aim=sentence, share=percent(share))
