"""A proposal in plain words: what is lost, what changes for whom, at what cost, and how sure it is the least."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from roundplan.domain.changes import LATER, RELEASED, SOON
from roundplan.domain.counts import counted
from roundplan.domain.plan import Plan
from roundplan.domain.repair import Measured, Repaired
from roundplan.domain.training_round import TrainingRound
from roundplan.followup.facts import fact_lines
from roundplan.handouts.difference import Change, differences
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.speech import speaking
from roundplan.handouts.words import Money, dates_words
from roundplan.replanning.offers import offer_lines
from roundplan.replanning.situation import Situation

_UNSEEN = str.maketrans({"\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ", "\N{WORD JOINER}": None})
"""What keeps words of a document together and a terminal would show as a code."""


def on_a_terminal(lines: Iterable[str]) -> tuple[str, ...]:
    """Return lines without what a terminal cannot show."""
    return tuple(line.translate(_UNSEEN) for line in lines)


def bearing_lines(situation: Situation) -> Iterator[str]:
    """Yield what has come since the plan was told: facts in force, and seats to be filled with whom to ask first."""
    if situation.facts:
        yield "New facts in force:"
        yield from (f"  {line}" for line in fact_lines(situation.facts, situation.reading.training_round.name_of))
    offers = list(offer_lines(situation))
    if offers:
        yield "Seats whose holders cannot come, and whom to ask, the first first:"
        yield from (f"  {line}" for line in offers)


def proposal_lines(situation: Situation, repaired: Repaired, plan: Plan, agreed: Sequence[str]) -> Iterator[str]:
    """Yield what a proposal does, for the manager to accept or to refuse.

    Parameters
    ----------
    plan : Plan
        As it would be told, priced.
    agreed : sequence of str
        What had been confirmed and would be other than it was.
    """
    index = situation.told.index
    after = PlanIndex(plan, situation.reading.training_round)
    with speaking("en"):
        yield from _coverage(repaired, after.training_round)
        yield from _points(repaired.stability)
        yield _cost(index.plan, plan, after.training_round)
        if agreed:
            yield "Confirmed before, and other than it was:"
            yield from (f"  {line}" for line in agreed)
        yield from _who_is_told(index, after)
        yield from _gains(repaired, after)


def _coverage(repaired: Repaired, training_round: TrainingRound) -> Iterator[str]:
    lost = repaired.coverage_lost
    if not lost.value:
        yield "Nobody loses a team: every facility keeps as many as it had been told."
        return
    yield f"Lost ({_sureness(lost, 'no plan under the rules could lose less')}):"
    for team in repaired.lost:
        yield f"  {training_round.name_of(team.facility)}: team {team.number}"
    for person in repaired.lost_people:
        yield f"  {training_round.name_of(person)}, marked must, has no seat any more"


def _points(points: Measured) -> Iterator[str]:
    if not points.value:
        yield "Change for people, days, venues, crews and trainers: none."
        return
    sure = _sureness(points, "no plan that loses as little could change less")
    yield f"Change: {counted(points.value, 'point')} ({sure})."
    yield (
        f"  Another person counts 3, another day or venue 2 a seat, another crew or trainer 1; three times from {SOON} "
        f"days before on, twice from {LATER}; {RELEASED} times more for a seat that was given free."
    )


def _sureness(measured: Measured, words: str) -> str:
    """Say whether no plan is better, and otherwise how much better one could be at most."""
    if measured.proven:
        return words
    if measured.bound is None:
        return "not proven to be the least in the time given"
    return (
        f"not proven to be the least in the time given; counted in points it is {measured.value:,}, no plan has fewer "
        f"than {measured.bound:,}: the gap is {measured.gap:,}"
    )


def _cost(before: Plan, after: Plan, training_round: TrainingRound) -> str:
    now, then = (sum(entry.amount for entry in plan.costs) for plan in (after, before))
    in_round = training_round.settings.round
    money = Money(in_round.currency, in_round.currency_digits, (now, then))
    if now == then:
        return f"Cost: {money(now)}, as before."
    more = f"{money(now - then)} more" if now > then else f"{money(then - now)} less"
    return f"Cost: {money(now)}, {more} than before ({money(then)})."


def _who_is_told(before: PlanIndex, after: PlanIndex) -> Iterator[str]:
    found = differences(before, after)
    groups: tuple[tuple[str, tuple[str, ...], Callable[[str], tuple[Change, ...]], int], ...] = (
        ("Facilities", found.facilities, found.of_facility, len(after.training_round.facilities)),
        ("Trainers", found.trainers, found.of_trainer, len(after.training_round.trainers)),
        ("Crews", found.crews, found.of_crew, len(after.training_round.crews)),
    )
    for title, codes, of, everybody in groups:
        rest = everybody - len(codes)
        if not codes:
            yield f"{title}: nothing changes for any."
            continue
        yield f"{title}: {len(codes)} to be told; nothing changes for the other {rest:,}." if rest else f"{title}:"
        for code in codes:
            yield f"  {_name(before, after, code)}"
            yield from (f"    {change.words()}" for change in of(code))


def _name(before: PlanIndex, after: PlanIndex, code: str) -> str:
    name = after.name(code)
    return name if name != code else before.name(code)


def _gains(repaired: Repaired, after: PlanIndex) -> Iterator[str]:
    if not repaired.gains:
        return
    yield "Not part of this proposal: each of these teams could be added without a change for anybody else."
    for gain in repaired.gains:
        where = f"{dates_words(gain.dates)}, at {after.name(gain.venue)}"
        yield f"  {after.name(gain.facility)}, team {gain.number}: {where}"
