"""Cost lines of sessions: the venue, lunches, printing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from roundplan.costs.price_list import PriceList
from roundplan.domain.decision import CostLine
from roundplan.domain.plan import CostEntry, Plan, Session
from roundplan.supplies.quantities import participants_of


def session_lines(plan: Plan, prices: PriceList) -> Iterator[CostEntry]:
    """Yield what each session costs where it is held."""
    for session in plan.sessions:
        dates = len(session.days)
        venue = prices.round.site(session.venue).name
        rows = (
            (CostLine.VENUES, venue, dates, "venue-day", prices.venue_day(session.venue)),
            (CostLine.LUNCHES, f"lunches at {venue}", _lunches(session, plan, prices), "lunch", prices.of("lunch")),
            (CostLine.PRINTING, "printed sheets", participants_of(session, plan), "participant", prices.of("printing")),
        )
        for line, what, quantity, unit, price in rows:
            if quantity and price is not None:
                yield CostEntry(
                    line=line.value,
                    what=f"{session.code}: {what}",
                    quantity=float(quantity),
                    unit=unit,
                    price=price,
                    amount=quantity * price,
                    session=session.code,
                )


def people_at(session: Session, plan: Plan, prices: PriceList, day: date) -> int:
    """Return the participants at a session on one of its dates, and the trainers and drivers whose first it is then."""
    seated = {
        seat.person for team in plan.teams if team.session == session.code and day in team.dates for seat in team.seats
    }
    crews = [
        (trip.crew, crew_day)
        for trip in plan.trips
        for crew_day in trip.days
        if crew_day.date == day and session.code in crew_day.sessions[:1]
    ]
    drivers = sum(prices.round.crew(code).drivers for code, _ in crews)
    return len(seated) + drivers + sum(len(crew_day.aboard) for _, crew_day in crews)


def _lunches(session: Session, plan: Plan, prices: PriceList) -> int:
    return sum(people_at(session, plan, prices, day) for day in session.dates)
