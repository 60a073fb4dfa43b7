"""The six tiers as expressions of the model."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from math import ceil, lcm

from roundplan.domain.clock import MINUTE
from roundplan.domain.crew import Crew
from roundplan.domain.role import Include
from roundplan.domain.rules import Aim
from roundplan.domain.supply import Item, ItemKind
from roundplan.solver.attendance import Mode, lodging_price
from roundplan.solver.choices import Choices
from roundplan.solver.facts import ONE_DAY
from roundplan.solver.limits.kit import fraction, needs
from roundplan.solver.limits.people import seated
from roundplan.solver.limits.sessions import stations_most
from roundplan.solver.parts import Linear


def aim_expressions(choices: Choices) -> dict[Aim, Linear]:
    """Return each tier's measure; burden in minutes, cost in minor units without contingency."""
    return coverage_expressions(choices) | {
        Aim.REALISM: _realism(choices),
        Aim.BURDEN: _burden(choices),
        Aim.COST: _cost(choices),
    }


def coverage_expressions(choices: Choices) -> dict[Aim, Linear]:
    """Return the measures of the first three tiers."""
    facts = choices.facts
    firsts: list[Linear] = []
    further: list[Linear] = []
    for facility in facts.round.facilities:
        if facility.code not in choices.first_team:
            continue
        firsts.append(facts.round.weight(facility) * choices.first_team[facility.code])
        for number, var in enumerate(choices.later_teams[facility.code], start=2):
            further.append(facts.round.team_points(facility, number) * var)
    return {
        Aim.FIRST_TEAMS: sum(firsts),
        Aim.MUST_PEOPLE: _must(choices),
        Aim.FURTHER_TEAMS: sum(further),
    }


def _must(choices: Choices) -> Linear:
    terms: list[Linear] = []
    for person in choices.facts.round.people:
        seats = seated(choices, person.code) if person.include is Include.MUST else []
        if not seats:
            continue
        if person.second_seat:
            named = choices.flag(f"must[{person.code}]")
            choices.model.add(named <= sum(seats))
            terms.append(named)
        else:
            terms.append(sum(seats))
    return sum(terms)


def _realism(choices: Choices) -> Linear:
    facts = choices.facts
    terms: list[Linear] = []
    for sending in choices.sendings:
        terms.append(4 * (len(facts.round.facility(sending.facility).usual_team) * sending.teams - sending.people))
    for seats in choices.guest_seats.values():
        terms.append((2 - 4) * sum(seats))
    plain = (choices.seat, choices.guest, choices.home_guest)
    tables = [((code, role), var) for table in plain for (code, _, role), var in table.items()]
    tables += [((code, role), var) for (code, _, role, _), var in choices.site_seat.items()]
    terms.append(sum(var for (code, role), var in tables if facts.round.person(code).roles[0] is not role))
    terms.append(sum(day.pairs for day in choices.station_days.values()))
    alone = {(venue, first): _alone(choices, venue, first) for venue, first in choices.visitors}
    terms += [2 * flag for flag in alone.values()]
    if facts.settings.session.days == 1:
        for venue, start in choices.session:
            terms.append(_unwatched(choices, venue, start, alone.get((venue, start), 0)))
    return sum(terms)


def _alone(choices: Choices, venue: str, first: date) -> Linear:
    """Return whether the only team from a first date has no other team beside it on any of its dates."""
    facts, model = choices.facts, choices.model
    reach = facts.settings.session.days_per_team
    near = [first + k * ONE_DAY for k in range(1 - reach, reach)]
    beside = sum(s.teams for x in near for s in choices.visitors.get((venue, x), ()))
    here = sum(s.teams for s in choices.visitors[venue, first])
    somebody = choices.flag(f"somebody[{venue},{first}]")
    for sending in choices.visitors[venue, first]:
        model.add_implication(sending.used, somebody)
    model.add(here >= somebody)
    alone = choices.flag(f"alone[{venue},{first}]")
    model.add(beside + alone >= 2 * somebody)
    return alone


def _unwatched(choices: Choices, venue: str, start: date, alone: Linear) -> Linear:
    """Return the penalty where every station seats one team: nobody watches if all simulate at the same times.

    A team that is ``alone`` at the session counts there already. A day with just the slots that spare all back-to-back
    pairs has all simulate at the same times; for them to watch each other one team then has a pair.
    """
    facts, model = choices.facts, choices.model
    most = stations_most(choices, venue)
    if most < 2:
        return 0
    unwatched = choices.count(most, f"unwatched[{venue},{start}]")
    pair = choices.flag(f"pair_to_watch[{venue},{start}]")
    sims, shown = facts.sims_on(start, start), facts.settings.session.demonstrations
    rooms = [day for (v, s, _, x), day in choices.station_days.items() if (v, s, x) == (venue, start, start)]
    teams, several = sum(day.teams for day in rooms), sum(day.several for day in rooms)
    for (crew, code, s), hold in choices.hold.items():
        if (code, s) != (venue, start):
            continue
        slots = choices.clock(crew, venue, start).slots
        longer, fewer, more = (choices.flag(f"{name}[{crew},{venue},{start}]") for name in ("longer", "fewer", "more"))
        model.add(slots >= shown + sims + 1).only_enforce_if(longer)
        model.add(unwatched + most * (several + longer) + most * (1 - hold) >= teams - alone)
        model.add(slots <= shown + 2 * sims - 2).only_enforce_if(fewer)
        model.add(slots >= shown + 2 * sims).only_enforce_if(more)
        model.add(most * (pair + unwatched + several + fewer + more + 1 - hold) >= teams - alone)
    return 2 * unwatched + pair


def _burden(choices: Choices) -> Linear:
    terms: list[Linear] = []
    for sending in choices.sendings:
        mode = sending.mode
        terms.append(sending.people * _minutes(mode))
    for guesting in choices.guestings:
        mode = guesting.mode
        terms.append(guesting.count * _minutes(mode))
    for (code, shift), away in choices.away.items():
        person = choices.facts.round.person(code)
        off_duty = person.works_days is not None and shift[0].weekday() not in person.works_days
        if shift[1].value == "day" and off_duty and not choices.facts.calendar.is_rest_day(shift[0]):
            terms.append(960 * away)
    return sum(terms) + 960 * sum(choices.thin.values())


def _minutes(mode: Mode) -> int:
    return 480 * mode.dates_away + mode.travel_seconds // MINUTE + 960 * mode.rest_days


def _cost(choices: Choices) -> Linear:
    terms: list[Linear] = [_crew_cost(choices, crew) for crew in choices.crews]
    facts, prices = choices.facts, choices.facts.settings.prices
    days, attended = facts.settings.session.days, facts.settings.session.days_per_team
    meals = prices.price("lunch") * attended + prices.price("printing")
    for sending in choices.sendings:
        terms.append(sending.people * (sending.mode.price + meals))
    for guesting in choices.guestings:
        terms.append(guesting.count * (guesting.mode.price + meals))
    for (code, _, _), aboard in choices.aboard.items():
        trainer = facts.round.trainer(code)
        fee = trainer.day_price if trainer.day_price is not None else prices.price("trainer_day")
        terms.append(fee * aboard)
    for (_, _, _, site), night in choices.nights_away.items():
        terms.append((prices.price("trainer_night") + lodging_price(facts.round, site)) * night)
    for (venue, _), session in choices.session.items():
        own = facts.round.site(venue).day_price
        terms.append(days * (own if own is not None else prices.price("venue_day")) * session)
    return sum(terms) + sum(_purchase(choices, item) for item in facts.round.items)


def _crew_cost(choices: Choices, crew: Crew) -> Linear:
    facts, prices = choices.facts, choices.facts.settings.prices
    terms: list[Linear] = []
    for day in facts.dates:
        for choice in choices.arcs_on(crew.code, day):
            if choice.arc.is_leg:
                terms.append(round(choice.arc.km * crew.price_per_km) * choice.used)
        terms.append((crew.price_per_day + crew.drivers * prices.price("driver_day")) * choices.out(crew, day))
        for (code, x, site), night in choices.night.items():
            if code == crew.code and x == day and site != crew.base:
                price = prices.price("driver_night") + lodging_price(facts.round, site)
                terms.append(crew.drivers * price * night)
        terms.append(prices.price("lunch") * _fed(choices, crew, day))
    return sum(terms)


def _fed(choices: Choices, crew: Crew, day: date) -> Linear:
    """Return the trainers and drivers who lunch at a session of the date."""
    held = choices.teaching[crew.code, day]
    if not held or not choices.facts.settings.prices.price("lunch"):
        return 0
    fed = choices.count(len(choices.facts.round.trainers) + crew.drivers, f"fed[{crew.code},{day}]")
    aboard = choices.aboard_count(crew.code, day)
    for _, _, hold in held:
        choices.model.add(fed >= aboard + crew.drivers).only_enforce_if(hold)
    return fed


def _purchase(choices: Choices, item: Item) -> Linear:
    """Return the price of the packs of an item that must be bought; rounding up each trip's units is left out."""
    facts = choices.facts
    if not item.pack_price or item.kind is not ItemKind.CONSUMABLE:
        return 0
    stocked = sum((fraction(s.quantity) for s in facts.round.stock if s.item == item.code), Fraction(0))
    at_hand = stocked - fraction(item.spare)
    expression, divisor = needs(choices, item)
    most = ceil(fraction(item.quantity) * 5000 / fraction(item.pack_size)) + ceil(fraction(item.spare)) + 10
    packs = choices.count(most, f"packs[{item.code}]")
    size = fraction(item.pack_size)
    scale = lcm(divisor, size.denominator, at_hand.denominator)
    choices.model.add(int(scale * size) * packs + int(scale * at_hand) >= scale // divisor * expression)
    return item.pack_price * packs


def cost_limit(choices: Choices, cost: Linear, cap: int) -> None:
    """Keep the cost, contingency included, within a cap (minor units)."""
    percent = fraction(choices.facts.settings.prices.contingency_percent)
    scale = 100 * percent.denominator
    choices.model.add(cost * int(scale + percent * percent.denominator) <= cap * scale)
