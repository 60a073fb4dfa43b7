"""Loads of vehicles and supplies that stock and orders can cover."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from math import ceil, lcm

from roundplan.domain.crew import Crew
from roundplan.domain.rules import Rule
from roundplan.domain.supply import Item, ItemKind, Per
from roundplan.solver.choices import Choices
from roundplan.solver.facts import Facts
from roundplan.solver.limits.sessions import stations_most
from roundplan.solver.parts import Counts, Linear


def fraction(value: float) -> Fraction:
    """Return the decimal that was entered, exactly."""
    return Fraction(str(value))


def session_counts(choices: Choices, venue: str, start: date) -> Counts:
    """Return stations, simulations (demonstrations included), walls and participants of a session."""
    facts, session = choices.facts, choices.facts.settings.session
    stations = sum(v for (_, code, s), v in choices.stations.items() if (code, s) == (venue, start))
    held = choices.session[venue, start]
    slack = session.days - session.days_per_team
    sendings = [s for x in facts.session_dates(start)[: slack + 1] for s in choices.visitors[venue, x]]
    if slack:
        sendings = [s for s in sendings if start in facts.starts_of(venue, s.first)]
    busy = sum(day.busy for key, day in choices.station_days.items() if key[:2] == (venue, start))
    sims = sum(s.teams for s in sendings) * session.simulations_per_team + session.demonstrations * busy
    walls = choices.count(8 * stations_most(choices, venue), f"walls[{venue},{start}]")
    choices.model.add(2 * walls >= sims)
    lent = [
        var for (_, code, x, _), v in choices.guest_seats.items()
        if code == venue and start in facts.starts_of(venue, x) for var in v
    ]  # fmt: skip
    return Counts(stations, sims, walls, sum(s.people for s in sendings) + sum(lent), held)


def per_session(item: Item, counts: Counts) -> Linear:
    """Return how many times an item's quantity a session uses."""
    return {
        Per.STATION: counts.stations,
        Per.SESSION: counts.held,
        Per.SIMULATION: counts.simulations,
        Per.WALL: counts.walls,
        Per.PARTICIPANT: counts.participants,
    }.get(item.per, 0)


def vehicle_load(choices: Choices) -> None:
    """People, luggage, kit and consumables stay within payload and space until the crew is back at its base."""
    facts = choices.facts
    if not facts.on(Rule.VEHICLE_LOAD):
        return
    for crew in choices.crews:
        travel = facts.settings.travel
        payload = int(fraction(crew.payload_kg) * (1 - fraction(travel.payload_reserve)) * 1000)
        person = ceil(fraction(travel.person_kg + travel.luggage_kg) * 1000)
        _carry(choices, crew, {i.code: fraction(i.unit_weight_kg) * 1000 for i in facts.round.items}, payload, person)
        if crew.space_l is not None:
            space = int(fraction(crew.space_l) * 1000)
            _carry(choices, crew, {i.code: fraction(i.unit_volume_l) * 1000 for i in facts.round.items}, space, 0)


def _carry(choices: Choices, crew: Crew, units: dict[str, Fraction], limit: int, person: int) -> None:
    """State that what is on board on each date (consumables of the rest of the trip included) stays within a limit."""
    facts, model = choices.facts, choices.model
    items = facts.round.items
    base = sum(ceil(_quantity(i) * units[i.code]) for i in items if i.per in (Per.CREW, Per.TRIP))
    base += sum(ceil(units[i.code]) for i in items if i.kind is ItemKind.CONSUMABLE)  # rounding up, once an item a trip
    models = choices.count(max(crew.box_models, 9), f"models[{crew.code}]")
    for (code, _, _), stations in choices.stations.items():
        if code == crew.code:
            model.add(models >= stations)
    per_station = sum(
        ceil(_quantity(i) * units[i.code]) for i in items if i.per is Per.STATION and i.kind is ItemKind.REUSABLE
    )
    reusable = base + per_station * models
    people = person * crew.drivers
    rest: Linear = 0
    for day in reversed(facts.dates):
        use = choices.count(10**8, f"use[{crew.code},{day},{limit}]")
        uses = []
        for venue, start, hold in choices.teaching[crew.code, day]:
            if start == day and not facts.shares_days:
                model.add(use >= _session_use(choices, venue, start, units)).only_enforce_if(hold)
            elif start == day:
                uses.append(choices.count(10**8, f"use[{crew.code},{day},{limit},{venue}]"))
                model.add(uses[-1] >= _session_use(choices, venue, start, units)).only_enforce_if(hold)
        if uses:
            model.add(use >= sum(uses))
        load = choices.count(10**9, f"load[{crew.code},{day},{limit}]")
        model.add(load >= use)
        model.add(load >= use + rest).only_enforce_if(~choices.at_base(crew, day))
        aboard = choices.aboard_count(crew.code, day)
        out = choices.out(crew, day)
        model.add(load + reusable + people + person * aboard <= limit + 10**9 * (1 - out))
        rest = load


def _quantity(item: Item) -> Fraction:
    """Return the quantity with the wastage of a consumable."""
    quantity = fraction(item.quantity)
    return quantity / (1 - fraction(item.wastage_percent) / 100) if item.kind is ItemKind.CONSUMABLE else quantity


def _session_use(choices: Choices, venue: str, start: date, units: dict[str, Fraction]) -> Linear:
    counts = choices.counts[venue, start]
    terms: list[Linear] = []
    for item in choices.facts.round.items:
        if (item.kind is ItemKind.CONSUMABLE and units[item.code]) or (
            item.kind is ItemKind.REUSABLE and item.per not in (Per.CREW, Per.TRIP, Per.STATION)
        ):
            terms.append(ceil(_quantity(item) * units[item.code]) * per_session(item, counts))
    return sum(terms)


def needs(choices: Choices, item: Item, until: date | None = None) -> tuple[Linear, int]:
    """Return the units of a consumable used by sessions that start up to a date, as (expression, its divisor)."""
    share = _quantity(item)
    terms: list[Linear] = []
    for (_, start), counts in choices.counts.items():
        if until is None or start <= until:
            terms.append(per_session(item, counts))
    terms += [per_session(item, used) for start, used in choices.taken.uses if until is None or start <= until]
    if item.per is Per.TRIP:
        terms.append(sum(choices.trips(crew) for crew in choices.crews) + choices.taken.trips)
    if item.per is Per.CREW:
        fresh = [crew for crew in choices.crews if crew.code not in choices.taken.crews]
        terms.append(sum(crew_used(choices, crew) for crew in fresh) + len(choices.taken.crews))
    return share.numerator * sum(terms), share.denominator


def crew_used(choices: Choices, crew: Crew) -> Linear:
    """Return whether a crew goes out at all."""
    if crew.code not in choices.crew_out:
        used = choices.flag(f"crew_out[{crew.code}]")
        for day in choices.facts.dates:
            choices.model.add(used >= choices.out(crew, day))
        choices.crew_out[crew.code] = used
    return choices.crew_out[crew.code]


def stock_suffices(choices: Choices) -> None:
    """What cannot be bought in time is in stock or delivered by then; loads are drawn at crews' bases."""
    facts = choices.facts
    if not facts.on(Rule.KIT_ENOUGH):
        return
    for item in facts.round.items:
        if item.kind is not ItemKind.CONSUMABLE:
            continue
        for day in facts.dates:
            if can_be_bought(facts, item, day):
                break
            stocked = sum(
                (fraction(s.quantity) for s in facts.round.stock if s.item == item.code and _there(choices, s.place)
                 and (s.due is None or s.due < day)), Fraction(0),
            )  # fmt: skip
            expression, divisor = needs(choices, item, day)
            scale = lcm(divisor, stocked.denominator)
            choices.model.add(scale // divisor * expression <= int(stocked * scale))


def _there(choices: Choices, place: str) -> bool:
    return any(choices.facts.near_sites(place, crew.base) for crew in choices.crews)


def can_be_bought(facts: Facts, item: Item, day: date) -> bool:
    """Whether an order can still bring an item in time for a date."""
    if item.pack_price is None or item.lead_days is None:
        return False
    ordered = facts.settings.round.plan_date or facts.settings.round.first_day
    return facts.calendar.working_days_before(day, item.lead_days) >= ordered


def count_sessions(choices: Choices) -> None:
    """Count once what each possible session uses."""
    choices.counts = {key: session_counts(choices, *key) for key in choices.session}
