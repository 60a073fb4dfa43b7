"""What the written plan comes to in each tier, so that figures listed are those of the plan and not of the model."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from roundplan.costs.pricing import total
from roundplan.domain.clock import MINUTE
from roundplan.domain.plan import Plan, SlotKind, Team
from roundplan.domain.role import MINIMUM_ROLES, Include
from roundplan.domain.rules import Aim
from roundplan.solver.assembly.away import Absences
from roundplan.solver.facts import Facts


def plan_values(plan: Plan, facts: Facts) -> dict[Aim, int]:
    """Return each tier's value in its own unit: points, people, minutes, minor units."""
    absences = Absences(plan, facts)
    sent = Counter(team.facility for team in plan.teams)
    facilities = {code: facts.round.facility(code) for code in sent}
    musts = {s.person.code for s in absences.sitters if s.person.include is Include.MUST}
    return {
        Aim.FIRST_TEAMS: sum(facts.round.weight(f) for f in facilities.values()),
        Aim.MUST_PEOPLE: len(musts),
        Aim.FURTHER_TEAMS: sum(
            facts.round.team_points(f, k) for code, f in facilities.items() for k in range(2, sent[code] + 1)
        ),
        Aim.REALISM: sum(_realism(plan, facts, team) for team in plan.teams),
        Aim.BURDEN: _burden(absences) + 960 * _thin(absences),
        Aim.COST: total(plan.costs),
    }


def _realism(plan: Plan, facts: Facts, team: Team) -> int:
    session = next(s for s in plan.sessions if s.code == team.session)
    usual = Counter(facts.round.facility(team.facility).usual_team)
    empty = (usual - Counter(seat.role for seat in team.seats)).total()
    guests = sum(seat.guest for seat in team.seats)
    aside = sum(facts.round.person(seat.person).roles[0] is not seat.role for seat in team.seats)
    own = [s for s in session.slots if s.kind is SlotKind.SIMULATION and s.team == team.code]
    others = {seat.person for t in plan.teams if t.session == team.session and t is not team for seat in t.seats}
    unobserved = not any(others & set(slot.observers) for slot in own)
    own.sort(key=lambda slot: (slot.date, slot.number))
    pairs = sum(a.date == b.date and b.number == a.number + 1 for a, b in pairwise(own))
    return 4 * empty + 2 * guests + aside + 2 * unobserved + pairs


def _burden(absences: Absences) -> int:
    calendar = absences.facts.calendar
    minutes = 0
    for sitter in absences.sitters:
        outing = next((o for o in sitter.team.outings if sitter.person.code in o.people), None)
        travels = outing is not None and bool(outing.drives)
        works = sitter.person.works_days
        minutes += 480 * len(sitter.dates) * travels
        minutes += 960 * sum(
            calendar.is_rest_day(day) or (works is not None and day.weekday() not in works) for day in sitter.dates
        )
        if outing is not None:
            minutes += sum(drive.arrive - drive.depart for drive in outing.drives) // MINUTE
    return minutes


def _thin(absences: Absences) -> int:
    return sum(
        min(sum(role in person.cover_roles for person in absences.stays(facility, key)) for role in MINIMUM_ROLES) < 2
        for facility, shifts in absences.touched.items()
        for key in shifts
    )
