"""What the scorecard says of each aim: what the plan reaches, and what no plan under these rules could exceed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from roundplan.domain.plan import Tier
from roundplan.domain.role import Include
from roundplan.domain.rules import Aim
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import numeral, say, several
from roundplan.handouts.words import Money, capital, list_words, number

WORKING_DAY = 480
"""Minutes of a working day, as the burden counts a person-day away."""


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


def _room_left(tier: Tier) -> int:
    return abs((tier.bound or 0) - tier.value)


def _first_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    wanting = sum(f.teams_wanted > 0 for f in index.training_round.facilities)
    return capital(
        several(
            "{reached} of {numeral} facility that wants training sends a first team.",
            "{reached} of {numeral} facilities that want training send a first team.",
            wanting,
            reached=numeral(len(_with_team(index))),
        )
    )


def _first_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    teams, r = _with_team(index), index.training_round
    open_points = [r.weight(f) for f in r.facilities if f.teams_wanted and f.code not in teams]
    extra = _most(open_points, _room_left(tier))
    if not extra:
        return say(
            "No plan under these rules could train a first team from a facility more without leaving out one of these."
        )
    return several(
        "No plan under these rules could train more than {numeral} further first team beside these.",
        "No plan under these rules could train more than {numeral} further first teams beside these.",
        extra,
    )


def _must_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    wanted = sum(person.include is Include.MUST for person in index.training_round.people)
    if not wanted:
        return say("Nobody was named as a must.")
    return capital(
        several(
            "{seated} of {numeral} person named as a must has a seat.",
            "{seated} of {numeral} people named as a must have a seat.",
            wanted,
            seated=numeral(tier.value),
        )
    )


def _must_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return several(
        "No plan under these rules that does as well on the aims above could seat more than {numeral} further "
        "person of those named.",
        "No plan under these rules that does as well on the aims above could seat more than {numeral} further "
        "people of those named.",
        _room_left(tier),
    )


def _further_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    teams = _with_team(index)
    every = sum(teams.values())
    if every == len(teams):
        return several("No further teams: {numeral} team in all.", "No further teams: {numeral} teams in all.", every)
    return capital(
        several(
            "{numeral} further team, so {every} teams in all.", "{numeral} further teams, so {every} teams in all.",
            every - len(teams), every=numeral(every),
        )
    )  # fmt: skip


def _further_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    teams, r = _with_team(index), index.training_round
    open_points = [
        r.team_points(f, team)
        for f in r.facilities
        if f.code in teams
        for team in range(teams[f.code] + 1, f.teams_wanted + 1)
    ]
    extra = _most(open_points, _room_left(tier))
    if not extra:
        return say(
            "No plan under these rules that does as well on the aims above could train a team more beside these."
        )
    return several(
        "No plan under these rules that does as well on the aims above could train more than {numeral} further "
        "team beside these.",
        "No plan under these rules that does as well on the aims above could train more than {numeral} further "
        "teams beside these.",
        extra,
    )


def _realism_parts(index: PlanIndex) -> Iterator[str]:
    empty = sum(len(index.empty_seats(team)) for team in index.plan.teams)
    seats = [seat for team in index.plan.teams for seat in team.seats]
    guests = sum(seat.guest for seat in seats)
    other = sum(index.training_round.person(seat.person).roles[0] is not seat.role for seat in seats)
    if empty:
        yield several("{numeral} usual seat empty", "{numeral} usual seats empty", empty)
    if guests:
        yield several("{numeral} guest", "{numeral} guests", guests)
    if other:
        yield several("{numeral} person outside their main role", "{numeral} people outside their main role", other)


def _realism_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    if not tier.value:
        return say(
            "All teams are as they are at home, each with another team to watch it and time between simulations."
        )
    parts = list_words(_realism_parts(index))
    points = capital(several("{numeral} penalty point", "{numeral} penalty points", tier.value))
    if not parts:
        return say("{points} for departures from teams as at home.", points=points)
    return say(
        "{points} for departures from teams as at home: {parts}; the rest for teams unwatched or simulating twice in a "
        "row.",
        points=points,
        parts=parts,
    )


def _realism_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return several(
        "No plan under these rules that does as well on the aims above could come below {numeral} penalty point.",
        "No plan under these rules that does as well on the aims above could come below {numeral} penalty points.",
        tier.bound or 0,
    )


def _days(minutes: int) -> str:
    return number(minutes / WORKING_DAY)


def _burden_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    if not tier.value:
        return say(
            "Nobody is away, travels or gives a day off, and no shift is left with a single person in a minimum role."
        )
    return say(
        "Services and people give about as much as {days} working days: time away, travel, days off used and "
        "shifts left "
        "with a single person in a minimum role.",
        days=_days(tier.value),
    )


def _burden_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return say(
        "No plan under these rules that does as well on the aims above could take less than {days} working days.",
        days=_days(tier.bound or 0),
    )


def _cost_reached(index: PlanIndex, tier: Tier, money: Money) -> str:
    return say("The round costs {amount}.", amount=money(tier.value))


def _cost_room(index: PlanIndex, tier: Tier, money: Money) -> str:
    return say(
        "No plan under these rules that does as well on the aims above could cost less than {amount}.",
        amount=money(tier.bound or 0),
    )


_Words = Callable[[PlanIndex, Tier, Money], str]
WORDS: dict[Aim, tuple[_Words, _Words]] = {
    Aim.FIRST_TEAMS: (_first_reached, _first_room),
    Aim.MUST_PEOPLE: (_must_reached, _must_room),
    Aim.FURTHER_TEAMS: (_further_reached, _further_room),
    Aim.REALISM: (_realism_reached, _realism_room),
    Aim.BURDEN: (_burden_reached, _burden_room),
    Aim.COST: (_cost_reached, _cost_room),
}
"""For each aim: what the plan reaches, and how much better any plan could be where that is bounded but not proven."""
