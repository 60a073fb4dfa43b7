"""Rule kit-enough: box models and consumables, in stock where they are loaded or bought in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from roundplan.audit.book import Book
from roundplan.audit.breach import Breach, day_words
from roundplan.audit.load import used_by
from roundplan.domain.counts import counted
from roundplan.domain.place import Place
from roundplan.domain.plan import Load, Trip
from roundplan.domain.role import PlaceKind
from roundplan.domain.rules import Rule
from roundplan.domain.supply import ItemKind
from roundplan.supplies.quantities import reusables_of, trip_needs
from roundplan.travel.roadway import exact

RULE = Rule.KIT_ENOUGH


def kit_enough(book: Book) -> Iterator[Breach]:
    """Box models and consumables suffice, and are to be had where they are loaded."""
    needs = trip_needs(book.plan, book.round)
    for trip in book.plan.trips:
        base, first = book.round.crew(trip.crew).base, trip.days[0].date
        faults = (*_boxes(book, trip), *_enough(book, trip, needs[trip.code]), *_stops(book, trip))
        for words in faults:
            yield Breach(RULE, f"{trip.code} of crew {trip.crew} {words}", (), base, first)
    yield from _stock(book)


def _boxes(book: Book, trip: Trip) -> Iterator[str]:
    owned = book.round.crew(trip.crew).box_models
    if trip.box_models > owned:
        yield f"carries {counted(trip.box_models, 'box model')}; the crew has {owned}"
    for code in dict.fromkeys(code for day in trip.days for code in day.sessions):
        stations = sum(station.crew == trip.crew for station in book.sessions[code].stations)
        if stations > trip.box_models:
            yield f"runs {counted(stations, 'station')} in {code} and carries {counted(trip.box_models, 'box model')}"


def _enough(book: Book, trip: Trip, needs: dict[str, int]) -> Iterator[str]:
    wanted = needs | reusables_of(trip, book.plan, book.round)
    for code, units in wanted.items():
        loaded = sum((exact(load.quantity) for load in trip.loads if load.item == code), Fraction(0))
        if loaded < units:
            yield f"loads {float(loaded):g} {book.who(code)}; it needs {units}"
    used: dict[str, Fraction] = defaultdict(Fraction)
    for day, by_item in sorted(used_by(book, trip).items()):
        for code, gross in by_item.items():
            used[code] += gross
            on_board = sum((exact(x.quantity) for x in trip.loads if x.item == code and x.date <= day), Fraction(0))
            if on_board < used[code]:
                words = f"has had {float(on_board):g} {book.who(code)} on board by {day_words(day)}"
                yield f"{words} and needs {float(used[code]):.1f} by then"


def _is_store(book: Book, code: str) -> bool:
    site = book.round.site(code)
    if isinstance(site, Place) and PlaceKind.STORE in site.kinds:
        return True
    return any(row.place == code for row in book.round.stock)


def _stops(book: Book, trip: Trip) -> Iterator[str]:
    base = book.round.crew(trip.crew).base
    allowed: set[tuple[date, str]] = {(trip.days[0].date, base)}
    for index, day in enumerate(trip.days):
        spots = [book.sessions[code].venue for code in day.sessions]
        eve = trip.days[index - 1].night if index else None
        allowed |= {(day.date, spot) for spot in (*spots, eve) if spot is not None and _is_store(book, spot)}
    for load in trip.loads:
        if (load.date, load.place) not in allowed:
            yield (
                f"loads {book.who(load.item)} at {book.who(load.place)} on {day_words(load.date)},"
                " where it is at no store and not at its base"
            )


def _stock(book: Book) -> Iterator[Breach]:
    by_item: dict[str, list[Load]] = defaultdict(list)
    for trip in book.plan.trips:
        for load in trip.loads:
            if book.round.item(load.item).kind is ItemKind.CONSUMABLE:
                by_item[load.item].append(load)
    for item, loads in by_item.items():
        rows = [row for row in book.round.stock if row.item == item]
        for place, day in sorted({(load.place, load.date) for load in loads}):
            taken = sum((exact(x.quantity) for x in loads if x.date <= day and book.near(x.place, place)), Fraction(0))
            held = sum(
                (
                    exact(row.quantity)
                    for row in rows
                    if book.near(row.place, place) and (row.due is None or row.due <= day)
                ),
                Fraction(0),
            )
            if taken > held and not _can_be_bought(book, item, day):
                words = (
                    f"{float(taken):g} {book.who(item)} are taken at {book.who(place)} by {day_words(day)};"
                    f" {float(held):g} are in stock there by then and no more can be bought in time"
                )
                yield Breach(RULE, words, (), place, day)


def _can_be_bought(book: Book, code: str, day: date) -> bool:
    item = book.round.item(code)
    if item.pack_price is None or item.lead_days is None:
        return False
    planned = book.settings.round.plan_date
    return planned is None or book.calendar.working_days_before(day, item.lead_days) >= planned
