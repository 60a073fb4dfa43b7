"""A session's payment sheet: what the plan sets aside for each participant, and for transport, with room to sign."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roundplan.costs.lines_people import dates_away
from roundplan.costs.price_list import PriceList
from roundplan.domain.plan import Outing, Session, Team
from roundplan.domain.role import Transport
from roundplan.handouts.page import Cell, Table
from roundplan.handouts.plan_index import PlanIndex
from roundplan.handouts.sheets.frame import SIGNED_MM, Section, render_sheet
from roundplan.handouts.sheets.session import SPARE_ROWS, title_of
from roundplan.handouts.speech import say
from roundplan.handouts.words import Money, kilometres

PEOPLE_SHARES = (0.22, 0.2, 0.11, 0.11, 0.11, 0.11, 0.14)
TRANSPORT_SHARES = (0.3, 0.18, 0.16, 0.14, 0.22)


@dataclass(frozen=True, slots=True)
class Payment:
    """What one participant is paid for one session, in minor units.

    Attributes
    ----------
    days, nights : int
        Allowances for dates away and for nights lodged.
    fare : int
        Public transport there and back; other transport is paid to whoever drives.
    """

    person: str
    days: int
    nights: int
    fare: int

    @property
    def total(self) -> int:
        """All of it."""
        return self.days + self.nights + self.fare


@dataclass(frozen=True, slots=True)
class Ride:
    """What one facility's own or hired vehicle is paid for one team, in minor units."""

    facility: str
    people: int
    km: float
    amount: int


def render(index: PlanIndex, code: str, *, version: int | None = None) -> str:
    """Return a session's payment sheet as HTML.

    Parameters
    ----------
    index : PlanIndex
        The plan and its round.
    code : str
        Code of the session.
    version : int or None
        Version of this sheet's own last change; None = the plan's.
    """
    session = index.sessions[code]
    people, rides = payments(index, session), rides_of(index, session)
    settings = index.training_round.settings.round
    amounts = [part for p in people for part in (p.days, p.nights, p.fare)] + [ride.amount for ride in rides]
    money = Money(settings.currency, settings.currency_digits, amounts)
    how = say(
        "Amounts in {currency}, as planned. Pay only who came and for the dates attended, strike out what is not paid, "
        "and let everybody sign for what they got.",
        currency=settings.currency,
    )
    return render_sheet(
        index.plan,
        title_of(index, session),
        say("Payment sheet of session {session}.", session=code),
        [Section(lines=(how,)), *_sections(index, people, rides, money)],
        sign=(say("Paid by"), say("Signature"), say("Date")),
        version=version,
    )


def _sections(
    index: PlanIndex, people: tuple[Payment, ...], rides: tuple[Ride, ...], money: Money
) -> Iterator[Section]:
    if any(payment.total for payment in people):
        table = _people_table(index, people, money)
        yield Section(say("Participants"), table=table, shares=PEOPLE_SHARES, row_mm=SIGNED_MM)
    else:
        yield Section(say("Participants"), (say("The prices in force give the participants nothing."),))
    if rides:
        table = _rides_table(index, rides, money)
        yield Section(say("Transport"), table=table, shares=TRANSPORT_SHARES, row_mm=SIGNED_MM)


def payments(index: PlanIndex, session: Session) -> tuple[Payment, ...]:
    """Return what each participant of a session is paid, by team; the sums are those of the plan's cost lines."""
    prices = PriceList(index.training_round)
    return tuple(
        _payment(index, prices, team, outing, person)
        for team, outing in _outings(index, session)
        for person in outing.people
    )


def rides_of(index: PlanIndex, session: Session) -> tuple[Ride, ...]:
    """Return what the vehicles of a session's participants are paid, public transport apart."""
    prices = PriceList(index.training_round)
    found = []
    for _, outing in _outings(index, session):
        price = prices.fare(outing.facility)
        if price is not None and outing.drives and not _by_public_transport(index, outing):
            amount = len(outing.people) * _fare(outing, price)
            km = sum(drive.km for drive in outing.drives)
            found.append(Ride(outing.facility, len(outing.people), km, amount))
    return tuple(found)


def _outings(index: PlanIndex, session: Session) -> Iterator[tuple[Team, Outing]]:
    for team in index.teams_of_session(session.code):
        for outing in team.outings:
            yield team, outing


def _payment(index: PlanIndex, prices: PriceList, team: Team, outing: Outing, person: str) -> Payment:
    fare = prices.fare(outing.facility)
    public = fare is not None and _by_public_transport(index, outing)
    return Payment(
        person=person,
        days=len(dates_away(team, outing)) * (prices.of("participant_day") or 0),
        nights=len(outing.nights) * (prices.of("participant_night") or 0),
        fare=_fare(outing, fare) if public and fare is not None else 0,
    )


def _by_public_transport(index: PlanIndex, outing: Outing) -> bool:
    return index.training_round.facility(outing.facility).transport is Transport.PUBLIC


def _fare(outing: Outing, price: int) -> int:
    """Return one person's fare for all drives, each rounded as the plan's cost lines are."""
    return sum(round(drive.km * price) for drive in outing.drives)


def _people_table(index: PlanIndex, people: tuple[Payment, ...], money: Money) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            index.name(p.person),
            index.name(index.home(p.person)),
            *(money.bare(amount) for amount in (p.days, p.nights, p.fare, p.total)),
            "",
        )
        for p in people
    ]
    rows += [("",) * 7] * SPARE_ROWS
    sums = (sum(part) for part in zip(*((p.days, p.nights, p.fare, p.total) for p in people), strict=True))
    rows.append((say("Sum as planned"), "–", *(money.bare(amount) for amount in sums), "–"))
    heads = (
        say("Who"),
        say("Facility"),
        say("Days away"),
        say("Nights"),
        say("Fare"),
        say("Sum"),
        say("Signature"),
    )
    return Table(say("Payments to participants"), heads, rows, numbers=frozenset({2, 3, 4, 5}), total=True)


def _rides_table(index: PlanIndex, rides: tuple[Ride, ...], money: Money) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (index.name(ride.facility), str(ride.people), kilometres(ride.km), money.bare(ride.amount), "")
        for ride in rides
    ]
    heads = (say("Vehicle of, or hired by"), say("People"), say("Length"), say("Amount"), say("Signature"))
    return Table(say("Payments for transport"), heads, rows, numbers=frozenset({1, 2, 3}))
