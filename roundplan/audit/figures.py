"""Figures that a plan lists, against what they come to: costs, tiers, loads."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach
from roundplan.audit.load import day_loads
from roundplan.audit.measures import measure_book
from roundplan.audit.money import money_words
from roundplan.costs.pricing import price_plan
from roundplan.domain.counts import counted
from roundplan.domain.plan import CostEntry
from roundplan.domain.rules import AIMS
from roundplan.supplies.loads import load_trips


def figures(book: Book) -> Iterator[Breach]:
    """Yield a breach without a rule for every listed figure that is not what it comes to."""
    for words in (*_costs(book), *_tiers(book), *_loads(book), *_districts(book)):
        yield Breach(None, words)
    if book.plan.round_name != book.settings.round.name:
        yield Breach(None, f"the plan is of {book.plan.round_name}; the inputs are of {book.settings.round.name}")


def _by_line(entries: tuple[CostEntry, ...]) -> Counter[str]:
    sums: Counter[str] = Counter()
    for entry in entries:
        sums[entry.line] += entry.amount
    return sums


def _costs(book: Book) -> Iterator[str]:
    listed, right = book.plan.costs, price_plan(book.plan, book.round)
    sums, wanted = _by_line(listed), _by_line(right)
    for line in dict.fromkeys((*wanted, *sums)):
        if sums[line] != wanted[line]:
            yield (
                f"the cost line {line} is listed with {money_words(book, sums[line])};"
                f" it comes to {money_words(book, wanted[line])}"
            )
    if sums == wanted and Counter(listed) != Counter(right):
        entry = next(iter((Counter(listed) - Counter(right)) or Counter(right) - Counter(listed)))
        yield f"the cost entry {entry.what} ({entry.line}) is not as recomputed"


def _tiers(book: Book) -> Iterator[str]:
    values = measure_book(book)
    listed = Counter(tier.aim for tier in book.plan.tiers)
    for definition in AIMS:
        if listed[definition.aim] != 1:
            yield f"the aim {definition.aim.value} is listed {listed[definition.aim]} times"
    for tier in book.plan.tiers:
        if tier.value != values[tier.aim]:
            yield f"the aim {tier.aim.value} is listed with {tier.value:,}; it comes to {values[tier.aim]:,}"
        maximise = next(d.maximise for d in AIMS if d.aim is tier.aim)
        if tier.bound is not None and (tier.bound < tier.value if maximise else tier.bound > tier.value):
            yield f"the aim {tier.aim.value} is listed with {tier.value:,}, better than its bound {tier.bound:,}"


def _loads(book: Book) -> Iterator[str]:
    recomputed = {trip.code: trip for trip in load_trips(book.plan, book.round).trips}
    for trip in book.plan.trips:
        right = recomputed[trip.code]
        listed, wanted = Counter(trip.loads), Counter(right.loads)
        for load in [*(listed - wanted), *(wanted - listed)][:1]:
            words = f"{load.quantity:g} {book.who(load.item)} at {book.who(load.place)}"
            yield f"the loads of {trip.code} are not as recomputed, first {words}"
        days = day_loads(book, trip)
        for name, stated, held in (
            ("kg", trip.weight_kg, max(day.kg for day in days)),
            ("litres", trip.volume_l, max(day.litres for day in days)),
        ):
            if not math.isclose(stated, float(held), abs_tol=0.01):
                yield f"{trip.code} is listed with at most {stated:g} {name} on board; it comes to {float(held):.2f}"


def _districts(book: Book) -> Iterator[str]:
    floor = book.settings.aims.floor_per_district
    teams = Counter(book.round.facility(team.facility).district for team in book.plan.teams)
    for district in dict.fromkeys(facility.district for facility in book.round.facilities):
        if teams[district] < floor:
            yield f"district {district} has {counted(teams[district], 'team')}; the floor is {floor}"
