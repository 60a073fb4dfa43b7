"""The scorecard: what each aim reached and how much better any plan could be, in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from roundplan.domain.counts import plural
from roundplan.domain.plan import Status, Tier
from roundplan.domain.role import Include
from roundplan.domain.rules import AIMS, Aim, AimDefinition
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.words import Money, capital, count, list_words, number, numeral, percent

_UNITS_SAID = {Aim.MUST_PEOPLE, Aim.COST}
"""Aims whose figures need no unit: the sentence above, or the currency, says it."""

WORKING_DAY = 480
"""Minutes of a working day, as the burden counts a person-day away."""


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
    return tuple(_score(index, tiers[d.aim], d, money) for d in AIMS if d.aim in tiers)


def _score(index: PlanIndex, tier: Tier, definition: AimDefinition, money: Money) -> Score:
    reached, _ = _WORDS[tier.aim]
    unit = money if tier.aim is Aim.COST else number
    noun = definition.unit if tier.value == 1 else plural(definition.unit)
    figures = f"Value {unit(tier.value)}" + ("" if tier.aim in _UNITS_SAID else f" {noun}")
    if tier.bound is None or tier.gap is None:
        figures += "; no bound"
    else:
        figures += f"; bound {unit(tier.bound)}; gap {percent(tier.gap)}"
    aim = capital(definition.sentence) + _give_up(index, tier.aim)
    return Score(aim, reached(index, tier, money), proven_words(index, tier, money), figures)


def proven_words(index: PlanIndex, tier: Tier, money: Money) -> str:
    """Say how much better any plan under these rules could be, given the earlier aims; or that nothing is proven."""
    given = "" if tier.aim is Aim.FIRST_TEAMS else " that does as well on the aims above"
    if tier.bound is None:
        return "No bound: how much better another plan could do has not been proven in the time given."
    if tier.status is Status.OPTIMAL or tier.bound == tier.value:
        return f"Proven: no plan under these rules{given} could do better."
    _, room = _WORDS[tier.aim]
    return f"No plan under these rules{given} could {room(index, tier, money)}."


def _give_up(index: PlanIndex, aim: Aim) -> str:
    share = index.training_round.settings.aims.give_up.get(aim.value, 0.0)
    return f" (up to {percent(share)} may be given up for later aims)" if share else ""


def _most(points: list[int], room: int) -> int:
    """Return how many of the points fit into the room, the smallest first: no choice fits more."""
    fitted = 0
    for value in sorted(points):
        room -= value
        if room < 0:
            break
        fitted += 1
    return fitted


def _with_team(index: PlanIndex) -> Counter[str]:
    return Counter(team.facility for team in index.plan.teams)


def _first_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    wanting = [f for f in index.training_round.facilities if f.teams_wanted]
    teams = _with_team(index)
    return f"{capital(numeral(len(teams)))} of {count(len(wanting), 'facility')} that want training send a first team."


def _first_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    teams, r = _with_team(index), index.training_round
    open_points = [r.weight(f) for f in r.facilities if f.teams_wanted and f.code not in teams]
    extra = _most(open_points, abs((tier.bound or 0) - tier.value))
    if not extra:
        return "train a first team from a facility more without leaving out one of these"
    return f"train more than {count(extra, 'further first team')} beside these"


def _must_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    wanted = sum(person.include is Include.MUST for person in index.training_round.people)
    if not wanted:
        return "Nobody was named as a must."
    have = "has" if tier.value == 1 else "have"
    return f"{capital(numeral(tier.value))} of {count(wanted, 'person')} named as a must {have} a seat."


def _must_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return f"seat more than {count(abs((tier.bound or 0) - tier.value), 'further person')} of those named"


def _further_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    teams = _with_team(index)
    further = sum(teams.values()) - len(teams)
    return f"{capital(count(further, 'further team'))}, so {count(sum(teams.values()), 'team')} in all."


def _further_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    teams, r = _with_team(index), index.training_round
    open_points = [
        r.team_points(f, number)
        for f in r.facilities
        if f.code in teams
        for number in range(teams[f.code] + 1, f.teams_wanted + 1)
    ]
    extra = _most(open_points, abs((tier.bound or 0) - tier.value))
    if not extra:
        return "train a team more beside these"
    return f"train more than {count(extra, 'further team')} beside these"


def _realism_parts(index: PlanIndex) -> Iterator[str]:
    empty = sum(len(index.empty_seats(team)) for team in index.plan.teams)
    seats = [seat for team in index.plan.teams for seat in team.seats]
    guests = sum(seat.guest for seat in seats)
    other = sum(index.training_round.person(seat.person).roles[0] is not seat.role for seat in seats)
    if empty:
        yield f"{count(empty, 'usual seat')} empty"
    if guests:
        yield count(guests, "guest")
    if other:
        yield f"{count(other, 'person')} outside their main role"


def _realism_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    if not tier.value:
        return "All teams are as they are at home, each with another team to watch it and time between simulations."
    parts = list(_realism_parts(index))
    points = count(tier.value, "penalty point")
    said = f": {list_words(parts)}; the rest for teams unwatched or simulating twice in a row" if parts else ""
    return f"{capital(points)} for departures from teams as at home{said}."


def _realism_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return f"come below {count(tier.bound or 0, 'penalty point')}"


def _days(minutes: int) -> str:
    return number(minutes / WORKING_DAY)


def _burden_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    return (
        f"Services and people give about as much as {_days(tier.value)} working days: time away, travel, days off used "
        "and shifts left with a single person in a minimum role."
    )


def _burden_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return f"take less than {_days(tier.bound or 0)} working days"


def _cost_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    return f"The round costs {money(tier.value)}."


def _cost_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return f"cost less than {money(tier.bound or 0)}"


_Words = Callable[[PlanIndex, Tier, Money], str]
_WORDS: dict[Aim, tuple[_Words, _Words]] = {
    Aim.FIRST_TEAMS: (_first_reached, _first_room),
    Aim.MUST_PEOPLE: (_must_reached, _must_room),
    Aim.FURTHER_TEAMS: (_further_reached, _further_room),
    Aim.REALISM: (_realism_reached, _realism_room),
    Aim.BURDEN: (_burden_reached, _burden_room),
    Aim.COST: (_cost_reached, _cost_room),
}
