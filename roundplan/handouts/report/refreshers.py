"""Who is trained and whose refresher is overdue, by district and main role."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from markupsafe import Markup

from roundplan.domain.person import Person
from roundplan.domain.role import Role
from roundplan.domain.training_round import add_months
from roundplan.handouts.page import Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.report.charts import Bar, bar_chart
from roundplan.handouts.speech import say, several
from roundplan.handouts.terms import role_word
from roundplan.handouts.words import capital, number


@dataclass(frozen=True, slots=True)
class Standing:
    """People of one district and main role; each is counted once in the last four.

    Attributes
    ----------
    staff : int
        On the staff lists.
    overdue_before : int
        Last trained longer ago than the alarm, on the first date of the round.
    trained : int
        Seated in this plan.
    fresh : int
        Not seated, last trained within the alarm.
    overdue : int
        Not seated, last trained longer ago than the alarm.
    unknown : int
        Not seated, no training in the ledger.
    """

    staff: int = 0
    overdue_before: int = 0
    trained: int = 0
    fresh: int = 0
    overdue: int = 0
    unknown: int = 0

    def __add__(self, other: Standing) -> Standing:
        """Return both together."""
        return Standing(
            self.staff + other.staff,
            self.overdue_before + other.overdue_before,
            self.trained + other.trained,
            self.fresh + other.fresh,
            self.overdue + other.overdue,
            self.unknown + other.unknown,
        )


NOBODY = Standing()


def standings(index: PlanIndex) -> dict[tuple[str, Role], Standing]:
    """Count the people of each district and main role; pairs without anybody are left out."""
    seated = {seat.person for team in index.plan.teams for seat in team.seats}
    found: dict[tuple[str, Role], Standing] = defaultdict(Standing)
    for person in index.training_round.people:
        key = (index.training_round.facility(person.facility).district, person.roles[0])
        found[key] += _of(index, person, person.code in seated)
    return found


def _of(index: PlanIndex, person: Person, seated: bool) -> Standing:
    r = index.training_round
    last = r.last_trained(person.code)
    late = last is not None and add_months(last, r.settings.teams.alarm_months) < r.settings.round.first_day
    counted = partial(Standing, staff=1, overdue_before=int(late))
    if seated:
        return counted(trained=1)
    if last is None:
        return counted(unknown=1)
    return counted(overdue=1) if late else counted(fresh=1)


def refresher_table(index: PlanIndex) -> Table:
    """Return trained and overdue people by district and main role, roles over all districts at the end."""
    found = standings(index)
    districts = list(dict.fromkeys(facility.district for facility in index.training_round.facilities))
    rows: list[tuple[str, ...]] = []
    for district in districts:
        for role in Role:
            if (district, role) in found:
                rows.append((district, *_figures(role_word(role), found[district, role])))
    for role, standing in by_role(found):
        rows.append((say("All districts"), *_figures(role_word(role), standing)))
    total = sum(found.values(), NOBODY)
    rows.append((say("All districts"), *_figures(say("all roles"), total)))
    months = index.training_round.settings.teams.alarm_months
    heads = (say("District"), say("Main role"), say("Staff"), say("Overdue before the round"),
             say("Trained in this round"), say("Still in date"), say("Overdue after it"),
             say("No training on record"))  # fmt: skip
    caption = several(
        "People by main role; overdue: last trained more than {number} month before the round",
        "People by main role; overdue: last trained more than {number} months before the round",
        months,
    )
    return Table(caption, heads, rows, numbers=frozenset(range(2, 8)), grid=True, total=True)


def _figures(role: str, standing: Standing) -> tuple[str, ...]:
    counted = (standing.staff, standing.overdue_before, standing.trained, standing.fresh, standing.overdue,
               standing.unknown)  # fmt: skip
    return role, *(number(value, 0) for value in counted)


def by_role(found: dict[tuple[str, Role], Standing]) -> Iterator[tuple[Role, Standing]]:
    """Yield each role with its people of all districts together."""
    for role in Role:
        together = sum((standing for (_, held), standing in found.items() if held is role), NOBODY)
        if together.staff:
            yield role, together


def role_chart(index: PlanIndex) -> Markup:
    """Draw for each main role how many of the staff are trained in the round, in date before it, or neither."""
    bars = [
        Bar(
            capital(role_word(role)),
            (standing.trained, standing.fresh, standing.overdue + standing.unknown),
            say("{trained} of {staff}", trained=standing.trained, staff=standing.staff),
        )
        for role, standing in by_role(standings(index))
    ]
    parts = (say("trained in this round"), say("still in date"), say("overdue or unknown"))
    return bar_chart("roles", say("Staff trained, by main role"), parts, bars)


def district_chart(index: PlanIndex) -> Markup:
    """Draw for each district how many of the facilities that want training are reached."""
    bars = [
        Bar(district, (reached, wanting - reached), say("{reached} of {wanting}", reached=reached, wanting=wanting))
        for district, reached, wanting in reach(index)
    ]
    parts = (say("send a team"), say("send none"))
    return bar_chart("districts", say("Facilities that want training, by district"), parts, bars)


def reach(index: PlanIndex) -> Sequence[tuple[str, int, int]]:
    """Return for each district its facilities with a team and those that want one."""
    r = index.training_round
    with_team = {team.facility for team in index.plan.teams}
    counted: dict[str, tuple[int, int]] = {}
    for facility in r.facilities:
        reached, wanting = counted.get(facility.district, (0, 0))
        has = facility.code in with_team
        counted[facility.district] = (reached + has, wanting + (facility.teams_wanted > 0 or has))
    return [(district, *figures) for district, figures in counted.items()]
