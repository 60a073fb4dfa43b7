"""How a comparison says what was changed, how a search ended, and how good its plan is proven to be."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from roundplan.domain.plan import Plan, Tier
from roundplan.domain.rules import AIMS, Aim
from roundplan.domain.scenario import Change, ChangeKind, End
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import capital, list_words, number, percent

COVERAGE = (Aim.FIRST_TEAMS, Aim.FURTHER_TEAMS)
"""The aims that speak of teams."""


def change_words(change: Change) -> str:
    """Say one change."""
    match change.kind:
        case ChangeKind.SETTING:
            return say("{key} = {value}", key=change.name, value=change.value)
        case ChangeKind.CREW:
            return say("without crew {crew}", crew=change.name)
        case ChangeKind.TRAINER:
            return say("without trainer {trainer}", trainer=change.name)
        case ChangeKind.TABLE:
            return say("with the table {table}", table=change.name)
        case ChangeKind.ROADS:
            return say("roads take {factor} times as long", factor=number(float(change.value), 2))
        case ChangeKind.ILL:
            return say("trainer {trainer} is ill", trainer=change.name)
        case ChangeKind.LOST:
            return say("the vehicle of crew {crew} is lost", crew=change.name)
        case ChangeKind.NO_GUESTS:
            return say("no guests in teams")


def column_words(changes: Iterable[Change]) -> str:
    """Say all changes of a column."""
    made = tuple(changes)
    if not made:
        return say("As entered")
    said = list_words(change_words(change) for change in made)
    return said if made[0].kind is ChangeKind.SETTING else capital(said)


def end_words(end: End) -> str:
    """Say why there is no plan."""
    return {
        End.FOUND: "",
        End.IMPOSSIBLE: say("proven: no plan is possible"),
        End.OUT_OF_TIME: say("no team was found in the time given"),
        End.BREACH: say("left out: by a fault of the program the plan broke a rule"),
    }[end]


def proof_words(tier: Tier, money: Callable[[int], str]) -> str:
    """Say how far an aim could be reached at best; ``money`` writes an amount."""
    if tier.bound is None or tier.gap is None:
        return say("no bound")
    if tier.bound == tier.value:
        return say("proven best")
    best = money(tier.bound) if tier.aim is Aim.COST else number(tier.bound)
    return say("at most {best}", best=best) if _maximised(tier) else say("at least {best}", best=best)


def _maximised(tier: Tier) -> bool:
    return next(definition.maximise for definition in AIMS if definition.aim is tier.aim)


def proven_words(plan: Plan) -> str:
    """Say whether coverage is proven to be as high as can be."""
    tiers = [tier for tier in plan.tiers if tier.aim in COVERAGE]
    if all(tier.bound == tier.value for tier in tiers):
        return say("proven: no plan trains more")
    if any(tier.bound is None or tier.gap is None for tier in tiers):
        return say("not proven")
    worst = max(((tier.bound or 0) - tier.value) / max(tier.bound or 0, 1) for tier in tiers)
    return say("not proven: at most {share} of what may be possible is missing", share=percent(worst))


def more_words(difference: int) -> str:
    """Say how many more or fewer there are than in the round as entered."""
    if not difference:
        return say("as many")
    if difference > 0:
        return several("{number} more", "{number} more", difference)
    return several("{number} fewer", "{number} fewer", -difference)
