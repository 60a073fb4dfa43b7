"""summary.html: the round on one page for a ministry or a sponsor; no names of people, one side of paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from roundplan.costs.budget import cost_per_trained_person, trained_people
from roundplan.costs.pricing import total
from roundplan.domain.plan import CoverKind, Plan
from roundplan.domain.rules import AIMS, Aim
from roundplan.domain.training_round import TrainingRound
from roundplan.handouts.page import Table, draft_reasons, frame, render_page
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.money import money_of
from roundplan.handouts.report.page import lede
from roundplan.handouts.report.people import HELPS
from roundplan.handouts.report.refreshers import NOBODY, Standing, reach, standings
from roundplan.handouts.report.scores import Score, scorecard
from roundplan.handouts.safety import COVER_CONFIRMED, NO_AUTHORITY, PATIENT_FIRST, ROADS
from roundplan.handouts.speech import say, several
from roundplan.handouts.words import Money, capital, list_words, number, percent
from roundplan.supplies.orders import order_lines

MOST_DISTRICTS = 9
"""Districts with a row of their own; beyond it the last row holds all the others together."""

MOST_NAMED = 8
"""Facilities without a team that are named; of more, the page says how many there are."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that stands out, and what it is."""

    value: str
    words: str


def render(plan: Plan, training_round: TrainingRound, *, version: int | None = None) -> str:
    """Return the summary as HTML.

    Parameters
    ----------
    version : int or None
        Version of the page's own last change; None = the plan's.
    """
    index = PlanIndex(plan, training_round)
    money = money_of(index, order_lines(plan, training_round))
    found = {tier.aim for tier in plan.tiers}
    scores = dict(zip((d.aim for d in AIMS if d.aim in found), scorecard(index, money), strict=True))
    return render_page(
        "summary.html.j2",
        **frame(plan, say("Summary of the round"), version),
        lede=lede(index),
        draft=draft_reasons(index),
        figures=tuple(_figures(index, money)),
        districts=district_table(index),
        proven=tuple(_proven(scores)),
        left_out=tuple(_left_out(index)),
        services=tuple(_services(index)),
        money=tuple(_money(index, money)),
        safety=(say(PATIENT_FIRST), say(COVER_CONFIRMED), say(NO_AUTHORITY), say(ROADS)),
    )


def _proven(scores: dict[Aim, Score]) -> Iterator[str]:
    """Say how much better a plan could be at most, for the two aims that speak of teams."""
    if Aim.FIRST_TEAMS in scores:
        yield say("First teams: {proven}", proven=scores[Aim.FIRST_TEAMS].proven)
    if Aim.FURTHER_TEAMS in scores:
        yield say("Further teams: {proven}", proven=scores[Aim.FURTHER_TEAMS].proven)


def _figures(index: PlanIndex, money: Money) -> Iterator[Figure]:
    """Yield the numbers that stand at the top."""
    plan = index.plan
    wanting = sum(row[2] for row in reach(index))
    reached = sum(row[1] for row in reach(index))
    people = trained_people(plan)
    yield Figure(say("{reached} of {wanting}", reached=reached, wanting=wanting), say("facilities send a team"))
    yield Figure(number(len(plan.teams), 0), several("team trains", "teams train", len(plan.teams)))
    yield Figure(number(people, 0), several("person trains", "people train", people))
    refreshed = _together(index)
    due = sum(standing.overdue_before for standing in refreshed.values())
    after = sum(standing.overdue for standing in refreshed.values())
    if due:
        yield Figure(
            say("{reached} of {wanting}", reached=due - after, wanting=due), say("overdue refreshers are made up")
        )
    if plan.costs:
        yield Figure(money(total(plan.costs)), say("in all, contingency included"))


def _together(index: PlanIndex) -> dict[str, Standing]:
    """Return the people of each district, all roles together."""
    found: dict[str, Standing] = {}
    for (district, _), standing in standings(index).items():
        found[district] = found.get(district, NOBODY) + standing
    return found


def district_table(index: PlanIndex) -> Table:
    """Return facilities, teams and people by district, the largest first where there are many."""
    r = index.training_round
    teams = Counter(r.facility(team.facility).district for team in index.plan.teams)
    people = _together(index)
    rows = [
        (district, reached, wanting, teams[district], people.get(district, NOBODY).trained,
         people.get(district, NOBODY).staff)
        for district, reached, wanting in reach(index)
    ]  # fmt: skip
    if len(rows) > MOST_DISTRICTS + 1:
        rows = sorted(rows, key=lambda row: (-row[2], row[0]))
        rest = rows[MOST_DISTRICTS:]
        others = several("{number} other district", "{number} other districts", len(rest))
        rows = [*rows[:MOST_DISTRICTS], _sum(others, rest)]
    rows.append(_sum(say("All districts"), rows))
    heads = (say("District"), say("Facilities reached"), say("Teams"), say("People trained"), say("Share of the staff"))
    written = [
        (
            row[0],
            say("{reached} of {wanting}", reached=row[1], wanting=row[2]),
            number(row[3], 0),
            number(row[4], 0),
            percent(row[4] / row[5]) if row[5] else say("no staff list"),
        )
        for row in rows
    ]
    return Table(say("Reach by district"), heads, written, numbers=frozenset({1, 2, 3, 4}), total=True)


_Row = tuple[str, int, int, int, int, int]


def _sum(name: str, rows: list[_Row]) -> _Row:
    """Add rows up under a name."""
    return name, *(sum(row[column] for row in rows) for column in range(1, 6))  # type: ignore[return-value, misc]


def _left_out(index: PlanIndex) -> Iterator[str]:
    """Say which facilities are not reached, and what could help, most often first."""
    with_team = {team.facility for team in index.plan.teams}
    missing = [f for f in index.training_round.facilities if f.teams_wanted and f.code not in with_team]
    if not missing:
        yield say("Every facility that wants training sends at least one team.")
    elif len(missing) <= MOST_NAMED:
        yield say("Without any team: {facilities}.", facilities=list_words(f.name for f in missing))
    else:
        yield capital(
            several(
                "{numeral} facility is without any team; the report names it.",
                "{numeral} facilities are without any team; the report names them.",
                len(missing),
            )
        )
    made = Counter(team.facility for team in index.plan.teams)
    fewer = sum(max(f.teams_wanted - made[f.code], 0) for f in index.training_round.facilities if made[f.code])
    if fewer:
        yield capital(
            several("{numeral} further team that was wanted is left out.",
                    "{numeral} further teams that were wanted are left out.", fewer)
        )  # fmt: skip
    rules = Counter(reason.rule for reason in index.plan.reasons if index.training_round.is_facility(reason.who))
    helps = [say(HELPS[rule]) for rule, _ in rules.most_common(2) if rule in HELPS]
    if helps:
        yield say("What could help most: {ways}", ways=" ".join(helps))


def _services(index: PlanIndex) -> Iterator[str]:
    """Say what the services give, and how they are kept running."""
    away = sum(
        len(outing.people) * len(team.dates) for team in index.plan.teams for outing in team.outings if outing.drives
    )
    shifts = len({(c.facility, c.date, c.shift) for c in index.plan.cover if c.kind is CoverKind.OWN})
    yield capital(
        several(
            "{numeral} person-day of training away from home.",
            "{numeral} person-days of training away from home.",
            away,
        )
    )
    yield capital(
        several(
            "In {numeral} shift of a facility staff are away or training; for it the plan names who keeps the "
            "emergency team.",
            "In {numeral} shifts of facilities staff are away or training; for each the plan names who keeps the "
            "emergency "
            "team.",
            shifts,
        )
    )


def _money(index: PlanIndex, money: Money) -> Iterator[str]:
    """Say what the round costs beside its budget and cap."""
    costs, r = index.plan.costs, index.training_round
    spent = total(costs)
    person = cost_per_trained_person(costs, index.plan)
    if person is not None:
        each = Money(money.currency, 0)(round(person / money.scale))
        yield say("The round costs {amount}, about {each} a trained person.", amount=money(spent), each=each)
    budget = sum(row.amount for row in r.budget)
    if budget:
        yield say("The budget is {budget}.", budget=money(budget))
    if (cap := r.settings.prices.cap) is not None:
        yield say("The cap is {cap}.", cap=money(cap))
