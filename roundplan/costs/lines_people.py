"""Cost lines of participants: allowances, fares, lodging."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date

from roundplan.costs.price_list import PriceList
from roundplan.domain.counts import counted
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CostEntry, Outing, Plan, Team


def participant_lines(plan: Plan, prices: PriceList) -> Iterator[CostEntry]:
    """Yield what getting each team to its session and back costs."""
    for team in plan.teams:
        for outing in team.outings:
            yield from _allowances(team, outing, prices)
            yield from _fares(team, outing, prices)
            yield from _lodging(team, outing, prices)


def dates_away(team: Team, outing: Outing) -> frozenset[date]:
    """Return the dates on which an outing's people are away from home; none where they drive nowhere.

    Nights lodged lie between the first and the last of these dates and add none.
    """
    return frozenset({*team.dates, *(drive.date for drive in outing.drives)}) if outing.drives else frozenset()


def _allowances(team: Team, outing: Outing, prices: PriceList) -> Iterator[CostEntry]:
    people = len(outing.people)
    rows = (
        ("days away", people * len(dates_away(team, outing)), "person-day", prices.of("participant_day")),
        ("nights lodged", people * len(outing.nights), "person-night", prices.of("participant_night")),
    )
    for what, quantity, unit, price in rows:
        if quantity and price is not None:
            yield _entry(CostLine.PARTICIPANTS, team, outing, what, quantity, unit, price, quantity * price)


def _fares(team: Team, outing: Outing, prices: PriceList) -> Iterator[CostEntry]:
    price, people = prices.fare(outing.facility), len(outing.people)
    if price is None:
        return
    for drive in outing.drives:
        what = f"{counted(people, 'person')}, {drive.start} to {drive.end}, {drive.date.isoformat()}"
        amount = people * round(drive.km * price)
        quantity = people * drive.km
        yield _entry(CostLine.PARTICIPANT_TRAVEL, team, outing, what, quantity, "person-km", price, amount)


def _lodging(team: Team, outing: Outing, prices: PriceList) -> Iterator[CostEntry]:
    nights = Counter(site for _, site in outing.nights)
    for site in sorted(nights):
        price, quantity = prices.lodging(site), nights[site] * len(outing.people)
        if quantity and price is not None:
            what = f"at {prices.round.site(site).name}"
            yield _entry(CostLine.LODGING, team, outing, what, quantity, "person-night", price, quantity * price)


def _entry(
    line: CostLine, team: Team, outing: Outing, what: str, quantity: float, unit: str, price: int, amount: int
) -> CostEntry:
    return CostEntry(
        line=line.value,
        what=f"{team.code}, people of {outing.facility}: {what}",
        quantity=float(quantity),
        unit=unit,
        price=price,
        amount=amount,
        session=team.session,
    )
